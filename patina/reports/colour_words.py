"""Readings and photographs as sheets print them: a colour block beside its figures and words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from patina.reports import figures
from patina.sheets import Lab, Part, ReadingRow

# Turns a reading into a printable "#rrggbb"; given by the caller, since sheets compute nothing.
ColourOf = Callable[[Lab], str]

PRINT_CAUTION = (
    "Colour blocks are as near as a printer comes; the figures count. They are CIELAB, D50, 2°, unless said otherwise."
)


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph made small enough to print. content: JPEG or PNG bytes. suffix: ".jpg" or ".png"."""

    content: bytes
    suffix: str
    caption: str


def block(lab: Lab | None, colour_of: ColourOf) -> dict[str, Any]:
    """A colour block; one without a reading is printed empty and says so."""
    if lab is None:
        return {"hex": None, "figures": "no reading"}
    return {"hex": colour_of(lab), "figures": figures.lab(lab.L, lab.a, lab.b)}


def parts(tones: Sequence[Part], colour_of: ColourOf) -> list[dict[str, Any]]:
    """The tones of an uneven surface with their shares."""
    return [
        {"hex": colour_of(t.lab), "share": f"{figures.plain(100.0 * t.share, 0)} %", "width": max(t.share, 0.08)}
        for t in tones
    ]


def reading_words(reading: ReadingRow, colour_of: ColourOf) -> dict[str, Any]:
    """One reading: block, figures, how far it can be trusted, how and when it was got."""
    doubt = reading.uncertainty_de00
    how = [
        reading.source,
        reading.instrument,
        f"geometry {reading.geometry}",
        reading.wax_state,
        "" if reading.warmth == "not stated" else reading.warmth,
        f"mean of {reading.n}" if reading.n > 1 else "",
        "" if (reading.lab.illuminant, reading.lab.observer) == ("D50", "2") else _basis(reading.lab),
    ]
    return {
        **block(reading.lab, colour_of),
        "id": reading.id,
        "area": reading.area,
        "doubt": "uncertainty not known" if doubt is None else f"± {figures.plain(doubt, 1)} ΔE00 (95 %)",
        "how": ", ".join(word for word in how if word),
        "when": f"{figures.day(reading.read_at)} {reading.read_by}".strip(),
        "parts": parts(reading.parts, colour_of),
        "note": reading.note,
    }


def _basis(lab: Lab) -> str:
    return f"{lab.illuminant}, {lab.observer}°"


def pictures_of(pictures: Sequence[Picture]) -> tuple[list[dict[str, str]], dict[str, bytes]]:
    """What the template shows of photographs, and their bytes by name."""
    shown, content = [], {}
    for number, picture in enumerate(pictures, 1):
        name = f"pictures/{number}{picture.suffix}"
        shown.append({"name": f"/{name}", "caption": picture.caption})
        content[name] = picture.content
    return shown, content
