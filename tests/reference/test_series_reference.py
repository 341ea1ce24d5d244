"""Charts, tolerance factors, analysis of variance, grey scale and mottle against published figures."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment
from scipy.stats import f_oneway

from patina.colour.difference import delta_e_many
from patina.colour.values import Lab, Part
from patina.matching.anova import one_way
from patina.matching.constants import constant
from patina.matching.grey_scale import fading_difference, grey_scale_grade
from patina.matching.mottle import Surface, compare_mottle
from patina.matching.series import individuals_chart
from patina.matching.tolerance import exact_factor, howe_factor
from patina.matching.verdict import readings_for, sampling_part, student_t


def test_chart_constants_follow_from_the_range_of_two() -> None:
    """d2 = 2/sqrt(pi) = 1.128, 3/d2 = 2.660, D4 = 1 + 3 d3/d2 = 3.267 (ISO 7870-2, table of factors; memory)."""
    d2 = 2 / np.sqrt(np.pi)
    d3 = np.sqrt(2 - 4 / np.pi)
    assert constant("d2_of_two") == pytest.approx(d2, abs=5e-4)
    assert constant("individuals_factor") == pytest.approx(3 / d2, abs=2e-3)
    assert constant("moving_range_factor") == pytest.approx(1 + 3 * d3 / d2, abs=1e-3)


def test_worked_individuals_chart_of_the_nist_handbook() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.2, flowrate batches: mean 50.81, limits 55.8041 and 45.8159 (memory)."""
    flow = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
    chart = individuals_chart(flow)
    assert chart.centre == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert chart.upper == pytest.approx(55.8041, abs=2e-3)
    assert chart.lower == pytest.approx(45.8159, abs=2e-3)
    assert chart.marks == ()
    assert chart.ranges_out == ()


@pytest.mark.parametrize(
    ("n", "k95", "k90"),
    [(3, 9.99, 5.85), (5, 5.09, 3.49), (9, 3.53, 2.63), (10, 3.38, 2.53), (20, 2.75, 2.15), (30, 2.55, 2.03)],
)
def test_howe_factors_at_several_n(n: int, k95: float, k90: float) -> None:
    """Howe 1969, 95/95 and 90/90, computed independently of this program."""
    assert howe_factor(n) == pytest.approx(k95, abs=0.006)
    assert howe_factor(n, 0.90, 0.90) == pytest.approx(k90, abs=0.006)


@pytest.mark.parametrize(
    ("n", "k"), [(2, 36.519), (3, 9.789), (4, 6.341), (5, 5.077), (10, 3.393), (20, 2.760), (30, 2.555), (100, 2.234)]
)
def test_exact_factors_at_several_n(n: int, k: float) -> None:
    """ISO 16269-6 table, two-sided, 95 % of the population at 95 % confidence (memory)."""
    assert exact_factor(n) == pytest.approx(k, abs=6e-4)


def test_worked_analysis_of_variance_of_the_nist_handbook() -> None:
    """NIST/SEMATECH e-Handbook 7.4.3.3, three treatments of five: mean squares 13.949 and 1.454, F 9.59 (memory)."""
    groups = [[6.9, 5.4, 5.8, 4.6, 4.0], [8.3, 6.8, 7.8, 9.2, 6.5], [8.0, 10.5, 8.1, 6.9, 9.3]]
    found = one_way(groups)
    assert (found.df_between, found.df_within) == (2, 12)
    assert found.ms_between == pytest.approx(13.949, abs=1e-3)
    assert found.ms_within == pytest.approx(1.454, abs=1e-3)
    assert found.f == pytest.approx(9.59, abs=5e-3)
    assert found.var_between == pytest.approx((13.949 - 1.454) / 5, abs=1e-3)


def test_analysis_of_variance_agrees_with_scipy_on_unequal_groups() -> None:
    """scipy.stats.f_oneway as referee for F and p."""
    rng = np.random.default_rng(3)
    groups = [list(rng.normal(m, 1, n)) for m, n in ((30, 4), (31, 7), (29.5, 5), (30, 9))]
    found, referee = one_way(groups), f_oneway(*groups)
    assert found.f == pytest.approx(referee.statistic)
    assert found.p == pytest.approx(referee.pvalue)


@pytest.mark.parametrize(("sd", "n", "seen"), [(1, 1, 2.3), (1, 5, 1.0), (2, 5, 2.0), (2, 20, 1.0)])
def test_identical_pieces_seem_apart_by_sampling(sd: float, n: int, seen: float) -> None:
    """Mean length of a normal vector in three dimensions (Maxwell): 2 sqrt(2/pi) times sd sqrt(2/n)."""
    assert sampling_part((sd, sd, sd), n) == pytest.approx(seen, abs=0.05)
    assert sampling_part((sd, sd, sd), n) == pytest.approx(2 * np.sqrt(2 / np.pi) * sd * np.sqrt(2 / n))


def test_readings_and_half_widths_of_the_normal_mean() -> None:
    """n for ± 0.5 at 95 %, and half-widths t/sqrt(n) from Student's table (4.303, 2.776, 2.262)."""
    assert [readings_for(0.5, s) for s in (0.5, 1, 1.5, 2)] == [4, 16, 35, 62]
    for n, width in ((3, 2.48), (5, 1.24), (10, 0.72)):
        assert student_t(n - 1) / np.sqrt(n) == pytest.approx(width, abs=0.005)


@pytest.mark.parametrize(
    ("grade", "difference", "tolerance"),
    [
        ("5", 0.0, 0.2),
        ("4-5", 0.8, 0.2),
        ("4", 1.7, 0.3),
        ("3-4", 2.5, 0.35),
        ("3", 3.4, 0.4),
        ("2-3", 4.8, 0.5),
        ("2", 6.8, 0.6),
        ("1-2", 9.6, 0.7),
        ("1", 13.6, 1.0),
    ],
)
def test_the_grey_scale_itself_is_given_its_own_grades(grade: str, difference: float, tolerance: float) -> None:
    """[ISO105-A02] fixes the neutral pairs of each grade; ISO 105-A05 must rate them so, over their whole tolerance."""
    grey = Lab(45, 0, 0)
    for size in (difference, max(0.0, difference - 0.99 * tolerance), difference + 0.99 * tolerance):
        assert grey_scale_grade(grey, Lab(45 + size, 0, 0)) == grade


def test_the_grey_scale_grade_follows_its_continuous_formula() -> None:
    """ISO 105-A05 (memory): GS = 5 - ΔE/1.7 up to 3.4, then 5 - log2(ΔE/0.85); grades are its nearest half steps."""
    for size in np.arange(0.05, 14, 0.1):
        continuous = 5 - size / 1.7 if size <= 3.4 else 5 - np.log2(size / 0.85)
        grade = grey_scale_grade(Lab(45, 0, 0), Lab(45 + size, 0, 0))
        value = sum(float(g) for g in grade.split("-")) / len(grade.split("-"))
        assert value == pytest.approx(max(1.0, continuous), abs=0.3)


def test_chroma_and_hue_count_less_the_stronger_the_colour() -> None:
    """ISO 105-A05: for strong colours a change of chroma counts less than the same change of lightness."""
    strong = Lab(45, 40, 30)
    lighter = fading_difference(strong, Lab(48, 40, 30))
    duller = fading_difference(strong, Lab(45, 37.6, 28.2))
    assert lighter == pytest.approx(3.0)
    assert duller < 3.0


def test_earth_mover_of_equal_shares_is_the_best_pairing() -> None:
    """For equal shares the least work is an assignment: scipy's linear_sum_assignment and brute force as referees."""
    rng = np.random.default_rng(5)
    for _ in range(10):
        a, b = rng.normal((30, 8, 12), 8, (4, 3)), rng.normal((32, 8, 12), 8, (4, 3))
        found = compare_mottle(*(Surface(tuple(Part(Lab(*row), 0.25) for row in x)) for x in (a, b))).distance
        cost = np.array([delta_e_many(np.tile(row, (4, 1)), b) for row in a])
        rows, columns = linear_sum_assignment(cost)
        assert found == pytest.approx(cost[rows, columns].mean())
        assert found == pytest.approx(min(cost[range(4), p].mean() for p in itertools.permutations(range(4))))
