"""How far the pot will go, and what a house learns of its own use.

Use is counted as mL taken from the pot per m² of plain area and pass: coverage × texture / transfer
in one figure. It is what a person at the torch can see, and what the next job needs.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from patina.errors import BadQuantity, Refused
from patina.surface.area import positive


def student_t(df: float, confidence: float = 0.95) -> float:
    """Two-sided Student factor for df degrees of freedom (1 or more). confidence: 0.5 to 0.999."""
    from scipy.special import stdtrit  # lighter than scipy.stats

    return float(stdtrit(df, 0.5 + confidence / 2))


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of work done. area_m2: plain area; passes: over it; used_ml: taken from the pot; zone: its name."""

    area_m2: float
    passes: float
    used_ml: float
    zone: str = ""

    @property
    def work_m2(self) -> float:
        """Area times passes, in m²."""
        return self.area_m2 * self.passes

    @property
    def use_ml_m2(self) -> float:
        """mL per m² and pass."""
        return self.used_ml / self.work_m2


@dataclass(frozen=True, slots=True)
class ToDo:
    """Work ahead, in the order of working. zone: its name (a seam ends it); area_m2: plain; passes: to go."""

    zone: str
    area_m2: float
    passes: float


@dataclass(frozen=True, slots=True)
class Learnt:
    """What use has been.

    mean: mL per m² and pass (or a plain ratio for texture and transfer). low, high: where the next
    job will lie, 95 %, None with fewer than two jobs. spread_pct: standard deviation between jobs in
    %, None with fewer than two. jobs: how many. words: with "no data" where there is none.
    """

    mean: float | None
    low: float | None
    high: float | None
    spread_pct: float | None
    jobs: int
    words: str


def learn(values: Sequence[float], what: str = "use", unit: str = "mL/m² and pass") -> Learnt:
    """The figure to start from next time, from the figures of past jobs, with its spread.

    values: one per job, above zero; taken on a logarithmic scale, since use varies by factors.
    Raises BadQuantity for a value that is not above zero. Source: [GUM]; prediction interval for one
    more job from Student's t [CALC].
    """
    for value in values:
        positive(value, f"A past {what}", unit, most=1e6)
    n = len(values)
    if n == 0:
        return Learnt(None, None, None, None, 0, f"No data on {what} yet.")
    logs = [math.log(v) for v in values]
    middle = math.exp(statistics.fmean(logs))
    if n == 1:
        return Learnt(middle, None, None, None, 1, f"{what} {_three(middle)} {unit} from one job: no spread known.")
    sd = statistics.stdev(logs)
    reach = student_t(n - 1) * sd * math.sqrt(1 + 1 / n)
    low, high = middle * math.exp(-reach), middle * math.exp(reach)
    pct = 100 * (math.exp(sd) - 1)
    words = (
        f"{what} {_three(middle)} {unit} from {n} jobs, spread {pct:.0f} %; "
        f"the next will lie between {_three(low)} and {_three(high)}."
    )
    return Learnt(middle, low, high, pct, n, words)


def _three(value: float) -> str:
    """Three figures, never a power of ten."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def texture_learnt(used_ml: float, area_m2: float, coverage_ml_m2: float, passes: float, transfer: float) -> float:
    """The texture factor that makes planned and used agree: used / (area × coverage × passes / transfer).

    used_ml in mL, area_m2 in m², coverage_ml_m2 delivered per pass in mL/m², transfer 0 to 1.
    It takes in every error of coverage and transfer: a fitted factor, not a property of the metal.
    Raises BadQuantity.

    >>> round(texture_learnt(1214.4, 2.3, 40, 6, 0.5), 2)
    1.1
    """
    positive(used_ml, "The volume used", "mL", most=1e7)
    positive(transfer, "The transfer", "", most=1)
    plain = positive(area_m2, "The area", "m2", most=1e5) * positive(coverage_ml_m2, "The coverage", "mL/m2", most=2000)
    return used_ml * transfer / (plain * positive(passes, "The passes", "", most=1000))


# Pot and brush are not weighed better than this, as share of a stretch's use (common practice).
_LEAST_SCATTER = 0.03
# A forecast that may be off by more than this factor is not given as one.
_WIDEST = 3.0

Outlook = Literal["lasts", "may run out", "runs out", "cannot be told"]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Whether the pot will last.

    outlook: "lasts" (95 % interval inside what is left), "may run out", "runs out" (outside), or
    "cannot be told" (then the figures may be None). needed_ml, low_ml, high_ml: for the work ahead,
    95 % interval. left_ml: in the pot, dead volume taken off. use_ml_m2: mL per m² and pass.
    stop_after: last zone that is safely
    done with what is left (None: not even the first, or it lasts). words: what to do.
    """

    outlook: Outlook
    needed_ml: float | None
    low_ml: float | None
    high_ml: float | None
    left_ml: float
    use_ml_m2: float | None
    stop_after: str | None
    words: str


def run_out(
    done: Sequence[Stretch],
    ahead: Sequence[ToDo],
    left_ml: float,
    *,
    dead_ml: float = 0.0,
    before: Learnt | None = None,
    area_spread_pct: float = 0.0,
) -> Forecast:
    """Forecast from what the pass so far has taken.

    done: stretches of this job. left_ml: in the pot now; dead_ml: of it what brush and pot keep.
    before: what earlier jobs have taught; it steadies the forecast while little is done and is all
    there is before the first stretch. area_spread_pct: standard uncertainty of the areas ahead.
    Raises BadQuantity for amounts below zero, Refused where nothing is ahead.
    Source: ratio estimate with Student's t, combined with earlier jobs by their variances [GUM].
    """
    for value, what in ((left_ml, "left"), (dead_ml, "dead")):
        if not math.isfinite(value) or value < 0:
            raise BadQuantity(f"A volume of {value:g} mL {what} cannot be.", "Give it as 0 or more.", field=what)
    work = [t.area_m2 * t.passes for t in ahead]
    total = sum(work)
    if total <= 0:
        raise Refused("No work is ahead.", "Name the zones and passes still to do.")
    usable = max(0.0, left_ml - dead_ml)
    rate = _rate(done, before, total)
    if rate is None:
        words = "Cannot be told yet: two stretches with mL used, or earlier jobs, are needed."
        return Forecast("cannot be told", None, None, None, usable, None, None, words)
    use, reach = rate
    area = 2 * area_spread_pct / 100
    reach = math.hypot(reach, area)
    needed, low, high = use * total, use * total * math.exp(-reach), use * total * math.exp(reach)
    if reach > math.log(_WIDEST):
        words = (
            f"Cannot be told yet: {use:.0f} mL per m² and pass so far, but the stretches differ so much that "
            f"{low:.0f} to {high:.0f} mL may be needed. Do another stretch and look again."
        )
        return Forecast("cannot be told", needed, low, high, usable, use, None, words)
    if high <= usable:
        outlook: Outlook = "lasts"
    elif low > usable:
        outlook = "runs out"
    else:
        outlook = "may run out"
    stop = None if outlook == "lasts" else _seam(ahead, work, use * math.exp(reach), usable)
    return Forecast(outlook, needed, low, high, usable, use, stop, _say(outlook, needed, low, high, usable, use, stop))


def _rate(done: Sequence[Stretch], before: Learnt | None, ahead_m2: float) -> tuple[float, float] | None:
    """Use in mL per m² and pass for the work ahead, with its 95 % reach on the logarithmic scale, or None."""
    stretches = [s for s in done if s.work_m2 > 0 and s.used_ml > 0]
    prior = _from_learnt(before)
    if len(stretches) < 2:
        return None if prior is None else (math.exp(prior[0]), 2 * math.sqrt(prior[1]))
    middle, known, coming = _from_stretches(stretches, ahead_m2)
    if prior is not None:
        joined = 1 / (1 / known + 1 / prior[1])
        middle, known = joined * (middle / known + prior[0] / prior[1]), joined
    return math.exp(middle), 2 * math.sqrt(known + coming)


def _from_stretches(stretches: Sequence[Stretch], ahead_m2: float) -> tuple[float, float, float]:
    """Log use of the whole so far; how well that is known; how the work ahead scatters about it.

    Both are variances, widened by Student's factor, since a scatter from few stretches is poorly known.
    """
    weights = [s.work_m2 for s in stretches]
    work, squares, n = sum(weights), sum(w * w for w in weights), len(stretches)
    use = math.log(sum(s.used_ml for s in stretches) / work)
    about = sum(w * (math.log(s.use_ml_m2) - use) ** 2 for w, s in zip(weights, stretches, strict=True))
    scatter = max(about / (work - squares / work), _LEAST_SCATTER**2)
    wider = (student_t(n - 1) / 2) ** 2
    alike = work**2 / squares
    # Work ahead counts as stretches of the usual size, at least one.
    to_come = max(1.0, ahead_m2 / (work / n))
    return use, wider * scatter / alike, wider * scatter / to_come


def _from_learnt(before: Learnt | None) -> tuple[float, float] | None:
    """Log use of earlier jobs and the variance with which this job's own use lies about it."""
    if before is None or before.mean is None:
        return None
    if before.high is None:
        # One earlier job tells a size but no spread: half to double.
        return math.log(before.mean), (math.log(2) / 2) ** 2
    reach = max(math.log(before.high / before.mean), 0.04)
    return math.log(before.mean), (reach / 2) ** 2


def _seam(ahead: Sequence[ToDo], work: Sequence[float], worst_use: float, usable: float) -> str | None:
    stop, spent = None, 0.0
    for zone, amount in zip(ahead, work, strict=True):
        spent += amount * worst_use
        if spent > usable:
            break
        stop = zone.zone
    return stop


def _say(outlook: str, needed: float, low: float, high: float, usable: float, use: float, stop: str | None) -> str:
    sums = (
        f"{use:.0f} mL per m² and pass so far; {needed:.0f} mL needed ({low:.0f} to {high:.0f}), {usable:.0f} mL left."
    )
    if outlook == "lasts":
        return f"It will last: {sums}"
    where = f"stop at the seam after '{stop}'" if stop else "do not begin the next zone with this pot"
    head = "It will not last" if outlook == "runs out" else "It may not last"
    return f"{head}: {sums} Mix more from the same lots now, or {where}."
