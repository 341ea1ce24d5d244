"""One door for every report: the path's ending picks paper (PDF/A-2b, SVG, PNG) or a page on screen (HTML)."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass
from html import escape
from pathlib import Path
from typing import Any

from patina.errors import Refused
from patina.language import shown
from patina.reports import figures
from patina.reports.document import Chart, Document, Outline, Photo
from patina.reports.in_language import in_readers_language
from patina.reports.pictograms import SHOWS
from patina.reports.typeset import KINDS, qr_svg, typeset, write_whole

# Told how many steps are done, of how many, and what is being done.
Progress = Callable[[int, int, str], None]
ENDINGS = (".pdf", ".html", ".svg", ".png")
# Lengths that a scale bar is drawn in, in mm: the longest that is no wider than a third of the picture.
BARS_MM = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0)
LONGEST_BAR = 0.34
# A word longer than any line is given places to break at.
LONG_WORD = re.compile(r"\S{66,}")


def quiet(_done: int, _of: int, _words: str) -> None:
    """The progress of somebody who does not look."""


def publish(document: Document, path: Path, *, progress: Progress = quiet) -> tuple[Path, ...]:
    """Write a report; the same document gives the same bytes.

    path: ends in .pdf (PDF/A-2b), .html (one file that asks nothing of the network), or .svg or .png
    (one picture per page). progress: told before the pages are set. Returns the files written.
    Raises Refused for another ending, StudioTrouble where the file cannot be written, BadPhotograph.
    """
    kind = path.suffix.lower()
    if kind not in ENDINGS:
        raise Refused(
            f"'{path.name}' does not say how the sheet is to be written.",
            "Name a file that ends in .pdf, .html, .svg or .png.",
        )
    document = in_readers_language(document)
    progress(0, 1, f"setting {document.kind.lower()}")
    if kind in KINDS:
        data, pictures = as_data(document)
        written = typeset("document.typ", data, path, made_on=document.made_on, pictures=pictures)
    else:
        from patina.reports.page import html_of

        write_whole(path, html_of(document).encode("utf-8", "replace"))
        written = (path,)
    progress(1, 1, f"{document.kind} written")
    return written


def as_data(document: Document) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The document as the template reads it, and its pictures by name."""
    pictures: dict[str, bytes] = {}
    data = _plain(document, pictures)
    data["qr"] = qr_svg(*document.qr) if document.qr else ""
    data["drawn"] = list(SHOWS)
    data["footer"] = document.footer or figures.day(document.made_on)
    return data, pictures


def _plain(value: Any, pictures: dict[str, bytes]) -> Any:
    if isinstance(value, Photo):
        return _photo(value, pictures)
    if isinstance(value, Chart):
        name = _file(value.svg.encode("utf-8"), ".svg", pictures)
        return {"kind_of": "Chart", "name": name, "caption": breakable(value.caption), "alt": value.alt}
    if is_dataclass(value) and not isinstance(value, type):
        plain = {f.name: _plain(getattr(value, f.name), pictures) for f in fields(value)}
        if not isinstance(value, Document):
            plain["kind_of"] = type(value).__name__
        if plain.get("kind_of") == "Beside" and not plain["shares"]:
            plain["shares"] = [1.0] * len(plain["columns"])
        return plain
    if isinstance(value, tuple | list):
        return [_plain(item, pictures) for item in value]
    if isinstance(value, str):
        return breakable(value)
    if hasattr(value, "isoformat"):
        return value.isoformat()
    return value


def breakable(text: str) -> str:
    """The text with places to break a line at in words that are longer than any line.

    >>> breakable("short"), len(breakable("x" * 90))
    ('short', 92)
    """
    return LONG_WORD.sub(lambda m: "\u200b".join(textwrap.wrap(m[0], 30)), text)


def _file(content: bytes, suffix: str, pictures: dict[str, bytes]) -> str:
    name = f"pictures/{len(pictures) + 1}{suffix}"
    pictures[name] = content
    return f"/{name}"


def _photo(photo: Photo, pictures: dict[str, bytes]) -> dict[str, Any]:
    bar = scale_bar(photo)
    return {
        "kind_of": "Photo",
        "name": _file(photo.content, photo.suffix, pictures),
        "caption": breakable(photo.caption),
        "alt": photo.alt or photo.caption,
        "notes": breakable(notes_of(photo)),
        "scale": None if bar is None else {"share": bar[1], "words": f"{figures.plain(bar[0], 0)}{figures.THIN}mm"},
        "overlay": overlay_svg(photo),
        "overlay_alt": overlay_alt(photo.outlines),
    }


def notes_of(photo: Photo) -> str:
    """What stands below a caption; a photograph without scale says so."""
    scale = () if photo.mm_across is not None or photo.scaled else (shown("no scale in the picture"),)
    return "; ".join((*photo.notes, *scale))


def scale_bar(photo: Photo) -> tuple[float, float] | None:
    """Length of the scale bar in mm and its share of the picture's width; None where the scale is not known.

    >>> scale_bar(Photo(b"", ".jpg", "a tile", mm_across=180.0))
    (50.0, 0.2777777777777778)
    """
    if photo.mm_across is None or photo.mm_across <= 0:
        return None
    fitting = [mm for mm in BARS_MM if mm <= LONGEST_BAR * photo.mm_across]
    return (fitting[-1], fitting[-1] / photo.mm_across) if fitting else None


def overlay_alt(outlines: tuple[Outline, ...]) -> str:
    """What an overlay shows, in words."""
    marks = ", ".join(o.mark for o in outlines if o.mark)
    return shown(f"outlines of zones {marks}") if outlines else ""


def overlay_svg(photo: Photo) -> str:
    """The zones drawn on a photograph, as an SVG of its proportions; empty where there are none.

    A white line lies under each coloured one, so that it is seen on dark and on light metal; each zone carries
    its mark, so that its colour is not needed.
    """
    if not photo.outlines or not photo.width_px or not photo.height_px:
        return ""
    wide, high = 1000.0, 1000.0 * photo.height_px / photo.width_px
    lines = [f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:g} {high:.1f}" width="{wide:g}">']
    for zone in photo.outlines:
        at = [(wide * x, high * y) for x, y in zone.points]
        lines += [*_line(zone, at, wide), *_mark(zone, at)]
    return "\n".join([*lines, "</svg>"])


def _line(zone: Outline, at: Sequence[tuple[float, float]], wide: float) -> list[str]:
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in at)
    dash = f' stroke-dasharray="{" ".join(f"{wide * d:.1f}" for d in zone.dash)}"' if zone.dash else ""
    under, over = (5, 2.5) if zone.small else (9, 4.5)
    start = f'<polygon points="{path}" fill="none" stroke-linejoin="round"'
    return [
        f'{start} stroke="#ffffff" stroke-width="{under}"/>',
        f'{start} stroke="{zone.hex}" stroke-width="{over}"{dash}/>',
    ]


def _mark(zone: Outline, at: Sequence[tuple[float, float]]) -> list[str]:
    """The mark in the middle of its zone in a frame, or above a small one with a white edge around its strokes."""
    if not zone.mark:
        return []
    words = escape(zone.mark)
    face = 'font-family="Source Sans Pro, sans-serif" font-weight="bold"'
    x, y = sum(p[0] for p in at) / len(at), sum(p[1] for p in at) / len(at)
    if zone.small:
        above = min(p[1] for p in at) - 5
        beside = f'<text x="{x:.1f}" y="{above:.1f}" text-anchor="middle" {face} font-size="24"'
        return [
            f'{beside} fill="#ffffff" stroke="#ffffff" stroke-width="6">{words}</text>',
            f'{beside} fill="#000000">{words}</text>',
        ]
    half = 16 + 9 * len(zone.mark)
    return [
        f'<rect x="{x - half:.1f}" y="{y - 23:.1f}" width="{2 * half}" height="46" rx="8" fill="#ffffff" '
        f'stroke="{zone.hex}" stroke-width="3"/>',
        f'<text x="{x:.1f}" y="{y + 12:.1f}" text-anchor="middle" {face} font-size="34" fill="#000000">{words}</text>',
    ]
