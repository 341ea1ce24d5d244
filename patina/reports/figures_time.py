"""Charts over time: ageing of twins, strips of a bath, temperatures at the torch, salts drawn out of metal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from patina.reports import figures
from patina.reports.document import Chart
from patina.reports.figures_style import INK, drawn
from patina.sheets.named import named

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from patina.sheets import StripSheet, WorkSheet
    from patina.sheets.ageing import CourseRow

_LINES: tuple[tuple[str, object], ...] = (("L*", "-"), ("a*", (0, (5, 2))), ("b*", (0, (1, 1.5))))
_SHAPES = "osD^v<>ph*"


def ageing_chart(course: CourseRow, name: str) -> Chart:
    """How L*, a* and b* go on changing after delivery, by twins kept in one place; beyond the oldest reading it is
    drawn broken off."""

    def draw(_figure: Figure, axes: list[Axes]) -> None:
        ax, days = axes[0], [course.longest_days * n / 100 for n in range(101)]
        for (component, style), amount in zip(_LINES, course.amount, strict=True):
            done = [amount * (1 - math.exp(-d / course.time_days)) for d in days]
            ax.plot(days, done, color=INK, linestyle=style)
            ax.annotate(
                f"{component} {figures.plain(done[-1], 1)}",
                (days[-1], done[-1]),
                (5, 0),
                textcoords="offset points",
                va="center",
            )
        ax.axhline(0, color=INK, linewidth=0.6)
        if 0 < course.time_days < course.longest_days:
            ax.axvline(course.time_days, color=INK, linewidth=0.8, linestyle=(0, (1, 2)))
        ax.set(xlabel="days since delivery", ylabel="change", title=f"Ageing, kept {course.kept}")
        ax.set_xlim(0, course.longest_days * 1.1)

    caption = f"Fitted course of ageing. {course.words} Dotted upright: after which 63 % is done."
    return Chart(
        drawn(1, draw, name=f"ageing {name} {course.kept}", high_mm=62.0), caption, f"Chart of ageing: {course.words}"
    )


def potency_chart(sheet: StripSheet) -> Chart | None:
    """Seconds to brown of strips against the age of a bath; None where no strip was dipped."""
    if not sheet.checks:
        return None

    def draw(_figure: Figure, axes: list[Axes]) -> None:
        ax = axes[0]
        if sheet.curve:
            ax.plot(
                [h for h, _ in sheet.curve],
                [s for _, s in sheet.curve],
                color=INK,
                linestyle=(0, (5, 2)),
                label="expected",
            )
        ax.plot(
            [c[0] for c in sheet.checks],
            [c[1] for c in sheet.checks],
            "o",
            color=INK,
            mfc="white",
            ms=6.5,
            label="strips",
        )
        ax.axvline(sheet.age_h, color=INK, linewidth=0.8, linestyle=(0, (1, 2)), label="now")
        ax.set(
            xlabel="age of the bath in hours",
            ylabel="seconds to brown",
            title=f"Strips in {named(sheet.batch, sheet.solution)}",
        )
        ax.set_ylim(bottom=0)
        ax.set_xlim(left=0)
        ax.legend(loc="best")

    told = ", ".join(f"{figures.plain(c[0], 1)} h {figures.plain(c[1], 0)} s" for c in sheet.checks)
    svg = drawn(1, draw, name=f"potency {sheet.batch}", high_mm=62.0)
    return Chart(
        svg, f"{sheet.advice}: {sheet.why}", f"Chart of seconds to brown by age: {told}. {sheet.advice}: {sheet.why}"
    )


def torch_chart(sheet: WorkSheet) -> Chart | None:
    """Surface temperatures of a work by time, by zone, with the windows that its steps ask for; None where no
    temperature was taken."""
    told = [e for e in sheet.events if not e.cancelled and e.kind == "temperature" and e.true_c is not None]
    if not told:
        return None
    start = min(sheet.row.started_at, *(e.at for e in told))  # what comes from a journal may be earlier
    zones = list(dict.fromkeys(e.zone for e in told))
    passes = [e for e in sheet.events if not e.cancelled and e.kind == "pass"]
    windows = {s.number: s.window_c for s in sheet.steps}

    def minutes(at: object) -> float:
        return (at - start).total_seconds() / 60.0  # type: ignore[operator]

    def draw(_figure: Figure, axes: list[Axes]) -> None:
        ax = axes[0]
        for n, zone in enumerate(zones):
            mine = [e for e in told if e.zone == zone]
            ax.plot(
                [minutes(e.at) for e in mine],
                [e.true_c or 0.0 for e in mine],
                marker=_SHAPES[n % len(_SHAPES)],
                color=INK,
                mfc="white" if n % 2 == 0 else INK,
                ms=6,
                linewidth=0.8,
                label=zone,
            )
        for e in told:
            window = windows.get(e.step)
            if window is not None:
                ax.vlines(minutes(e.at), window[0], window[1], color=INK, linewidth=0.7, linestyle=(0, (1, 1.5)))
                ax.plot([minutes(e.at)] * 2, window, "_", color=INK, ms=7)
        for p in passes:
            ax.plot([minutes(p.at)], [0.0], "|", color=INK, ms=9, transform=ax.get_xaxis_transform(), clip_on=False)
        ax.set(
            xlabel="minutes since the first",
            ylabel="°C on the metal",
            title=f"{sheet.row.id}: temperatures at the torch",
        )
        ax.margins(x=0.03, y=0.1)
        ax.legend(loc="upper left", bbox_to_anchor=(1.01, 1.0), title="zone")

    figures_told = "; ".join(
        f"{figures.plain(minutes(e.at), 0)} min {e.zone} {figures.plain(e.true_c or 0.0, 0)} °C" for e in told
    )
    out = [e for e in told if (w := windows.get(e.step)) is not None and not w[0] <= (e.true_c or 0.0) <= w[1]]
    words = f"{len(out)} of {len(told)} readings lie outside the window asked for." if any(windows.values()) else ""
    caption = (
        f"True surface temperatures, after the thermometer's correction, of {sheet.row.recipe}, revision "
        f"{sheet.row.revision}. Dotted uprights: the window asked for at that step; ticks at the foot: passes. {words}"
    )
    return Chart(
        drawn(1, draw, name=f"torch {sheet.row.id}", high_mm=70.0),
        caption.strip(),
        f"Chart of temperatures: {figures_told}. {words}".strip(),
    )


def salt_chart(
    name: str,
    times: Sequence[float],
    values: Sequence[float],
    *,
    curve: Sequence[tuple[float, float]] = (),
    plateau: float | None = None,
    low: float | None = None,
    high: float | None = None,
    across: str = "square root of time, √h",
    upright: str = "chloride drawn out, mg",
    words: str = "",
) -> Chart | None:
    """Salts drawn out of the metal against root time, with the fitted plateau and its interval; None without points.

    times, values: of the readings. curve: of the fit. plateau, low, high: its end value and 95 % interval.
    """
    if not times:
        return None

    def draw(_figure: Figure, axes: list[Axes]) -> None:
        ax = axes[0]
        if low is not None and high is not None:
            ax.axhspan(
                low, high, facecolor="none", edgecolor=INK, hatch="////", linewidth=0.4, label="95 % of the plateau"
            )
        if plateau is not None:
            ax.axhline(plateau, color=INK, linewidth=0.9, linestyle=(0, (5, 2)), label="fitted plateau")
        if curve:
            ax.plot([x for x, _ in curve], [y for _, y in curve], color=INK, label="fit")
        ax.plot(times, values, "o", color=INK, mfc="white", ms=6.5, label="baths", zorder=3)
        ax.set(xlabel=across, ylabel=upright, title=name)
        ax.set_ylim(bottom=0)
        ax.set_xlim(left=0)
        ax.legend(loc="lower right")

    told = ", ".join(f"{figures.plain(t, 1)}: {figures.plain(v, 1)}" for t, v in zip(times, values, strict=True))
    end = "" if plateau is None else f" Plateau {figures.plain(plateau, 1)}"
    if end and low is not None and high is not None:
        end += f", {figures.plain(low, 1)} to {figures.plain(high, 1)} (95 %)"
    svg = drawn(1, draw, name=f"salts {name}", high_mm=72.0)
    return Chart(svg, f"{name}. {words}".strip(), f"Chart of {upright} by {across}: {told}.{end}")
