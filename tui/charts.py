"""Charts drawn with characters: individuals with their centre and limits, and the map of a rack."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from patina.sheets.series import SeriesSheet

WIDEST_COLUMN = 18  # cells between two casts, where there is room
POINT, OUT, LOOK = "●", "✖", "◆"


def individuals(
    values: Sequence[float],
    labels: Sequence[str],
    *,
    name: str,
    centre: float,
    lower: float,
    upper: float,
    marked: Sequence[int] = (),
    changed: Sequence[int] = (),
    height: int = 9,
    column: int = 6,
) -> list[str]:
    """A chart of one component by cast order, as lines of text.

    centre, lower, upper: lines across. marked: points worth a look (◆); one beyond the limits is ✖.
    changed: casts before which lot, batch, alloy, blast or hand changed (▽ above them).
    """
    if not values:
        return [f"{name}: no cast was read."]
    low, high = min(*values, lower), max(*values, upper)
    span = (high - low) or 1.0
    low, high = low - 0.05 * span, high + 0.05 * span

    def line_of(value: float) -> int:
        return round((high - value) / (high - low) * (height - 1))

    rows = [[" "] * (column * len(values)) for _ in range(height)]
    for value, sign in ((centre, "─"), (lower, "┄"), (upper, "┄")):
        rows[line_of(value)] = [sign] * (column * len(values))
    for i, value in enumerate(values):
        beyond = value > upper or value < lower
        at = i * column + column // 2
        rows[line_of(value)][at] = OUT if beyond else LOOK if i in marked else POINT
    ends = {line_of(v): f"{v:7.2f}" for v in (centre, lower, upper)}
    above = "".join(("▽" if i in changed else " ").center(column) for i in range(len(values)))
    lines = [f"{name:<9}{above}".rstrip()]
    lines += [f"{ends.get(n, ''):>7} │{''.join(row)}".rstrip() for n, row in enumerate(rows)]
    lines.append(" " * 9 + "".join(label[: column - 1].center(column) for label in labels).rstrip())
    return lines


def series_charts(sheet: SeriesSheet, *, height: int = 9, width: int = 80) -> list[str]:
    """The three charts of a series one below the other, the newest casts where not all have room."""
    column = max(4, max((len(label) for label in sheet.labels), default=4) + 2)
    room = max(2, (width - 9) // column)
    if sheet.labels:
        column = max(column, min(WIDEST_COLUMN, (width - 9) // min(len(sheet.labels), room)))
    first = max(0, len(sheet.labels) - room)
    changed = {i for i, _ in sheet.changes}
    lines: list[str] = []
    for chart in sheet.charts:
        lines += individuals(
            chart.values[first:],
            sheet.labels[first:],
            name=chart.name,
            centre=chart.centre,
            lower=chart.lower,
            upper=chart.upper,
            marked=[m.index - first for m in chart.marks],
            changed=[i - first for i in changed],
            height=height,
            column=column,
        )
        lines.append("")
    return lines


def place(value: float, low: float, high: float, cells: int) -> int | None:
    """The cell of a value on an axis of so many cells; None where it lies beyond."""
    if not low <= value <= high or high <= low:
        return None
    return min(cells - 1, int((value - low) / (high - low) * cells))


def axis_range(values: Sequence[float], *, least: float) -> tuple[float, float]:
    """Whole tens around the values, at least so far apart."""
    if not values:
        return 0.0, least
    low = 10.0 * (min(values) // 10)
    high = 10.0 * -(-max(values) // 10)
    if high - low < least:
        high = low + least
    return low, high
