"""Series of casts: charts, marks, drifts, jumps, tolerance intervals and changes of circumstance."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patina.errors import BadQuantity
from patina.matching.series import alarms, changes, individuals_chart, look_at_series, marks, runs_rules
from patina.matching.tolerance import exact_factor, howe_factor, tolerance_interval
from patina.sources import bibliography

Row = tuple[float, float, float]


def _rows(values: np.ndarray) -> list[Row]:
    return [(float(a), float(b), float(c)) for a, b, c in values]


def _series(rng: np.random.Generator, sd: float, casts: int, drift: float = 0.0) -> list[Row]:
    way = rng.normal(size=3)
    way /= np.linalg.norm(way)
    return _rows(np.array([30, 8, 12]) + rng.normal(0, sd, (casts, 3)) + np.arange(casts)[:, None] * drift * way)


@pytest.mark.parametrize(("sd", "known"), [(0.5, True), (0.3, True), (0.4, False)])
def test_a_drift_of_half_a_unit_per_cast_is_told_by_cast_6(sd: float, known: bool) -> None:
    """Told by cast 6 in at least 80 % of 1000 series, with at most 5 % of alarms in series without drift.

    Spread between casts 0.5 per component where it is known from earlier editions, 0.4 where the six
    casts themselves must give it; drift in a random direction of L*a*b*.
    """
    rng = np.random.default_rng(20)
    spread = (sd, sd, sd) if known else None
    told = sum(any(a.kind == "drift" for a in alarms(_series(rng, sd, 6, 0.5), sd=spread)) for _ in range(1000))
    false = sum(bool(alarms(_series(rng, sd, 6), sd=spread)) for _ in range(1000))
    assert told >= 800
    assert false <= 50


def test_false_alarms_stay_rare_where_the_spread_is_known_from_few_casts() -> None:
    """A spread estimated with 12 degrees of freedom does not raise more false alarms."""
    rng = np.random.default_rng(21)
    false = 0
    for _ in range(1000):
        sd = 0.5 * math.sqrt(rng.chisquare(12) / 12)
        false += bool(alarms(_series(rng, 0.5, 6), sd=(sd, sd, sd), sd_df=12))
    assert false <= 60


def test_the_cast_where_a_drift_was_told_is_named() -> None:
    """An even drift is told once, with its size and direction."""
    rows = [(30 - 0.5 * i, 8.0, 12.0) for i in range(7)]
    found = alarms(rows, sd=(0.3, 0.3, 0.3))
    drift = next(a for a in found if a.kind == "drift")
    assert [a.kind for a in found].count("drift") == 1
    assert drift.per_cast == pytest.approx((-0.5, 0, 0))
    assert 3 <= drift.index <= 5
    assert "L* -0.50" in drift.words


def test_a_jump_is_told_at_the_cast_where_it_happens() -> None:
    """Five like casts and a sixth 3 units away: a jump at the sixth."""
    rows = [*[(30.0, 8.0, 12.0)] * 5, (33.0, 8.0, 12.0)]
    found = [a for a in alarms(rows, sd=(0.5, 0.5, 0.5)) if a.kind == "jump"]
    assert [a.index for a in found] == [5]


def test_three_casts_raise_no_alarm_of_drift() -> None:
    """Fewer than four casts are never called a drift."""
    assert alarms([(30, 8, 12), (29, 8, 12), (28, 8, 12)]) == ()


def test_a_spread_of_zero_judges_nothing() -> None:
    """Zero spread would make an alarm of everything: refused."""
    with pytest.raises(BadQuantity):
        alarms([(30, 8, 12)] * 5, sd=(0, 1, 1))


@pytest.mark.parametrize(
    ("z", "rule"),
    [
        ([0, 0, 3.1], "beyond_three"),
        ([2.1, 0, 2.2], "two_of_three"),
        ([1.1, 1.2, 0, 1.3, 1.1], "four_of_five"),
        ([0.1] * 8, "eight_a_side"),
        ([-0.5, -0.3, -0.1, 0.1, 0.3, 0.5], "six_trend"),
    ],
)
def test_each_runs_rule_marks_its_own_pattern(z: list[float], rule: str) -> None:
    """The last point of the smallest pattern is marked, and its mirror image (Western Electric 1956, Nelson 1984)."""
    for side in (1, -1):
        found = [m.rule for m in marks([side * x for x in z], 0, 1) if m.index == len(z) - 1]
        assert rule in found


@pytest.mark.parametrize(
    "z", [[0, 0, 2.9], [2.1, 0, -2.2], [1.1, 1.2, 0, 0, 1.1], [0.1] * 7, [0, 1, 0.5, 1.5, 1.0, 1.9]]
)
def test_less_than_a_pattern_is_not_marked(z: list[float]) -> None:
    """One point too few, or on different sides, is no pattern."""
    assert not [m for m in marks(z, 0, 1) if m.index == len(z) - 1]


def test_rules_name_known_sources() -> None:
    """Every rule's source is in the bibliography."""
    assert {rule.source for rule in runs_rules()} <= bibliography().keys()


def test_limits_from_few_casts_are_called_provisional() -> None:
    """Below eight casts without a known spread limits are provisional; with one they are not."""
    values = [30.0, 30.4, 29.8, 30.1]
    assert individuals_chart(values).provisional
    assert not individuals_chart(values, sd=0.4).provisional
    assert not individuals_chart(values * 2).provisional


def test_known_centre_and_spread_set_the_limits() -> None:
    """With the master's value and a known spread, limits lie three standard deviations from it (2.66 × 1.128)."""
    chart = individuals_chart([31.0, 31.2, 30.9], centre=30.0, sd=0.5)
    assert chart.centre == 30.0
    assert chart.upper == pytest.approx(31.5, abs=0.001)


def test_charts_need_two_sound_values() -> None:
    """One cast, or a value that is no number, has no chart."""
    for values in ([30.0], [30.0, math.nan]):
        with pytest.raises(BadQuantity):
            individuals_chart(values)


def test_a_series_shows_charts_alarms_and_what_changed() -> None:
    """Three charts by component, and a mark where the lot changed though a cast in between is blank."""
    rows: list[Row] = [(30, 8, 12), (30.1, 8.1, 12), (29.9, 8, 12.1), (30, 7.9, 12)]
    seen = look_at_series(["1/9", "2/9", "3/9", "4/9"], rows, [{"lot": "A"}, {"lot": "A"}, {"lot": ""}, {"lot": "B"}])
    assert [c.name for c in seen.charts] == ["L*", "a*", "b*"]
    assert seen.alarms == ()
    assert seen.changes == ((3, "lot: A → B"),)
    with pytest.raises(BadQuantity):
        look_at_series(["1/9"], rows)


def test_changes_compare_with_the_last_that_is_known() -> None:
    """A blank is no change."""
    assert changes([{"hand": "A"}, {}, {"hand": "A"}]) == ()


def test_three_casts_prove_nothing() -> None:
    """Three casts 0.3 apart do not show that the next lies within 3; with a pooled spread they may."""
    alone = tolerance_interval([30.0, 30.3, 29.7], allowed_spread=4)
    pooled = tolerance_interval([30.0, 30.3, 29.7], pooled_sd=0.3, pooled_df=20, allowed_spread=4)
    assert alone.proves is False
    assert "prove nothing" in alone.words
    assert pooled.proves is True
    assert pooled.high - pooled.low < (alone.high - alone.low) / 2


def test_tolerance_intervals_hold_as_much_as_they_say() -> None:
    """Of 2000 intervals from 5 casts about 95 % hold 95 % of all casts (within 1.5 %)."""
    rng = np.random.default_rng(6)
    sample = rng.normal(0, 1, (2000, 5))
    mean, sd = sample.mean(axis=1), sample.std(axis=1, ddof=1)
    from scipy.special import ndtr

    k = exact_factor(5)
    held = ndtr(mean + k * sd) - ndtr(mean - k * sd)
    assert (held >= 0.95).mean() == pytest.approx(0.95, abs=0.015)


def test_tolerance_refuses_what_tells_nothing() -> None:
    """One cast without a pooled spread, and shares outside 0 to 1, are refused."""
    with pytest.raises(BadQuantity):
        tolerance_interval([30.0])
    assert tolerance_interval([30.0], pooled_sd=0.5, pooled_df=20).factor > howe_factor(20, df=20)
    for bad in ((1, 0.95, 0.95), (5, 1.0, 0.95), (5, 0.95, 0.0)):
        with pytest.raises(BadQuantity):
            howe_factor(*bad)
        with pytest.raises(BadQuantity):
            exact_factor(*bad)
