"""Pass, fail or cannot be told: a difference is judged together with its doubt.

A piece passes only if difference plus expanded uncertainty lies inside the limit, and fails only if
the difference less its uncertainty lies outside. Between the two nothing is claimed, and it is said
what would decide. Source: guard bands of [JCGM106] and [ISO14253].

A difference is never negative: two identical pieces read with scatter seem apart by the sampling
part. It is shown, and before a piece is failed it is taken off (as squares).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.errors import BadQuantity
from patina.matching.constants import constant, difference_in_words
from patina.matching.master import Tolerance, ZoneTarget

Outcome = Literal["pass", "fail", "cannot be told"]
Vector = tuple[float, float, float]
_MOST_READINGS = 400


def student_t(df: float) -> float:
    """Two-sided 95 % factor of Student's t. df: above 0; the coefficient 2 for none at all or very many."""
    if df <= 0 or df > 1e6:
        return constant("coverage_factor")
    from scipy.special import stdtrit

    return float(stdtrit(df, 0.975))


def sampling_part(sd: Vector, n: int, m: int | None = None) -> float:
    """What two identical pieces seem apart by sampling alone: the expected CIE 1976 difference.

    sd: spread of single readings in L*, a*, b* (or L*, C*, H*). n, m: readings on the two pieces
    (m: as n where left out). Exact for equal spreads, else by matching two moments
    (Source: [SATTERTHWAITE1946]). Raises BadQuantity.

    >>> round(sampling_part((1, 1, 1), 1), 1)
    2.3
    """
    if n < 1 or (m is not None and m < 1):
        raise BadQuantity("A piece needs one reading at least.", "Give the number of readings on each piece.")
    shares = [s * s * (1 / n + 1 / (m or n)) for s in sd]
    mean, variance = sum(shares), 2 * sum(v * v for v in shares)
    if mean == 0:
        return 0.0
    shape, scale = mean * mean / variance, variance / mean
    return math.sqrt(scale) * math.exp(math.lgamma(shape + 0.5) - math.lgamma(shape))


def readings_for(half_width: float, sd: float) -> int:
    """Readings that tell a mean within ± half_width at 95 %, for a known spread sd.

    >>> [readings_for(0.5, s) for s in (0.5, 1, 1.5, 2)]
    [4, 16, 35, 62]
    """
    if half_width <= 0 or sd < 0:
        raise BadQuantity("Half-width and spread must be above zero.", "Give both in the same unit.")
    return max(1, math.ceil((1.959963985 * sd / half_width) ** 2))


def judge(difference: float, expanded: float, limit: float, *, sampling: float = 0.0) -> Outcome:
    """The verdict on one difference.

    difference: 0 or more, as measured. expanded: its expanded (95 %) uncertainty. limit: above zero.
    sampling: what identical pieces would seem apart (root mean square), taken off before failing.

    >>> judge(1.2, 0.5, 2), judge(1.8, 0.5, 2), judge(2.9, 0.5, 2)
    ('pass', 'cannot be told', 'fail')
    """
    if not (difference >= 0 and expanded >= 0 and limit > 0):
        raise BadQuantity("Difference and uncertainty must be 0 or more, the limit above zero.", "Correct the values.")
    if difference + expanded <= limit:
        return "pass"
    if math.sqrt(max(0.0, difference**2 - sampling**2)) - expanded > limit:
        return "fail"
    return "cannot be told"


def chance_inside(difference: float, expanded: float, limit: float) -> float:
    """Chance that the true difference is inside the limit, 0 to 1, taken as normal. Source: [JCGM106]."""
    if expanded == 0:
        return 1.0 if difference <= limit else 0.0
    return statistics.NormalDist().cdf((limit - difference) / (expanded / constant("coverage_factor")))


@dataclass(frozen=True, slots=True)
class Finding:
    """One component judged. of: "ΔE", "ΔL*", "ΔC*", "ΔH*", "light limit" or "dark limit".

    value: signed for ΔL*, ΔC*, ΔH* (piece minus master); for a limit tile how far beyond it in L*,
    negative inside. expanded: uncertainty (95 %). limit: 0 for a limit tile.

    more: readings on the piece (in all) that would decide; None: no number would, or it is decided.
    """

    of: str
    value: float
    expanded: float
    limit: float
    outcome: Outcome
    more: int | None = None


@dataclass(frozen=True, slots=True)
class ZoneVerdict:
    """A zone of a piece against its master.

    outcome: pass where all findings pass, fail where one fails. findings: ΔE first, then each agreed
    component. sampling: expected difference from sampling alone. chance: that ΔE is truly inside.
    words: for a person; remedy: what would decide, or empty.
    """

    zone: str
    outcome: Outcome
    findings: tuple[Finding, ...]
    sampling: float
    chance: float
    words: str
    remedy: str


def judge_zone(
    target: ZoneTarget,
    readings: Sequence[Lab],
    tolerance: Tolerance,
    *,
    fixed_u: float = 0.0,
    usual_sd: Vector | None = None,
    usual_df: int = 30,
) -> ZoneVerdict:
    """A zone judged from its readings.

    readings: of the piece, one or more spots. fixed_u: expanded uncertainty in delta E of instrument
    or camera correction, which more readings do not lessen. usual_sd: spread of single readings in
    L*, a*, b* known from many pieces (usual_df: its degrees of freedom); needed with fewer than two
    readings, used in place of their own spread where given.
    Raises BadQuantity without readings, NotComparable for other illuminants.
    Source: [JCGM106], [GUM]; degrees of freedom [SATTERTHWAITE1946].
    """
    if not readings:
        raise BadQuantity("There is no reading of this zone.", "Read it, five spots or more.", field="readings")
    if len(readings) == 1 and usual_sd is None:
        return _unknown_spread(target, readings[0], tolerance)
    mean = _mean(readings)
    found = compare(target.lab, mean, tolerance.formula)
    fixed = math.hypot(fixed_u, target.fixed_u)
    spread = _Spread(target, readings, mean, usual_sd, usual_df)
    gradient = _gradient(target.lab, mean, tolerance.formula)
    sampling_rms = spread.rms(gradient)
    findings = [
        _finding("ΔE", found.delta_e, tolerance.delta_e, spread, _unit(gradient, mean, target.lab), fixed, sampling_rms)
    ]
    away, across = _hue_axes(target.lab, mean)
    for name, value, limit, axis, scaled in (
        ("ΔL*", found.dL, tolerance.dL, (1.0, 0.0, 0.0), gradient[0]),
        ("ΔC*", found.dC, tolerance.dC, (0.0, *away), gradient[1]),
        ("ΔH*", found.dH, tolerance.dH, (0.0, *across), gradient[2]),
    ):
        if limit is not None:
            # The fixed part is known in delta E; one unit of delta E is this much of the component.
            per_unit = 1 / max(math.hypot(*scaled), 1e-6)
            findings.append(_finding(name, value, limit, spread, axis, fixed * per_unit, 0.0))
    findings.extend(_between_limits(target, mean, spread, fixed / max(math.hypot(*gradient[0]), 1e-6)))
    return _verdict(target.zone, tuple(findings), _expected(spread, gradient))


def _between_limits(target: ZoneTarget, mean: Lab, spread: _Spread, fixed: float) -> list[Finding]:
    """Lightness against the limit tiles: how far beyond them (negative: inside), with its doubt."""
    found = []
    expanded = math.hypot(spread.expanded((1.0, 0.0, 0.0)), fixed)
    for of, tile, sign in (("light limit", target.light_limit, 1), ("dark limit", target.dark_limit, -1)):
        if tile is not None:
            beyond = sign * (mean.L - tile.L)
            outcome: Outcome = "cannot be told"
            if abs(beyond) >= expanded:
                outcome = "pass" if beyond <= 0 else "fail"
            found.append(Finding(of, beyond, expanded, 0.0, outcome))
    return found


class _Spread:
    """Variances of the mean difference along a direction, with their degrees of freedom."""

    def __init__(
        self, target: ZoneTarget, readings: Sequence[Lab], mean: Lab, usual_sd: Vector | None, usual_df: int
    ) -> None:
        self.target, self.mean = target, mean
        self.away = [(r.L - mean.L, r.a - mean.a, r.b - mean.b) for r in readings]
        self.n, self.usual_sd, self.usual_df = len(readings), usual_sd, usual_df

    def single(self, axis: Vector) -> tuple[float, float]:
        """Variance of a single reading of the piece along the axis, and its degrees of freedom."""
        if self.usual_sd is not None:
            return sum((g * s) ** 2 for g, s in zip(axis, self.usual_sd, strict=True)), self.usual_df
        projected = [sum(g * x for g, x in zip(axis, row, strict=True)) for row in self.away]
        return sum(p * p for p in projected) / (self.n - 1), self.n - 1

    def of_master(self, axis: Vector) -> tuple[float, float]:
        """Variance of the master's mean along the axis, and its degrees of freedom."""
        m = self.target.readings
        single = sum((g * s) ** 2 for g, s in zip(axis, self.target.sd, strict=True))
        return single / m, max(1, m - 1)

    def expanded(self, axis: Vector, n: int | None = None) -> float:
        """Expanded uncertainty of the difference along the axis from sampling, for n readings."""
        single, df = self.single(axis)
        n = n or self.n
        piece, (master, master_df) = single / n, self.of_master(axis)
        if self.usual_sd is None and n != self.n:
            df = n - 1
        total = piece + master
        if total == 0:
            return 0.0
        freedom = total**2 / (piece**2 / df + master**2 / master_df)
        return student_t(freedom) * math.sqrt(total)

    def rms(self, gradient: tuple[Vector, Vector, Vector]) -> float:
        """Root mean square difference between identical pieces, in delta E."""
        return math.sqrt(sum(self.single(g)[0] / self.n + self.of_master(g)[0] for g in gradient))


def _mean(readings: Sequence[Lab]) -> Lab:
    n, first = len(readings), readings[0]
    for other in readings:
        compare(first, other, "de76")
    return Lab(
        sum(r.L for r in readings) / n,
        sum(r.a for r in readings) / n,
        sum(r.b for r in readings) / n,
        first.illuminant,
        first.observer,
    )


def _hue_axes(reference: Lab, sample: Lab) -> tuple[tuple[float, float], tuple[float, float]]:
    """Unit directions of chroma and of hue in the a*b* plane, half way between two colours."""
    a, b = reference.a + sample.a, reference.b + sample.b
    size = math.hypot(a, b)
    if size < 1e-9:
        return (1.0, 0.0), (0.0, 1.0)
    return (a / size, b / size), (-b / size, a / size)


def _gradient(reference: Lab, sample: Lab, formula: str) -> tuple[Vector, Vector, Vector]:
    """Delta E per unit along lightness, chroma and hue near the two colours: three scaled axes."""
    middle = Lab(
        (reference.L + sample.L) / 2,
        (reference.a + sample.a) / 2,
        (reference.b + sample.b) / 2,
        reference.illuminant,
        reference.observer,
    )
    away, across = _hue_axes(reference, sample)
    step = 0.02
    axes: list[Vector] = []
    for axis in ((1.0, 0.0, 0.0), (0.0, *away), (0.0, *across)):
        near, far = (
            Lab(
                middle.L + s * axis[0],
                middle.a + s * axis[1],
                middle.b + s * axis[2],
                middle.illuminant,
                middle.observer,
            )
            for s in (-step / 2, step / 2)
        )
        scale = compare(near, far, formula).delta_e / step
        axes.append((scale * axis[0], scale * axis[1], scale * axis[2]))
    return axes[0], axes[1], axes[2]


def _unit(gradient: tuple[Vector, Vector, Vector], sample: Lab, reference: Lab) -> Vector:
    """The direction along which scatter changes delta E; where there is no difference, the worst of the three."""
    d = (sample.L - reference.L, sample.a - reference.a, sample.b - reference.b)
    parts = [sum(g * x for g, x in zip(axis, d, strict=True)) for axis in gradient]
    size = math.sqrt(sum(p * p for p in parts))
    if size < 1e-9:
        return max(gradient, key=lambda axis: sum(g * g for g in axis))
    mixed = [sum(p / size * axis[i] for p, axis in zip(parts, gradient, strict=True)) for i in range(3)]
    return mixed[0], mixed[1], mixed[2]


def _expected(spread: _Spread, gradient: tuple[Vector, Vector, Vector]) -> float:
    """Expected delta E of two identical pieces, from the three scaled variances."""
    variances = [spread.single(g)[0] / spread.n + spread.of_master(g)[0] for g in gradient]
    return sampling_part((math.sqrt(variances[0]), math.sqrt(variances[1]), math.sqrt(variances[2])), 2)


def _finding(
    of: str, value: float, limit: float, spread: _Spread, axis: Vector, fixed: float, sampling: float
) -> Finding:
    expanded = math.hypot(spread.expanded(axis), fixed)
    outcome = judge(abs(value), expanded, limit, sampling=sampling)
    more = _more(abs(value), limit, spread, axis, fixed) if outcome == "cannot be told" else None
    return Finding(of, value, expanded, limit, outcome, more)


def _more(value: float, limit: float, spread: _Spread, axis: Vector, fixed: float) -> int | None:
    """Readings in all that would decide if the difference stays what it seems; None where no number would."""
    gap = abs(limit - value)
    if math.hypot(spread.expanded(axis, _MOST_READINGS), fixed) > gap:
        return None
    low, high = spread.n, _MOST_READINGS
    while low < high:
        middle = (low + high) // 2
        if math.hypot(spread.expanded(axis, middle), fixed) <= gap:
            high = middle
        else:
            low = middle + 1
    return max(low, spread.n + 1)


def _verdict(zone: str, findings: tuple[Finding, ...], sampling: float) -> ZoneVerdict:
    outcomes = {f.outcome for f in findings}
    outcome: Outcome = "fail" if "fail" in outcomes else "cannot be told" if "cannot be told" in outcomes else "pass"
    first = findings[0]
    listed = "; ".join(f"{f.of} {f.value:+.2f} ± {f.expanded:.2f} (limit {f.limit:g}): {f.outcome}" for f in findings)
    words = (
        f"{zone}: {outcome}. {listed}. "
        f"A difference of {abs(first.value):.1f} is {difference_in_words(abs(first.value))}; "
        f"sampling alone would show {sampling:.1f} between identical pieces."
    )
    return ZoneVerdict(
        zone,
        outcome,
        findings,
        sampling,
        chance_inside(abs(first.value), first.expanded, first.limit),
        words,
        _remedy(outcome, findings),
    )


def _remedy(outcome: Outcome, findings: tuple[Finding, ...]) -> str:
    if outcome != "cannot be told":
        return ""
    open_ones = [f for f in findings if f.outcome == "cannot be told"]
    if all(f.more is not None for f in open_ones):
        needed = max(f.more or 0 for f in open_ones)
        return f"About {needed} readings of this zone in all would decide, if the difference stays what it seems."
    stuck = ", ".join(f.of for f in open_ones if f.more is None)
    return (
        f"More readings of the piece will not decide {stuck}: read the master again too, use an instrument of smaller "
        "error, or judge by eye beside the limit tiles under the agreed light."
    )


def _unknown_spread(target: ZoneTarget, reading: Lab, tolerance: Tolerance) -> ZoneVerdict:
    found = compare(target.lab, reading, tolerance.formula)
    finding = Finding("ΔE", found.delta_e, math.inf, tolerance.delta_e, "cannot be told", 3)
    return ZoneVerdict(
        target.zone,
        "cannot be told",
        (finding,),
        math.inf,
        0.5,
        f"{target.zone}: cannot be told. One reading of ΔE {found.delta_e:.2f}; its spread is not known.",
        "Take three readings or more on different spots of this zone.",
    )
