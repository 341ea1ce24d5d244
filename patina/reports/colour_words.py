"""Readings and photographs as sheets print them: a colour block beside its figures and words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from patina.reports import figures
from patina.reports.document import Block, Caution, Cell, Column, Photo, Photographs, Swatch, Table, Tone
from patina.sheets import Lab, Part, ReadingRow
from patina.sheets.editions import instrument_words

# Turns a reading into a printable "#rrggbb"; given by the caller, since sheets compute nothing.
ColourOf = Callable[[Lab], str]
# Whether a screen can only come near a colour.
NearOnly = Callable[[Lab], bool]


PRINT_CAUTION = (
    "Colour blocks are as near as a screen or a printer comes, and each shows them differently; the figures count. "
    "They are CIELAB, D50, 2°, unless said otherwise."
)
COLOUR_NOTE = Caution(PRINT_CAUTION, level="note")


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph made small enough to print. content: JPEG or PNG bytes. suffix: ".jpg" or ".png".
    mm_across: what its width stands for, None where nothing in it tells. notes: chart, camera, date."""

    content: bytes
    suffix: str
    caption: str
    width_px: int | None = None
    height_px: int | None = None
    mm_across: float | None = None
    notes: tuple[str, ...] = ()
    sha256: str = ""


def always_exact(_lab: Lab) -> bool:
    """For a caller that does not know the screen: no colour is called only near."""
    return False


def swatch(
    name: str,
    lab: Lab | None,
    colour_of: ColourOf,
    *,
    tones: Sequence[Part] = (),
    more: str = "",
    near_only: NearOnly = always_exact,
) -> Swatch:
    """A colour block with its figures; one without a reading is printed empty and says so."""
    if lab is None:
        return Swatch(name, None, "no reading", more=more)
    said = figures.lab(lab.L, lab.a, lab.b).replace("* ", "*\N{NO-BREAK SPACE}")
    return Swatch(name, colour_of(lab), said, parts(tones, colour_of), more, exact=not near_only(lab))


def parts(tones: Sequence[Part], colour_of: ColourOf) -> tuple[Tone, ...]:
    """The tones of an uneven surface with their shares."""
    return tuple(Tone(colour_of(t.lab), t.share, f"{figures.plain(100.0 * t.share, 0)} %") for t in tones)


def readings_table(readings: Sequence[ReadingRow], colour_of: ColourOf) -> tuple[Block, ...]:
    """Readings one below the other: block, figures, doubt, how and when; nothing where there are none."""
    columns = (
        Column("colour", "20mm"),
        Column("reading", "62mm"),
        Column("where, how, when", "1fr"),
    )
    rows = tuple(_reading(r, colour_of) for r in readings)
    return (Table(columns, rows),) if rows else ()


def _reading(reading: ReadingRow, colour_of: ColourOf) -> tuple[Cell, ...]:
    lab, doubt = reading.lab, reading.uncertainty_de00
    said = "uncertainty not known" if doubt is None else f"± {figures.plain(doubt, 1)} ΔE00 (95 %)"
    when = f"{figures.day(reading.read_at)} {reading.read_by}".strip()
    lines = (f"{how_read(reading)}, {when}", *([reading.note] if reading.note else []))
    return (
        Cell(swatch=colour_of(lab)),
        Cell(strong=figures.lab(lab.L, lab.a, lab.b), small=(said,)),
        Cell(reading.area, reading.id, small=lines),
    )


def how_read(reading: ReadingRow) -> str:
    """How a reading was got: source, instrument, geometry, state of the surface."""
    how = [
        reading.source,
        instrument_words(reading.instrument),
        f"geometry {reading.geometry}",
        reading.wax_state,
        "" if reading.warmth == "not stated" else reading.warmth,
        f"mean of {reading.n}" if reading.n > 1 else "",
        _grain(reading),
        "" if (reading.lab.illuminant, reading.lab.observer) == ("D50", "2") else _basis(reading.lab),
    ]
    return ", ".join(word for word in how if word)


def _grain(reading: ReadingRow) -> str:
    """How coarse the mottle of an uneven surface is."""
    if len(reading.parts) < 2:
        return ""
    if reading.grain_mm is None:
        return "grain not known in mm"
    return f"grain {figures.plain(reading.grain_mm, 1)} mm by {reading.scale_from}"


def _basis(lab: Lab) -> str:
    return f"{lab.illuminant}, {lab.observer}°"


def photo(picture: Picture, *, alt: str = "") -> Photo:
    """A picture as a block of a report."""
    return Photo(
        picture.content,
        picture.suffix,
        picture.caption,
        alt or f"photograph: {picture.caption}",
        picture.width_px,
        picture.height_px,
        picture.mm_across,
        picture.notes,
    )


def photographs(pictures: Sequence[Picture], columns: int = 2) -> tuple[Block, ...]:
    """Photographs side by side; nothing where there are none."""
    return (Photographs(tuple(photo(p) for p in pictures), columns),) if pictures else ()
