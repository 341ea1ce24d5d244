"""What holds for any verdict, distribution or search."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patina.colour.difference import compare, delta_e_many
from patina.colour.values import Lab, Part
from patina.matching.mottle import Surface, compare_mottle
from patina.matching.search import _WARM_SHARE, _WORST_SHARE, Rack, _lightness_bound
from patina.matching.verdict import judge

LABS = st.builds(Lab, st.floats(0, 100), st.floats(-100, 100), st.floats(-100, 100))
SMALL = st.floats(0, 20)


@given(SMALL, SMALL, st.floats(0.1, 10), st.floats(0, 5))
def test_more_doubt_never_makes_a_verdict(difference: float, expanded: float, limit: float, more: float) -> None:
    """What cannot be told stays so when the uncertainty grows."""
    if judge(difference, expanded, limit) == "cannot be told":
        assert judge(difference, expanded + more, limit) == "cannot be told"


@given(SMALL, SMALL, st.floats(0.1, 10), st.floats(0, 5))
def test_a_wider_limit_never_fails_what_passed(difference: float, expanded: float, limit: float, more: float) -> None:
    """A pass stays a pass under a wider limit."""
    if judge(difference, expanded, limit) == "pass":
        assert judge(difference, expanded, limit + more) == "pass"


@given(LABS, LABS)
@settings(max_examples=400, deadline=None)
def test_the_bounds_of_the_search_are_never_above_the_difference(one: Lab, two: Lab) -> None:
    """Both bounds that let the search leave readings out lie at or below CIEDE2000, for any two colours."""
    difference = compare(one, two).delta_e
    lightness = _lightness_bound(one.L, two.L)
    assert lightness <= difference + 1e-9
    weight = 1 + 0.045 * 0.75 * (one.chroma + two.chroma)
    share = _WARM_SHARE if min(one.b, two.b) >= 0 else _WORST_SHARE
    apart = ((one.a - two.a) ** 2 + (one.b - two.b) ** 2) / weight**2
    assert (lightness**2 + share * apart) ** 0.5 <= difference + 1e-9


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 100))
def test_the_bound_along_lightness_grows_with_distance(target: float, near: float, far: float) -> None:
    """On one side of the target, further away is never less."""
    if (near - target) * (far - target) > 0 and abs(far - target) > abs(near - target):
        assert _lightness_bound(target, far) >= _lightness_bound(target, near) - 1e-12


@given(st.integers(0, 10_000), st.integers(1, 40), LABS)
@settings(max_examples=25, deadline=None)
def test_a_search_is_a_scan(seed: int, k: int, target: Lab) -> None:
    """Any rack, any target, any k."""
    rng = np.random.default_rng(seed)
    labs = np.column_stack([rng.uniform(0, 100, 5000), rng.normal(0, rng.uniform(1, 60), (5000, 2))])
    rows, _ = Rack(labs).nearest(target.as_list(), k)
    differences = np.asarray(delta_e_many(np.tile(target.as_list(), (5000, 1)), labs))
    assert rows.tolist() == np.lexsort((np.arange(5000), differences))[:k].tolist()


@st.composite
def surfaces(draw: st.DrawFn) -> Surface:
    """One to four tones with shares that add up to 1."""
    n = draw(st.integers(1, 4))
    shares = [draw(st.floats(0.1, 1)) for _ in range(n)]
    return Surface(tuple(Part(draw(LABS), s / sum(shares)) for s in shares))


@given(surfaces(), surfaces())
@settings(max_examples=60, deadline=None)
def test_mottle_distance_is_symmetric_and_zero_on_itself(one: Surface, two: Surface) -> None:
    """The distance is the same both ways, 0 to itself, and at most the widest pair of tones."""
    there, back = compare_mottle(one, two).distance, compare_mottle(two, one).distance
    assert there == pytest.approx(back, abs=1e-6)
    assert compare_mottle(one, one).distance == pytest.approx(0, abs=1e-6)
    widest = max(compare(p.lab, q.lab).delta_e for p in one.parts for q in two.parts)
    assert there <= widest + 1e-6
