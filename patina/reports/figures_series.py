"""Charts of an edition: individuals and moving ranges of L*, a* and b*, with what changed between the casts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.reports import figures
from patina.reports.document import Chart as Drawing
from patina.reports.figures_style import INK, drawn

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from patina.matching.series import Chart
    from patina.sheets.series import SeriesSheet

MANY = 14  # casts whose labels no longer fit beside each other
LEGEND = (
    "Whole line: agreed value or mean; broken lines: limits of single casts. Open circle: within; filled square: "
    "beyond the limits; diamond: worth a look by the runs rules. Dotted upright: something changed before this cast."
)


def series_charts(sheet: SeriesSheet) -> tuple[Drawing, ...]:
    """One drawing for each of L*, a* and b*; none with fewer than two casts read."""
    changed = dict(sheet.changes)
    return tuple(_chart(chart, sheet.labels, changed, sheet.piece.id) for chart in sheet.charts)


def _chart(chart: Chart, labels: tuple[str, ...], changed: dict[int, str], piece: str) -> Drawing:
    def draw(_figure: Figure, axes: list[Axes]) -> None:
        _individuals(axes[0], chart, labels, changed)
        _ranges(axes[1], chart, labels, changed)

    svg = drawn(
        2, draw, name=f"series {piece} {chart.name}", high_mm=70.0, sharex=True, gridspec_kw={"height_ratios": (2.1, 1)}
    )
    few = (
        "; fewer than 8 casts and no spread known from before, so the limits are provisional"
        if chart.provisional
        else ""
    )
    return Drawing(svg, f"{chart.name} by cast, and its moving range{few}.", _alt(chart, labels, changed))


def out_of_limits(chart: Chart) -> tuple[int, ...]:
    """Indices of the casts beyond the limits of the individuals chart."""
    return tuple(i for i, v in enumerate(chart.values) if not chart.lower <= v <= chart.upper)


def _individuals(ax: Axes, chart: Chart, labels: tuple[str, ...], changed: dict[int, str]) -> None:
    at = range(len(chart.values))
    out = set(out_of_limits(chart))
    look = {m.index for m in chart.marks} - out
    ax.plot(at, chart.values, color=INK, zorder=2)
    for i in at:
        shape = "s" if i in out else "D" if i in look else "o"
        face = INK if i in out else "white"
        ax.plot([i], [chart.values[i]], marker=shape, markersize=6.5, color=INK, markerfacecolor=face, zorder=3)
    ax.axhline(chart.centre, color=INK, linewidth=0.9)
    for limit in (chart.lower, chart.upper):
        ax.axhline(limit, color=INK, linewidth=0.8, linestyle=(0, (5, 3)))
    for value, word in ((chart.centre, "centre"), (chart.lower, "lower"), (chart.upper, "upper")):
        ax.annotate(
            f"{word} {_figure(value)}", (1.01, value), xycoords=("axes fraction", "data"), va="center", fontsize=8.5
        )
    _uprights(ax, changed)
    ax.set_ylabel(chart.name)
    ax.set_title(f"{chart.name} of each cast")


def _ranges(ax: Axes, chart: Chart, labels: tuple[str, ...], changed: dict[int, str]) -> None:
    at = range(1, len(chart.values))
    ax.plot(at, chart.ranges, color=INK)
    for i, value in zip(at, chart.ranges, strict=True):
        out = i in chart.ranges_out
        ax.plot([i], [value], marker="s" if out else "o", markersize=5.5, color=INK, mfc=INK if out else "white")
    ax.axhline(chart.range_upper, color=INK, linewidth=0.8, linestyle=(0, (5, 3)))
    ax.annotate(
        f"upper {_figure(chart.range_upper)}",
        (1.01, chart.range_upper),
        xycoords=("axes fraction", "data"),
        va="center",
        fontsize=8.5,
    )
    _uprights(ax, changed)
    ax.set_ylim(bottom=0)
    ax.set_ylabel("range")
    many = len(labels) > MANY
    ax.set_xticks(range(len(labels)), labels, rotation=60 if many else 0, fontsize=7.5 if many else 9.5)
    ax.set_xlim(-0.5, len(labels) - 0.5)
    ax.set_xlabel("cast")


def _uprights(ax: Axes, changed: dict[int, str]) -> None:
    for i in changed:
        ax.axvline(i - 0.5, color=INK, linewidth=0.9, linestyle=(0, (1, 2)))
        ax.plot(
            [i - 0.5],
            [1.0],
            marker="v",
            color=INK,
            mfc="white",
            ms=6,
            transform=ax.get_xaxis_transform(),
            clip_on=False,
        )


def _alt(chart: Chart, labels: tuple[str, ...], changed: dict[int, str]) -> str:
    values = ", ".join(f"{name} {_figure(v)}" for name, v in zip(labels, chart.values, strict=True))
    limits = f"centre {_figure(chart.centre)}, limits {_figure(chart.lower)} to {_figure(chart.upper)}"
    ranges = f"moving ranges {', '.join(_figure(r) for r in chart.ranges)}, limit {_figure(chart.range_upper)}"
    told = [f"changed before {labels[i]}: {words}" for i, words in sorted(changed.items()) if i < len(labels)]
    return "; ".join([f"Chart of {chart.name}: {values}", limits, ranges, *told])


def _figure(value: float) -> str:
    return figures.plain(value, 1)
