"""Wax, cooling and time: shifts with their spread, and a piece as it was delivered."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patina.colour.values import Lab
from patina.errors import BadQuantity, NotComparable, Refused
from patina.matching.ageing import Aged, as_delivered, fit_ageing, learn_shift, predict


def _pairs(rng: np.random.Generator, n: int) -> list[tuple[Lab, Lab]]:
    pairs = []
    for _ in range(n):
        before = Lab(*rng.normal((32, 9, 14), 2))
        pairs.append((before, Lab(*(np.array(before.as_list()) + rng.normal((-4, 1, 1.5), 0.6)))))
    return pairs


def test_a_wax_shift_is_learnt_with_its_spread() -> None:
    """Mean change and spread of single changes come from the pairs."""
    shift = learn_shift([(Lab(32, 9, 14), Lab(28, 10, 15)), (Lab(30, 9, 14), Lab(27, 10, 16))], "wax")
    assert shift.vector == pytest.approx((-3.5, 1, 1.5))
    assert shift.sd is not None
    assert shift.sd[0] == pytest.approx(math.sqrt(0.5))
    assert "wax: L* -3.5" in shift.words


def test_predicted_intervals_hold_the_next_piece_as_often_as_said() -> None:
    """From 6 pairs the interval of L* holds the seventh piece in 95 % of 1500 trials (within 2 %)."""
    rng = np.random.default_rng(12)
    held = 0
    for _ in range(1500):
        pairs = _pairs(rng, 7)
        found = predict(pairs[-1][0], [learn_shift(pairs[:-1], "wax")])
        assert found.half_width is not None
        held += abs(found.lab.L - pairs[-1][1].L) <= found.half_width[0]
    assert held / 1500 == pytest.approx(0.95, abs=0.02)


def test_shifts_are_taken_one_after_the_other() -> None:
    """Cooling, then wax: the vectors add, the spreads add as squares."""
    rng = np.random.default_rng(1)
    wax, cooling = learn_shift(_pairs(rng, 8), "wax"), learn_shift(_pairs(rng, 8), "cooling")
    one, both = predict(Lab(32, 9, 14), [wax]), predict(Lab(32, 9, 14), [cooling, wax])
    assert pytest.approx(32 + wax.vector[0] + cooling.vector[0]) == both.lab.L
    assert one.half_width is not None
    assert both.half_width is not None
    assert both.half_width[0] > one.half_width[0]


def test_an_unknown_spread_stays_unknown() -> None:
    """One pair shifts the colour, but how far that may be off is not invented."""
    found = predict(Lab(32, 9, 14), [learn_shift([(Lab(32, 9, 14), Lab(28, 10, 15))], "wax")])
    assert found.lab.L == 28
    assert found.half_width is None
    with pytest.raises(Refused):
        learn_shift([], "wax")
    with pytest.raises(NotComparable):
        learn_shift([(Lab(32, 9, 14), Lab(28, 10, 15, "D65"))], "wax")


AGES = (1, 7, 30, 180, 365, 730)


def _twins(rng: np.random.Generator, sd: float, ages: tuple[float, ...] = AGES, twins: int = 2) -> list[Aged]:
    found = []
    for k in range(twins):
        start = np.array([34.0, 8, 13]) + k
        for days in (0, *ages):
            done = 1 - math.exp(-days / 120)
            noise = rng.normal(0, sd, 3) if days else np.zeros(3)
            found.append(Aged(f"T{k}", days, Lab(*(start + np.array([-5, -1.5, 2]) * done + noise))))
    return found


def test_a_known_course_comes_back() -> None:
    """Twins made with a time of 120 days and a known final change give both back."""
    course = fit_ageing(_twins(np.random.default_rng(1), 0.05))
    assert course.time_days == pytest.approx(120, rel=0.1)
    assert course.amount == pytest.approx((-5, -1.5, 2), abs=0.15)
    assert (course.twins, course.longest_days) == (2, 730)


def test_the_range_of_the_time_holds_the_true_one_as_often_as_said() -> None:
    """Over 300 made-up houses the 95 % range holds the true 120 days in at least 93 %."""
    courses = [fit_ageing(_twins(np.random.default_rng(seed), 0.2)) for seed in range(300)]
    assert sum(c.low_days <= 120 <= c.high_days for c in courses) >= 279


def test_the_delivered_state_is_inside_its_interval_as_often_as_said() -> None:
    """Over 300 made-up houses the interval for L* a year and a half later holds the true start in at least 93 %."""
    rng = np.random.default_rng(4)
    held = 0
    for _ in range(300):
        course = fit_ageing(_twins(rng, 0.4))
        done = 1 - math.exp(-550 / 120)
        today = Lab(*(np.array([30.0, 8, 12]) + np.array([-5, -1.5, 2]) * done + rng.normal(0, 0.4, 3)))
        found = as_delivered(today, 550, course)
        assert found.half_width is not None
        held += abs(found.lab.L - 30) <= found.half_width[0]
    assert held / 300 >= 0.93


def test_a_piece_older_than_the_twins_gets_a_wider_interval() -> None:
    """Beyond the oldest twin the course is not known: wider, and said so."""
    course = fit_ageing(_twins(np.random.default_rng(1), 0.3))
    inside, beyond = as_delivered(Lab(30, 8, 12), 700, course), as_delivered(Lab(30, 8, 12), 3650, course)
    assert inside.half_width is not None
    assert beyond.half_width is not None
    assert beyond.half_width[0] > 4 * inside.half_width[0]
    assert "older than the twins" in beyond.words


def test_too_few_ages_are_not_fitted() -> None:
    """Two ages, no start, or ages below zero: no course, and what to read is said."""
    rng = np.random.default_rng(1)
    with pytest.raises(Refused, match="2 ages"):
        fit_ageing(_twins(rng, 0.1, (1, 7)))
    with pytest.raises(Refused):
        fit_ageing([Aged("T", d, Lab(30, 8, 12)) for d in (1, 7, 30, 60)])
    with pytest.raises(BadQuantity):
        fit_ageing([Aged("T", -1, Lab(30, 8, 12))])
    with pytest.raises(BadQuantity):
        as_delivered(Lab(30, 8, 12), -5, fit_ageing(_twins(rng, 0.1)))


def test_a_finish_that_does_not_age_is_fitted_as_such() -> None:
    """Twins that stay put give a change of nothing within its error."""
    rng = np.random.default_rng(2)
    still = [
        Aged(t, d, Lab(*(np.array([30.0, 8, 12]) + (rng.normal(0, 0.2, 3) if d else 0))))
        for t in "AB"
        for d in (0, *AGES)
    ]
    course = fit_ageing(still)
    assert np.abs(course.shift(365)).max() < 0.3
