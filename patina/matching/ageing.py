"""Time and wax: what a reading becomes when it is cold, waxed or older.

A shift is a difference vector in L*, a*, b* learnt from pairs of readings of the same tile: before
and after waxing, warm and cold, new and old. Its spread decides how far a prediction can be trusted.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from patina.colour.difference import require_comparable
from patina.colour.values import Lab
from patina.errors import BadQuantity, Refused
from patina.matching.constants import constant
from patina.matching.verdict import student_t

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Shift:
    """A learnt shift. of: what it is ("wax", "cooling"). vector: mean change of L*, a*, b*. sd: spread of single
    changes, None with fewer than two pairs. pairs: how many."""

    of: str
    vector: Vector
    sd: Vector | None
    pairs: int

    @property
    def words(self) -> str:
        """The shift as a person reads it."""
        listed = ", ".join(f"{n} {v:+.1f}" for n, v in zip(("L*", "a*", "b*"), self.vector, strict=True))
        spread = "spread not known" if self.sd is None else "spread " + ", ".join(f"{s:.1f}" for s in self.sd)
        return f"{self.of}: {listed} ({self.pairs} pairs; {spread})"


def learn_shift(pairs: Sequence[tuple[Lab, Lab]], of: str) -> Shift:
    """The shift from pairs (before, after) of the same tiles.

    Raises Refused without pairs, NotComparable where illuminants differ.
    """
    if not pairs:
        raise Refused(f"No pair of readings shows the {of} shift.", "Read tiles before and after.", title="No data")
    for before, after in pairs:
        require_comparable(pairs[0][0], before)
        require_comparable(before, after)
    columns = [(a.L - b.L, a.a - b.a, a.b - b.b) for b, a in pairs]
    mean = _columnwise(columns, statistics.fmean)
    sd = _columnwise(columns, statistics.stdev) if len(pairs) > 1 else None
    return Shift(of, mean, sd, len(pairs))


def _columnwise(rows: Sequence[Vector], function) -> Vector:  # type: ignore[no-untyped-def]
    one, two, three = (function([row[c] for row in rows]) for c in range(3))
    return one, two, three


@dataclass(frozen=True, slots=True)
class Prediction:
    """A predicted colour. lab: best value. half_width: 95 % half-widths in L*, a*, b*; None where the
    spread is not known. words: how it came about."""

    lab: Lab
    half_width: Vector | None
    words: str


def predict(reading: Lab, shifts: Sequence[Shift], *, reading_sd: Vector = (0.0, 0.0, 0.0)) -> Prediction:
    """What a reading becomes after shifts, one after the other (cooling, then wax).

    reading_sd: standard uncertainty of the reading in L*, a*, b*. The interval is for one more piece:
    spread of single changes and doubt of their mean. Where the spread of one shift is unknown, so
    is that of the prediction.
    """
    values = [reading.L, reading.a, reading.b]
    squares: list[float] | None = [0.0, 0.0, 0.0]
    for shift in shifts:
        for c in range(3):
            values[c] += shift.vector[c]
        if shift.sd is None or squares is None:
            squares = None
        else:
            factor = student_t(shift.pairs - 1)
            squares = [q + (factor * s) ** 2 * (1 + 1 / shift.pairs) for q, s in zip(squares, shift.sd, strict=True)]
    lab = Lab(values[0], values[1], values[2], reading.illuminant, reading.observer)
    told = "; ".join(s.words for s in shifts) or "as read"
    if squares is None:
        return Prediction(lab, None, f"{told}. How far it may be off is not known: read more pairs.")
    k = constant("coverage_factor")
    half = [math.sqrt(q + (k * s) ** 2) for q, s in zip(squares, reading_sd, strict=True)]
    return Prediction(lab, (half[0], half[1], half[2]), f"{told}.")


@dataclass(frozen=True, slots=True)
class Aged:
    """A twin's reading at an age. twin: which tile; days: since delivery, 0 for as delivered; lab."""

    twin: str
    days: float
    lab: Lab


@dataclass(frozen=True, slots=True)
class Course:
    """A fitted course of ageing: shift(t) = amount × (1 − exp(−t / time)).

    amount: final change of L*, a*, b*. time_days: after which 63 % of it is done. low_days,
    high_days: 95 % range of that time from the fit. sd: residual spread of a reading about the
    course. covariance: of the amounts, per component, for the best time. longest_days: oldest
    reading it rests on. readings, twins: how many. profile: times with their weight (relative
    likelihood) and amounts, over which intervals are taken.
    """

    amount: Vector
    time_days: float
    low_days: float
    high_days: float
    sd: Vector
    longest_days: float
    readings: int
    twins: int
    profile: tuple[tuple[float, float, Vector, float], ...]

    @property
    def rests_on(self) -> str:
        """How many readings of how many twins, in words."""
        return f"{self.readings} readings of {'one twin' if self.twins == 1 else f'{self.twins} twins'}"

    def shift(self, days: float) -> Vector:
        """Mean change of L*, a*, b* after so many days."""
        done = 1 - math.exp(-days / self.time_days)
        return self.amount[0] * done, self.amount[1] * done, self.amount[2] * done

    def spread(self, days: float) -> Vector:
        """Standard uncertainty of the mean change after so many days, over all times that fit."""
        total = sum(weight for _, weight, _, _ in self.profile)
        best = self.shift(days)
        found = []
        for c in range(3):
            square = 0.0
            for time, weight, amount, variance in self.profile:
                done = 1 - math.exp(-days / time)
                square += weight * ((amount[c] * done - best[c]) ** 2 + variance * (self.sd[c] * done) ** 2)
            found.append(math.sqrt(square / total))
        return found[0], found[1], found[2]


def fit_ageing(readings: Sequence[Aged]) -> Course:
    """The course of ageing of a finish in one place (dark, shelf or outdoors) from twin tiles.

    readings: of one or more twins, each with one at 0 days; three different later ages or more in
    all. Differences from each twin's own start are fitted; all components share one time.
    Raises Refused where that is not there, BadQuantity for negative ages, NotComparable.
    Source: first-order approach to a final state, common practice; [CALC].
    """
    import numpy as np

    days, moved, twins = _moves(readings)
    t, y = np.array(days), np.array(moved)
    n = len(t)
    df = max(1, n - 2)
    times = np.geomspace(max(0.3, t.min() / 5), t.max() * 5, 120)
    # A coarse look over all times, then a fine one where they fit at all.
    for _ in range(2):
        fits = [_fit(float(time), t, y) for time in times]
        # Profile likelihood: each component has its own unknown scatter, not below 0.05.
        floor = 0.05**2 * n
        misfit = np.array([float(np.log(np.maximum(f[2], floor)).sum()) for f in fits])
        likelihood = np.exp(-0.5 * df * (misfit - misfit.min()))
        kept = np.flatnonzero(likelihood > 1e-4)
        inside = times[likelihood > math.exp(-0.5 * student_t(df) ** 2)]
        low, high = times[max(0, kept[0] - 1)], times[min(len(times) - 1, kept[-1] + 1)]
        last, times = times, np.geomspace(low, high, 120)
    best = int(misfit.argmin())
    sd = np.sqrt(np.maximum(fits[best][2], floor) / df)
    profile = tuple(
        (time, float(w), _three(amount), variance)
        for (time, amount, _, variance), w in zip(fits, likelihood, strict=True)
        if w > 1e-4
    )
    return Course(
        _three(fits[best][1]),
        float(last[best]),
        float(inside.min()),
        float(inside.max()),
        _three(sd),
        float(t.max()),
        n,
        twins,
        profile,
    )


def _fit(time: float, t, y):  # type: ignore[no-untyped-def]
    """Amounts by least squares for one time: (time, amounts, residual squares, variance factor of an amount)."""
    import numpy as np

    done = 1 - np.exp(-t / time)
    norm = float(done @ done)
    amount = done @ y / norm
    return time, amount, ((y - np.outer(done, amount)) ** 2).sum(axis=0), 1 / norm


def _three(values) -> Vector:  # type: ignore[no-untyped-def]
    return float(values[0]), float(values[1]), float(values[2])


def _moves(readings: Sequence[Aged]) -> tuple[list[float], list[Vector], int]:
    starts = {r.twin: r.lab for r in readings if r.days == 0}
    days: list[float] = []
    moved: list[Vector] = []
    for r in readings:
        if not math.isfinite(r.days) or r.days < 0:
            raise BadQuantity(f"An age of {r.days:g} days cannot be.", "Count days from delivery.", field="days")
        if r.twin in starts and r.days > 0:
            start = starts[r.twin]
            require_comparable(start, r.lab)
            days.append(r.days)
            moved.append((r.lab.L - start.L, r.lab.a - start.a, r.lab.b - start.b))
    fewest = int(constant("ageing_fewest_times"))
    if len(set(days)) < fewest:
        raise Refused(
            f"{len(set(days))} ages after delivery have been read, {fewest} are needed.",
            "Read the twins at 24 h, 7 and 30 days, 6 and 12 months, then yearly.",
            title="Ageing is not known yet",
        )
    return days, moved, len({r.twin for r in readings if r.days > 0 and r.twin in starts})


def as_delivered(today: Lab, days: float, course: Course, *, reading_sd: Vector = (0.0, 0.0, 0.0)) -> Prediction:
    """What a piece was when it was delivered, from a reading so many days later.

    reading_sd: standard uncertainty of the reading. The half-widths are 95 %; beyond the oldest twin
    they are widened in proportion, since the course is not known there. Raises BadQuantity.
    """
    if not math.isfinite(days) or days < 0:
        raise BadQuantity(f"An age of {days:g} days cannot be.", "Count days from delivery.", field="days")
    shift = course.shift(days)
    lab = Lab(today.L - shift[0], today.a - shift[1], today.b - shift[2], today.illuminant, today.observer)
    beyond = max(1.0, days / course.longest_days)
    factor = student_t(max(1, course.readings - 2))
    half = [
        beyond * math.sqrt((factor * s) ** 2 + (factor * p) ** 2 + (constant("coverage_factor") * r) ** 2)
        for s, p, r in zip(course.sd, course.spread(days), reading_sd, strict=True)
    ]
    words = (
        f"{days:.0f} days taken back by {', '.join(f'{-v:+.1f}' for v in shift)} in L*, a*, b*, "
        f"from {course.rests_on} up to {course.longest_days:.0f} days."
    )
    if beyond > 1:
        words += " The piece is older than the twins: the interval is widened."
    return Prediction(lab, (half[0], half[1], half[2]), words)
