"""A picture of two uneven finishes edge to edge: fields of patches with the true shares, figures and words."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from textwrap import wrap

SCREEN_CAUTION = (
    "Screens and printers differ, and so does the light you sit in: this picture shows what differs and how much of "
    "it there is. Colours are judged from the tiles themselves, under the agreed light; the figures count."
)
COLUMNS, ROWS, CELL = 96, 72, 4  # cells of a field, and the side of one in px
FIELD_MM = 80.0  # what a field stands for in width, where the grain is known
_UNKNOWN_GRAIN_CELLS = 10.0
_WAVES = 24
_MARGIN, _LINE = 24, 20


@dataclass(frozen=True, slots=True)
class PictureTone:
    """One tone. hex: as a screen shows it, "#rrggbb". share: 0 to 1. shown: whether a screen can show it at all."""

    hex: str
    L: float
    a: float
    b: float
    share: float
    shown: bool = True


@dataclass(frozen=True, slots=True)
class PictureSide:
    """One of the two finishes. role: "reference" or "sample". light: illuminant and observer of the figures.
    grain_mm: size of the mottle, None where not known."""

    role: str
    name: str
    tones: tuple[PictureTone, ...]
    light: str = "D50, 2°"
    grain_mm: float | None = None


def mottle_picture(
    left: PictureSide, right: PictureSide, words: str, *, distance: float, cautions: Sequence[str] = ()
) -> str:
    """The picture as an SVG that refers to nothing outside itself; the same finishes give the same picture.

    words: what differs. distance: earth mover's, in CIEDE2000. cautions: what makes it doubtful.
    """
    wide, high = COLUMNS * CELL, ROWS * CELL
    width = 2 * (wide + _MARGIN)
    top = high + 2 * _MARGIN
    columns = [_caption(side) for side in (left, right)]
    lines = [
        _text(_MARGIN + n * wide + 20 * (i > 0), top + _LINE * (1 + i), line, size=13, bold=i == 0)
        for n, column in enumerate(columns)
        for i, line in enumerate(column)
    ]
    lines += [
        f'<rect x="{_MARGIN + n * wide}" y="{top + _LINE * (2 + i) - 12}" width="14" height="14" fill="{tone.hex}"/>'
        for n, side in enumerate((left, right))
        for i, tone in enumerate(side.tones)
    ]
    y = top + _LINE * (2 + max(len(c) for c in columns))
    below = [(f"Distance of tones with their shares {distance:.1f} (earth mover's, CIEDE2000)", True)]
    below += [(line, False) for line in wrap(words.replace(" %", "\N{NO-BREAK SPACE}%"), 104)]
    for caution in (*cautions, *_screen(left, right), SCREEN_CAUTION):
        below += [(line, False) for line in wrap(f"! {caution}", 104)]
    lines += [_text(_MARGIN, y + _LINE * i, line, size=14, bold=bold) for i, (line, bold) in enumerate(below)]
    height = y + _LINE * len(below) + _MARGIN // 2
    title = escape(f"{left.name} beside {right.name}")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'role="img"><title>{title}</title>'
    )
    return "\n".join(
        [
            head,
            f'<rect width="{width}" height="{height}" fill="#ffffff"/>',
            f'<rect width="{width}" height="{top}" fill="#777777"/>',  # a neutral surround, as for judging
            _field(left, _MARGIN),
            _field(right, _MARGIN + wide),
            *lines,
            "</svg>\n",
        ]
    )


def _screen(*sides: PictureSide) -> list[str]:
    near = [s.name for s in sides if not all(t.shown for t in s.tones)]
    return [f"A screen can only come near a tone of {' and of '.join(near)}."] if near else []


def _caption(side: PictureSide) -> list[str]:
    grain = "grain not known; size of patches is arbitrary"
    if side.grain_mm is not None:
        grain = f"grain {side.grain_mm:.1f} mm; the field stands for {FIELD_MM:.0f} mm across"
    name = side.name if len(side.name) <= 40 else side.name[:39] + "…"
    tones = [f"{100 * t.share:.0f} %  L* {t.L:.1f}  a* {t.a:.1f}  b* {t.b:.1f}" for t in side.tones]
    return [f"{side.role}: {name}", *tones, f"for {side.light}", *([grain] if len(side.tones) > 1 else ["one tone"])]


def _text(x: int, y: int, text: str, *, size: int, bold: bool) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{x}" y="{y}" font-family="sans-serif" font-size="{size}"{weight}>{escape(text)}</text>'


def _field(side: PictureSide, x0: int) -> str:
    """One path for each tone, of runs of cells along the rows."""
    owner = _cells(side)
    paths = [
        f'<path data-share="{tone.share:.4f}" fill="{tone.hex}" d="{_runs(owner, n, x0)}"/>'
        for n, tone in enumerate(side.tones)
    ]
    return f'<g id="{escape(side.role, quote=True)}" shape-rendering="crispEdges">{"".join(paths)}</g>'


def _runs(owner: Sequence[int], tone: int, x0: int) -> str:
    drawn = []
    for row in range(ROWS):
        column = 0
        while column < COLUMNS:
            start = column
            while column < COLUMNS and owner[row * COLUMNS + column] == tone:
                column += 1
            if column > start:
                w = CELL * (column - start)
                drawn.append(f"M{x0 + CELL * start} {_MARGIN + CELL * row}h{w}v{CELL}h-{w}z")
            else:
                column += 1
    return "".join(drawn)


def _cells(side: PictureSide) -> list[int]:
    """Which tone each cell has, row by row: cells in the order of a smooth random hill, dark tones lowest.

    Cutting the order by the shares gives every tone its share to the nearest cell, in irregular patches.
    """
    tones, total = side.tones, sum(t.share for t in side.tones)
    heights = _hills(side)
    order = sorted(range(len(heights)), key=heights.__getitem__)
    owner = [0] * len(order)
    done, until = 0, 0.0
    for n in sorted(range(len(tones)), key=lambda k: tones[k].L):
        until += tones[n].share / total
        upto = round(until * len(order))
        for cell in order[done:upto]:
            owner[cell] = n
        done = upto
    return owner


def _hills(side: PictureSide) -> list[float]:
    """A height for each cell: waves of about two patches' length in every direction, seeded from the shares."""
    chance = random.Random(",".join(f"{t.share:.4f}" for t in side.tones))
    patch = _UNKNOWN_GRAIN_CELLS if side.grain_mm is None else side.grain_mm / FIELD_MM * COLUMNS
    patch = min(max(patch, 2.0), ROWS / 2)
    waves = []
    for _ in range(_WAVES):
        angle, turn = chance.uniform(0, 2 * math.pi), chance.uniform(0, 2 * math.pi)
        step = 2 * math.pi / (2 * patch * chance.uniform(0.7, 1.6))
        waves.append((step * math.cos(angle), step * math.sin(angle), turn))
    return [
        sum(math.cos(kx * x + ky * y + turn) for kx, ky, turn in waves) for y in range(ROWS) for x in range(COLUMNS)
    ]
