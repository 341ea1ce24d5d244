"""Small pictures in half blocks: two pixels to a cell, the upper as ink, the lower as ground."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview

HALF = "\N{UPPER HALF BLOCK}"
Spot = tuple[int, int]
Rgb = tuple[int, int, int]
SMALLEST_OUTLINE = 4  # small pixels across, below which only a middle is marked
SMALLEST_MARKED = 2  # below which nothing is
FAR = 10_000.0  # small pixels: a point beyond belongs to a chart placed at random


def hex_of(rgb: Rgb) -> str:
    """The colour as "#rrggbb".

    >>> hex_of((210, 154, 88))
    '#d29a58'
    """
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def cell(preview: Preview, column: int, line: int, marks: Mapping[Spot, Rgb] | None = None) -> Segment:
    """One cell of a picture; marks: small pixels that are drawn over."""
    marks = marks or {}
    row = 2 * line
    upper = marks.get((column, row)) or preview.at(column, row)
    if row + 1 >= preview.rows:
        return Segment(HALF, Style(color=hex_of(upper)))
    lower = marks.get((column, row + 1)) or preview.at(column, row + 1)
    return Segment(HALF, Style(color=hex_of(upper), bgcolor=hex_of(lower)))


def outlines(preview: Preview, shapes: Iterable[Iterable[tuple[float, float]]]) -> dict[Spot, Rgb]:
    """Four-sided shapes, in pixels of the photograph, as marks: light on dark ground, dark on light.

    Where they are too small for an outline to leave their middle free, only their middles are marked,
    and where a mark would hide most of a shape, nothing is.
    """
    scale = preview.columns / preview.width_px
    drawn = []
    for shape in shapes:
        points = [(x * scale, y * scale) for x, y in shape]
        if all(abs(v) < FAR for point in points for v in point):  # false also for what is no number
            drawn.append([(int(x), int(y)) for x, y in points])
    smallest = min((_extent(corners) for corners in drawn), default=0)
    if smallest < SMALLEST_MARKED:
        return {}
    marks: dict[Spot, Rgb] = {}
    for corners in drawn:
        middle = (sum(x for x, _ in corners) // 4, sum(y for _, y in corners) // 4)
        spots = _rim(corners) if smallest >= SMALLEST_OUTLINE else [middle]
        inside = [spot for spot in spots if _shown(preview, spot)]
        if inside:
            ground = preview.at(*(middle if _shown(preview, middle) else inside[0]))
            marks.update(dict.fromkeys(inside, (255, 255, 255) if sum(ground) < 384 else (0, 0, 0)))
    return marks


def _extent(corners: list[Spot]) -> int:
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    return min(max(xs) - min(xs), max(ys) - min(ys))


def _shown(preview: Preview, spot: Spot) -> bool:
    return 0 <= spot[0] < preview.columns and 0 <= spot[1] < preview.rows


def _rim(corners: list[Spot]) -> list[Spot]:
    spots: list[Spot] = []
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        steps = max(abs(x2 - x1), abs(y2 - y1), 1)
        spots += [(round(x1 + (x2 - x1) * k / steps), round(y1 + (y2 - y1) * k / steps)) for k in range(steps + 1)]
    return spots
