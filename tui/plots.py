"""What is plotted: curves taken from sheets, with the same content in words."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from typing import TYPE_CHECKING

from patina.sheets.named import named
from tui import format as show

if TYPE_CHECKING:
    from patina.sheets import StripSheet, WorkSheet
    from patina.sheets.ageing import CourseRow, PredictionSheet
    from patina.sheets.series import SeriesSheet

COMPONENTS = ("L*", "a*", "b*")
MARKERS = ("●", "▲", "■", "◆", "✚", "▼")


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve or points. marker: a sign per point; empty draws a line."""

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    marker: str = ""


@dataclass(frozen=True, slots=True)
class Plot:
    """One plot. across: levels with their names. upright: places on x with what happened there.
    ticks: names of places on x, empty for figures. words: the plot for whoever does not see it."""

    title: str
    x_name: str
    y_name: str
    curves: tuple[Curve, ...]
    words: str
    across: tuple[tuple[float, str], ...] = ()
    upright: tuple[tuple[float, str], ...] = ()
    ticks: tuple[tuple[float, str], ...] = ()


def of_series(sheet: SeriesSheet) -> tuple[Plot, ...]:
    """L*, a* and b* by cast, each with its limits, and where something changed."""
    ticks = tuple((float(n), label) for n, label in enumerate(sheet.labels))
    plots = []
    for chart in sheet.charts:
        marked = {m.index for m in chart.marks}
        usual = [(n, v) for n, v in enumerate(chart.values) if n not in marked]
        worth = [(n, v) for n, v in enumerate(chart.values) if n in marked]
        curves = [Curve("casts", tuple(ticks_of(usual)), tuple(v for _, v in usual), "●")]
        if worth:
            curves.append(Curve("worth a look", tuple(ticks_of(worth)), tuple(v for _, v in worth), "◆"))
        figures = ", ".join(f"{label} {show.number(v, 1)}" for label, v in zip(sheet.labels, chart.values, strict=True))
        plots.append(
            Plot(
                f"{sheet.piece.title}: {chart.name} by cast",
                "cast",
                chart.name,
                tuple(curves),
                f"{chart.name}: {figures}. {' '.join(m.text for m in chart.marks)}".strip(),
                ((chart.lower, "lower limit"), (chart.centre, "centre"), (chart.upper, "upper limit")),
                tuple((float(n), words) for n, words in sheet.changes),
                ticks,
            )
        )
    return tuple(plots)


def ticks_of(points: list[tuple[int, float]]) -> list[float]:
    """Places on x of points that are numbered."""
    return [float(n) for n, _ in points]


def of_ageing(sheet: PredictionSheet) -> tuple[Plot, ...]:
    """How a colour goes on changing after delivery, by the place that twins were kept in."""
    return tuple(_course(course) for course in sheet.courses)


def _course(course: CourseRow) -> Plot:
    days = [course.longest_days * n / 60 for n in range(61)]
    done = [1 - math.exp(-day / course.time_days) for day in days]
    curves = tuple(
        Curve(name, tuple(days), tuple(amount * share for share in done))
        for name, amount in zip(COMPONENTS, course.amount, strict=True)
    )
    upright = (
        ((course.time_days, f"63 % of the change after {course.time_days:.0f} days"),)
        if course.time_days < course.longest_days
        else ()
    )
    return Plot(f"Ageing, kept {course.kept}", "days", "change", curves, course.words, ((0.0, ""),), upright)


def of_strips(sheet: StripSheet) -> tuple[Plot, ...]:
    """Seconds to brown of strips by the age of the pot; nothing where no strip was dipped."""
    if not sheet.checks:
        return ()
    curves = [Curve("strips", tuple(c[0] for c in sheet.checks), tuple(c[1] for c in sheet.checks), "●")]
    if sheet.curve:
        curves.append(Curve("expected", tuple(h for h, _ in sheet.curve), tuple(s for _, s in sheet.curve)))
    told = ", ".join(f"{show.hours(c[0])}: {show.number(c[1], 0)} s" for c in sheet.checks)
    words = f"{told}. {sheet.advice}: {sheet.why}"
    now = ((sheet.age_h, "now"),)
    return (
        Plot(
            f"Strips in {named(sheet.batch, sheet.solution)}",
            "age, h",
            "seconds to brown",
            tuple(curves),
            words,
            (),
            now,
        ),
    )


def of_work(sheet: WorkSheet) -> tuple[Plot, ...]:
    """Temperature of the metal by time, a curve for each zone; nothing where none was read."""
    read = [e for e in sheet.events if not e.cancelled and e.kind == "temperature" and e.true_c is not None]
    if not read:
        return ()
    start = sheet.row.started_at

    def minutes(at: datetime) -> float:
        return (at - start).total_seconds() / 60.0

    zones = {zone: list(of) for zone, of in groupby(sorted(read, key=lambda e: (e.zone, e.at)), key=lambda e: e.zone)}
    curves = tuple(
        Curve(zone, tuple(minutes(e.at) for e in of), tuple(e.true_c or 0.0 for e in of), MARKERS[n % len(MARKERS)])
        for n, (zone, of) in enumerate(zones.items())
    )
    window = next((s.window_c for s in sheet.steps if s.window_c is not None), None)
    across = () if window is None else ((window[0], "low end"), (window[1], "high end"))
    figures = "; ".join(
        f"{show.number(minutes(e.at), 0)} min {e.zone} {show.number(e.true_c or 0.0, 0)} °C" for e in read
    )
    return (Plot(f"{sheet.row.id}: temperature of the metal", "min", "°C", curves, f"{figures}.", across),)
