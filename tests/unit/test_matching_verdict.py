"""Verdicts: pass, fail or cannot be told; masters, zones and mottle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from patina.colour.values import Lab, Part
from patina.errors import BadQuantity, NotComparable
from patina.matching.anova import one_way
from patina.matching.constants import difference_in_words
from patina.matching.master import Tolerance, ZoneTarget, starting_tolerance
from patina.matching.mottle import Surface, compare_mottle
from patina.matching.piece import ZoneReadings, edition_spread, judge_mottle
from patina.matching.verdict import chance_inside, judge, judge_zone, readings_for, sampling_part

BROWN = Lab(30, 8, 12)
FACE = ZoneTarget("face", BROWN, (0.6, 0.4, 0.4), 10)


def _spots(lab: Lab, sd: float, n: int, seed: int = 1) -> list[Lab]:
    noise = np.random.default_rng(seed).normal(0, sd, (n, 3))
    noise -= noise.mean(axis=0)
    return [Lab(lab.L + x, lab.a + y, lab.b + z) for x, y, z in noise]


@pytest.mark.parametrize(
    ("difference", "expanded", "outcome"),
    [
        (1.5, 0.5, "pass"),
        (1.51, 0.5, "cannot be told"),
        (2.5, 0.5, "cannot be told"),
        (2.51, 0.5, "fail"),
        (0, 0, "pass"),
    ],
)
def test_guard_bands_part_pass_fail_and_cannot_be_told(difference: float, expanded: float, outcome: str) -> None:
    """Inside by the whole uncertainty passes, outside by the whole fails, the rest is not claimed (JCGM 106)."""
    assert judge(difference, expanded, 2.0) == outcome


def test_the_sampling_part_is_taken_off_before_failing() -> None:
    """A difference that sampling alone may make up is not failed."""
    assert judge(2.6, 0.5, 2.0) == "fail"
    assert judge(2.6, 0.5, 2.0, sampling=2.0) == "cannot be told"


@pytest.mark.parametrize("bad", [(-1, 0, 2), (1, -1, 2), (1, 0, 0), (math.nan, 0, 2)])
def test_impossible_values_are_refused(bad: tuple[float, float, float]) -> None:
    """A negative difference, uncertainty or a limit of zero cannot be judged."""
    with pytest.raises(BadQuantity):
        judge(*bad)


def test_a_near_piece_passes_and_a_far_one_fails() -> None:
    """With ten even readings a difference of 0.5 passes and one of 5 fails, component by component."""
    tolerance = Tolerance(2.0, dL=1.5, dC=1.5, dH=1.5)
    near = judge_zone(FACE, _spots(Lab(30.4, 8.2, 12.2), 0.4, 10), tolerance)
    far = judge_zone(FACE, _spots(Lab(36, 8, 12), 0.4, 10), tolerance)
    assert near.outcome == "pass"
    assert [f.of for f in near.findings] == ["ΔE", "ΔL*", "ΔC*", "ΔH*"]
    assert far.outcome == "fail"
    assert {f.of: f.outcome for f in far.findings}["ΔL*"] == "fail"
    assert {f.of: f.outcome for f in far.findings}["ΔH*"] == "pass"


def test_what_would_decide_is_said_and_does_decide() -> None:
    """The number of readings asked for, read with the same spread, gives a verdict."""
    usual = (1.8, 1.8, 1.8)
    unsure = judge_zone(FACE, _spots(Lab(31.2, 8, 12), 1.2, 4), Tolerance(2.0), usual_sd=usual)
    assert unsure.outcome == "cannot be told"
    needed = unsure.findings[0].more
    assert needed is not None
    assert needed > 4
    assert str(needed) in unsure.remedy
    one_fewer, enough = (
        judge_zone(FACE, _spots(Lab(31.2, 8, 12), 1.2, n), Tolerance(2.0), usual_sd=usual) for n in (needed - 1, needed)
    )
    assert one_fewer.outcome == "cannot be told"
    assert enough.outcome == "pass"


def test_a_fixed_error_is_not_cured_by_readings() -> None:
    """Where the camera's own error is as large as the gap, another instrument or the eye is named."""
    stuck = judge_zone(FACE, _spots(Lab(31, 8, 12), 0.3, 10), Tolerance(2.0), fixed_u=2.5)
    assert stuck.outcome == "cannot be told"
    assert stuck.findings[0].more is None
    assert "instrument" in stuck.remedy


def test_limit_tiles_bound_the_lightness() -> None:
    """A piece darker than the dark limit tile fails even where ΔE is wide; one near it cannot be told."""
    bounded = ZoneTarget("face", BROWN, (0.3, 0.3, 0.3), 10, light_limit=Lab(32, 8, 12), dark_limit=Lab(28, 8, 12))
    wide = Tolerance(6.0)
    for lightness, outcome in ((30, "pass"), (26.5, "fail"), (33.5, "fail"), (28.1, "cannot be told")):
        found = judge_zone(bounded, _spots(Lab(lightness, 8, 12), 0.5, 6), wide)
        assert found.outcome == outcome, lightness
        assert [f.of for f in found.findings] == ["ΔE", "light limit", "dark limit"]


def test_one_reading_without_a_known_spread_tells_nothing() -> None:
    """One reading has no spread; with the usual spread of the finish it can be judged."""
    assert judge_zone(FACE, [BROWN], Tolerance(2.0)).outcome == "cannot be told"
    assert judge_zone(FACE, [BROWN], Tolerance(3.0), usual_sd=(0.3, 0.3, 0.3)).outcome == "pass"
    with pytest.raises(BadQuantity):
        judge_zone(FACE, [], Tolerance(2.0))


def test_another_illuminant_is_not_judged() -> None:
    """D65 readings are not held against a D50 master."""
    with pytest.raises(NotComparable):
        judge_zone(FACE, [Lab(30, 8, 12, "D65"), Lab(30, 8, 12, "D65")], Tolerance(2.0))


def test_false_verdicts_are_as_rare_as_stated() -> None:
    """10,000 made-up pieces at the limit and about it: wrong passes and wrong fails below 5 % each.

    Pieces are read at 5 spots with a spread of 0.8 and with a fixed error; their true differences
    run from 0 to twice the limit in random directions, so that near misses are frequent.
    """
    rng = np.random.default_rng(42)
    tolerance, fixed = Tolerance(2.0, formula="de76"), 0.4
    target = ZoneTarget("face", BROWN, (0.0, 0.0, 0.0), 50)
    wrong_pass = wrong_fail = outside = inside = told = 0
    for _ in range(10_000):
        size = rng.uniform(0, 4)
        way = rng.normal(size=3)
        way *= size / np.linalg.norm(way)
        lift = rng.normal(0, fixed / 2) * way / size
        spots = np.array([30, 8, 12]) + way + lift + rng.normal(0, 0.8, (5, 3))
        found = judge_zone(target, [Lab(*row) for row in spots], tolerance, fixed_u=fixed)
        told += found.outcome != "cannot be told"
        if size > 2:
            outside += 1
            wrong_pass += found.outcome == "pass"
        else:
            inside += 1
            wrong_fail += found.outcome == "fail"
    assert wrong_pass / outside < 0.05
    assert wrong_fail / inside < 0.05
    assert told > 4000


def test_just_outside_the_limit_wrong_passes_stay_below_five_in_a_hundred() -> None:
    """The hardest case: 3,000 pieces whose true difference is the limit itself, either verdict being wrong."""
    rng = np.random.default_rng(7)
    target = ZoneTarget("face", BROWN, (0.0, 0.0, 0.0), 50)
    outcomes = {"pass": 0, "fail": 0, "cannot be told": 0}
    for _ in range(3000):
        way = rng.normal(size=3)
        way *= 2.0 / np.linalg.norm(way)
        spots = np.array([30, 8, 12]) + way + rng.normal(0, 0.8, (6, 3))
        outcomes[judge_zone(target, [Lab(*row) for row in spots], Tolerance(2.0, formula="de76")).outcome] += 1
    assert outcomes["pass"] < 150
    assert outcomes["fail"] < 150


def test_chance_of_being_inside_is_half_at_the_limit() -> None:
    """A difference at the limit is as likely inside as outside."""
    assert chance_inside(2, 0.5, 2) == pytest.approx(0.5)
    assert chance_inside(1.5, 0.5, 2) == pytest.approx(0.977, abs=0.001)
    assert (chance_inside(1, 0, 2), chance_inside(3, 0, 2)) == (1.0, 0.0)


def test_sampling_part_of_unequal_spreads_lies_between_equal_ones() -> None:
    """Moment matching agrees with a simulation within 2 %."""
    rng = np.random.default_rng(2)
    sd = (2.0, 0.5, 1.0)
    apart = rng.normal(0, sd, (200_000, 3)) / np.sqrt(5) - rng.normal(0, sd, (200_000, 3)) / np.sqrt(8)
    assert sampling_part(sd, 5, 8) == pytest.approx(np.linalg.norm(apart, axis=1).mean(), rel=0.02)
    assert sampling_part((0, 0, 0), 3) == 0
    with pytest.raises(BadQuantity):
        sampling_part(sd, 0)
    with pytest.raises(BadQuantity):
        readings_for(0, 1)


def test_an_agreed_finish_needs_sound_limits() -> None:
    """Limits of zero, below or without value, and another formula are refused."""
    for bad in ({"delta_e": 0}, {"delta_e": 2, "dL": -1}, {"delta_e": math.nan}, {"delta_e": 2, "formula": "de1931"}):
        with pytest.raises(BadQuantity):
            Tolerance(**bad)  # type: ignore[arg-type]
    assert starting_tolerance().delta_e == 2


def test_a_two_tone_brown_does_not_pass_for_a_smooth_one_of_the_same_mean() -> None:
    """Equal means, other distribution: the colour passes, the mottle fails."""
    parts = (Part(Lab(22, 6, 8), 0.5), Part(Lab(38, 10, 16), 0.5))
    spots = tuple(_spots(BROWN, 0.3, 10))
    verdict = judge_zone(FACE, spots, Tolerance(2))
    assert verdict.outcome == "pass"
    assert judge_mottle(FACE, ZoneReadings(spots), Tolerance(2), verdict.findings[0])[1] == "pass"
    found, outcome = judge_mottle(FACE, ZoneReadings(spots, parts), Tolerance(2), verdict.findings[0])
    assert outcome == "fail"
    assert "The master has one tone, the sample 2 tones" in found.words


def test_mottle_says_what_moved() -> None:
    """A fifth of the surface gone darker costs a fifth of that difference."""
    dark, light = Lab(25, 6, 8), Lab(40, 10, 18)
    master = Surface((Part(dark, 0.5), Part(light, 0.5)), (1, 1, 1), 4.0)
    sample = Surface((Part(dark, 0.7), Part(light, 0.3)), (2, 2, 2), 8.0)
    found = compare_mottle(master, sample)
    assert found.moves[0].share == pytest.approx(0.2)
    assert found.distance == pytest.approx(0.2 * found.moves[0].distance)
    assert "20 % of the surface is darker" in found.words
    assert found.spread_ratio == pytest.approx(2)
    assert found.grain_ratio == pytest.approx(2)
    assert "coarser" in found.words
    assert compare_mottle(master, master).distance == pytest.approx(0)


def test_a_surface_needs_sound_shares() -> None:
    """No tones, a share of zero or shares of 80 % in all are refused."""
    for parts in ((), (Part(BROWN, 0.0), Part(BROWN, 1.0)), (Part(BROWN, 0.8),)):
        with pytest.raises(BadQuantity):
            Surface(parts)


def test_edition_spread_is_the_widest_pair() -> None:
    """The two casts furthest apart decide."""
    widest, inside = edition_spread([Lab(30, 8, 12), Lab(31, 8, 12), Lab(36, 8, 12)])
    assert widest > 3
    assert not inside
    assert edition_spread([BROWN]) == (0.0, True)


def test_variation_needs_pieces_read_twice() -> None:
    """One piece, empty pieces and single readings cannot be split."""
    for groups in ([[1.0, 2.0]], [[1.0], [2.0]], [[], [1.0, 2.0]], [[1.0, math.nan], [2.0, 3.0]]):
        with pytest.raises(BadQuantity):
            one_way(groups)


def test_between_piece_variance_is_never_negative() -> None:
    """Pieces more alike than chance would make them have a variance between of zero."""
    assert one_way([[1.0, 3.0], [1.0, 3.0], [3.0, 1.0]]).var_between == 0


def test_sizes_have_words() -> None:
    """The classes found in papers on wood and heritage surfaces."""
    assert [difference_in_words(x) for x in (0.1, 1, 2.5, 4, 9, 20)] == [
        "invisible",
        "very small",
        "small",
        "medium",
        "large",
        "another colour",
    ]
