"""A series of casts by order: charts of L*, a* and b*, runs rules, drift and jumps.

Each component has its own chart; ΔE has none, since it is never negative and skewed. Marks of the
usual runs rules are worth a look; an alarm is raised by two tests over the three components
together, whose chance of a false alarm over the first six casts is held at 5 % in all.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Literal

from patina.datafile import Parser, number, read_table, text
from patina.errors import BadQuantity
from patina.matching.constants import constant

Vector = tuple[float, float, float]
COMPONENTS = ("L*", "a*", "b*")


@dataclass(frozen=True, slots=True)
class RunsRule:
    """One zone rule. of: points looked at; at_least: of them; beyond_sd: standard deviations; text: in words."""

    key: str
    kind: str
    of: int
    at_least: int
    beyond_sd: float
    text: str
    source: str


@cache
def runs_rules() -> tuple[RunsRule, ...]:
    """The rules of ``data/runs_rules.csv``. Source: [WECO1956], [ISO7870-2]."""
    columns: dict[str, Parser] = {
        "key": text,
        "kind": text,
        "of": int,
        "at_least": int,
        "beyond_sd": number,
        "text": text,
        "source": text,
    }
    return tuple(RunsRule(**row) for row in read_table("runs_rules.csv", columns))


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on a chart worth a look. index: of the cast, from 0; rule: its key; text: in words."""

    index: int
    rule: str
    text: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Individuals and moving-range chart of one component.

    name: L*, a* or b*. values: by cast order. centre, sd: of the individuals; lower, upper: their
    limits. ranges: moving ranges of two, one fewer than values; mean_range; range_upper: their limit.
    ranges_out: indices of the casts that end a range above its limit. marks: by the runs rules.
    provisional: fewer than 8 casts and no spread known from before.
    """

    name: str
    values: tuple[float, ...]
    centre: float
    sd: float
    lower: float
    upper: float
    ranges: tuple[float, ...]
    mean_range: float
    range_upper: float
    ranges_out: tuple[int, ...]
    marks: tuple[Mark, ...]
    provisional: bool


def individuals_chart(
    values: Sequence[float], name: str = "L*", *, centre: float | None = None, sd: float | None = None
) -> Chart:
    """The chart of one component by cast order.

    values: one mean per cast, two or more. centre: the master's value, else the mean. sd: between
    casts, known from earlier editions, else from the mean moving range.
    Limits are mean ± 2.660 mean range and 3.267 mean range. Raises BadQuantity.
    Source: [ISO7870-2].
    """
    if len(values) < 2:
        raise BadQuantity("A chart needs two casts or more.", "Read the next cast first.")
    if not all(math.isfinite(v) for v in values):
        raise BadQuantity("A value of the series is not a finite number.", "Correct that reading.")
    ranges = tuple(abs(b - a) for a, b in pairwise(values))
    d2 = constant("d2_of_two")
    mean_range = statistics.fmean(ranges) if sd is None else sd * d2
    middle = statistics.fmean(values) if centre is None else centre
    half = constant("individuals_factor") * mean_range
    spread = mean_range / d2
    limit = constant("moving_range_factor") * mean_range
    return Chart(
        name,
        tuple(values),
        middle,
        spread,
        middle - half,
        middle + half,
        ranges,
        mean_range,
        limit,
        tuple(i + 1 for i, r in enumerate(ranges) if r > limit),
        marks(values, middle, spread),
        sd is None and len(values) < constant("fewest_for_limits"),
    )


def marks(values: Sequence[float], centre: float, sd: float) -> tuple[Mark, ...]:
    """Where the runs rules mark a series. values by order; centre and sd in the same unit (sd above 0 to mark)."""
    if sd <= 0:
        return ()
    z = [(v - centre) / sd for v in values]
    found = []
    for i in range(len(z)):
        for rule in runs_rules():
            window = z[max(0, i + 1 - rule.of) : i + 1]
            if len(window) >= rule.at_least and _fires(rule, window):
                found.append(Mark(i, rule.key, rule.text))
    return tuple(found)


def _fires(rule: RunsRule, window: Sequence[float]) -> bool:
    if rule.kind == "trend":
        steps = [b - a for a, b in pairwise(window)]
        return len(window) == rule.of and (all(s > 0 for s in steps) or all(s < 0 for s in steps))
    # The last point must be one of those beyond, or an old run would be marked again.
    return any(
        side * window[-1] > rule.beyond_sd and sum(side * x > rule.beyond_sd for x in window) >= rule.at_least
        for side in (1, -1)
    )


@dataclass(frozen=True, slots=True)
class Alarm:
    """A change that is hardly chance. kind: drift or jump; index: cast at which it was first told, from 0;
    p: chance of such a sight without a change; per_cast: drift per cast in L*, a*, b* (jump: its size)."""

    kind: Literal["drift", "jump"]
    index: int
    p: float
    per_cast: Vector
    words: str


def alarms(rows: Sequence[Vector], *, sd: Vector | None = None, sd_df: float = 0.0) -> tuple[Alarm, ...]:
    """Drifts and jumps of a series, looked for at each cast as it comes; the first of each kind.

    rows: mean L*, a*, b* of each cast, by order. sd: between casts without a change, from earlier
    editions or repeats; sd_df: its degrees of freedom (0: taken as known). Where sd is left out it
    is estimated from the series itself, and only a drift can be told.
    Drift: slopes of the three components together against their error, χ² (known sd) or F.
    Jump: the newest cast against the mean of those before, known sd only.
    Each look has a share of the risk so that the first six casts together raise a false alarm in
    5 % of series at most. Raises BadQuantity for a spread of zero. Source: [CALC]; tuned and tested
    by simulation.
    """
    if sd is not None and min(sd) <= 0:
        raise BadQuantity("A spread of zero cannot judge a series.", "Give the spread between casts above zero.")
    found: list[Alarm] = []
    first = int(constant("drift_first_cast"))
    for n in range(2, len(rows) + 1):
        seen = {a.kind for a in found}
        if "drift" not in seen and n >= first:
            p, slopes = _drift_p(rows[:n], sd, sd_df)
            if p < _risk("drift", n):
                found.append(_drift(n - 1, p, slopes))
        if "jump" not in seen and sd is not None:
            p, step = _jump_p(rows[:n], sd, sd_df)
            if p < _risk("jump", n):
                found.append(_jump(n - 1, p, step))
    return tuple(found)


def _risk(kind: str, n: int) -> float:
    """The share of the risk that one look has: even over the planned casts, then falling so that the sum stays."""
    first = constant("drift_first_cast") if kind == "drift" else 2
    looks = constant("planned_casts") - first + 1
    risk = constant(f"{kind}_risk_pct") / 100 / looks
    beyond = n - constant("planned_casts")
    return risk if beyond <= 0 else risk / (1 + beyond)


def _drift_p(rows: Sequence[Vector], sd: Vector | None, sd_df: float) -> tuple[float, Vector]:
    n = len(rows)
    middle = (n - 1) / 2
    spread_x = sum((i - middle) ** 2 for i in range(n))
    slopes, residual = [], 0.0
    for c in range(3):
        column = [row[c] for row in rows]
        mean = math.fsum(column) / n
        slope = sum((i - middle) * (v - mean) for i, v in enumerate(column)) / spread_x
        slopes.append(slope)
        residual += sum((v - mean - slope * (i - middle)) ** 2 for i, v in enumerate(column))
    vector = (slopes[0], slopes[1], slopes[2])
    if sd is not None:
        statistic = sum((s / d) ** 2 for s, d in zip(slopes, sd, strict=True)) * spread_x
        return _p(statistic, sd_df), vector
    df = 3 * (n - 2)
    if residual == 0:
        return (0.0 if any(slopes) else 1.0), vector
    return _p(sum(s * s for s in slopes) * spread_x / (residual / df), df), vector


def _jump_p(rows: Sequence[Vector], sd: Vector, sd_df: float) -> tuple[float, Vector]:
    before, last = rows[:-1], rows[-1]
    m = len(before)
    step = [last[c] - math.fsum(row[c] for row in before) / m for c in range(3)]
    statistic = sum((s / d) ** 2 for s, d in zip(step, sd, strict=True)) / (1 + 1 / m)
    return _p(statistic, sd_df), (step[0], step[1], step[2])


def _p(statistic: float, df: float) -> float:
    """Chance of a sum of three squares so large: χ² for a known spread (df 0), else F."""
    from scipy.special import chdtrc, fdtrc

    return float(chdtrc(3, statistic) if df == 0 else fdtrc(3, df, statistic / 3))


def _told(step: Vector) -> str:
    return ", ".join(f"{name} {value:+.2f}" for name, value in zip(COMPONENTS, step, strict=True))


def _by_chance(p: float) -> str:
    return (
        "chance would hardly show it (below 0.01 %)" if p < 1e-4 else f"chance alone would show it in {100 * p:.2g} %"
    )


def _drift(index: int, p: float, slopes: Vector) -> Alarm:
    size = math.sqrt(sum(s * s for s in slopes))
    words = f"Drift told at cast {index + 1}: {size:.2f} a cast ({_told(slopes)}); {_by_chance(p)}."
    return Alarm("drift", index, p, slopes, words)


def _jump(index: int, p: float, step: Vector) -> Alarm:
    size = math.sqrt(sum(s * s for s in step))
    words = f"Cast {index + 1} jumps by {size:.1f} from those before ({_told(step)}); {_by_chance(p)}."
    return Alarm("jump", index, p, step, words)


@dataclass(frozen=True, slots=True)
class SeriesView:
    """A series as it is shown: three charts, alarms, and marks where something changed.

    labels: of the casts ("1/9"). changes: (index, what changed) where lot, batch, alloy, blast or
    hand differ from the cast before.
    """

    labels: tuple[str, ...]
    charts: tuple[Chart, Chart, Chart]
    alarms: tuple[Alarm, ...]
    changes: tuple[tuple[int, str], ...]


def look_at_series(
    labels: Sequence[str],
    rows: Sequence[Vector],
    circumstances: Sequence[dict[str, str]] = (),
    *,
    centre: Vector | None = None,
    sd: Vector | None = None,
    sd_df: float = 0.0,
) -> SeriesView:
    """The three charts of a series with alarms and changes.

    labels, rows: by cast order, two or more. circumstances: one mapping per cast (lot, batch,
    alloy, blast, hand, ...); a blank is no change. centre: the master's L*, a*, b*.
    Raises BadQuantity.
    """
    if len(labels) != len(rows) or (circumstances and len(circumstances) != len(rows)):
        raise BadQuantity("Labels, readings and circumstances do not belong together.", "Give one of each per cast.")
    one, two, three = (
        individuals_chart(
            [row[c] for row in rows],
            COMPONENTS[c],
            centre=None if centre is None else centre[c],
            sd=None if sd is None else sd[c],
        )
        for c in range(3)
    )
    return SeriesView(tuple(labels), (one, two, three), alarms(rows, sd=sd, sd_df=sd_df), changes(circumstances))


def changes(circumstances: Sequence[dict[str, str]]) -> tuple[tuple[int, str], ...]:
    """(index, "lot: A → B") for each circumstance that differs from the last one known."""
    found: list[tuple[int, str]] = []
    known: dict[str, str] = {}
    for i, facts in enumerate(circumstances):
        for key, value in facts.items():
            if value and key in known and known[key] != value:
                found.append((i, f"{key}: {known[key]} → {value}"))
            if value:
                known[key] = value
    return tuple(found)
