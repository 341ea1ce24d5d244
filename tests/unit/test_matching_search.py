"""The nearest colours: the same answer as a full scan, whatever the target."""

from __future__ import annotations

import time

import numpy as np
import pytest

from patina.colour.difference import delta_e_many
from patina.errors import BadQuantity
from patina.matching.search import Rack, nearest


def _readings(n: int, seed: int = 1) -> np.ndarray:
    """Browns, greens, blacks and whites as a studio has them, with some saturated blues and duplicates."""
    rng = np.random.default_rng(seed)
    brown = rng.normal((30, 9, 14), (8, 5, 7), (n * 6 // 10, 3))
    green = rng.normal((55, -18, 6), (12, 8, 8), (n * 2 // 10, 3))
    blue = rng.normal((40, 10, -45), (12, 15, 20), (n // 10, 3))
    rest = np.column_stack([rng.uniform(0, 100, n // 10), rng.uniform(-100, 100, (n // 10, 2))])
    labs = np.concatenate([brown, green, blue, rest])
    labs[:, 0] = labs[:, 0].clip(0, 100)
    labs[: n // 50] = labs[n // 50 : 2 * (n // 50)]
    return rng.permutation(labs)


def _scan(labs: np.ndarray, target: np.ndarray, k: int, formula: str = "de2000") -> tuple[np.ndarray, np.ndarray]:
    differences = np.asarray(delta_e_many(np.broadcast_to(target, labs.shape), labs, formula))
    order = np.lexsort((np.arange(len(labs)), differences))[:k]
    return order, differences[order]


LABS = _readings(60_000)
RACK = Rack(LABS)


def test_the_search_gives_what_a_full_scan_gives() -> None:
    """200 targets, among them saturated blues, greys and colours far from any reading: identical answers."""
    rng = np.random.default_rng(5)
    targets = [*(LABS[rng.integers(len(LABS), size=80)] + rng.normal(0, 2, (80, 3)))]
    targets += [np.array([rng.uniform(0, 100), *rng.uniform(-110, 110, 2)]) for _ in range(110)]
    targets += [np.array(t, float) for t in ((0, 0, 0), (100, 0, 0), (50, 0, 0), (50, 0, -80), (50, 2.6772, -79.7751))]
    targets += [np.array(t, float) for t in ((50, -60, 0), (50, 60, 0), (30, 0, 1e-9), (30, 0, -1e-9), (30, 5, 0))]
    assert len(targets) == 200
    for target in targets:
        target[0] = np.clip(target[0], 0, 100)
        rows, differences = RACK.nearest(target, 20)
        expected_rows, expected = _scan(LABS, target, 20)
        assert rows.tolist() == expected_rows.tolist()
        assert differences.tolist() == expected.tolist()


@pytest.mark.parametrize("share", [0.5, 0.01, 0.0003, 0.0])
def test_only_allowed_readings_come_back(share: float) -> None:
    """Filtered by alloy or hazard: the nearest among those allowed, or as many as there are."""
    allowed = np.random.default_rng(3).random(len(LABS)) < share
    for target in (np.array([30.0, 9, 14]), np.array([70.0, -30, 20])):
        rows, differences = RACK.nearest(target, 20, among=allowed)
        where = np.flatnonzero(allowed)
        expected_rows, expected = _scan(LABS[where], target, 20)
        assert rows.tolist() == where[expected_rows].tolist()
        assert differences.tolist() == expected.tolist()


@pytest.mark.parametrize("formula", ["de2000", "de94", "cmc", "de76"])
def test_small_racks_and_other_formulas_are_scanned(formula: str) -> None:
    """The answer is the same for every formula, with k above the number of readings too."""
    few = LABS[:300]
    rows, _ = nearest((30, 9, 14), few, 500, formula=formula)
    assert rows.tolist() == _scan(few, np.array([30.0, 9, 14]), 500, formula)[0].tolist()


def test_equal_differences_come_by_row() -> None:
    """Twenty readings of one colour come back in the order they were given."""
    labs = np.tile([30.0, 9, 14], (5000, 1))
    assert Rack(labs).nearest((31, 9, 14), 20)[0].tolist() == list(range(20))


def test_readings_outside_0_to_100_lightness_are_still_exact() -> None:
    """A reading with L* below 0, as a camera may give, does not break the search."""
    labs = np.concatenate([LABS[:5000], [[-0.4, 0, 0], [101.0, 0, 0]]])
    assert Rack(labs).nearest((0, 0, 0), 5)[0].tolist() == _scan(labs, np.array([0.0, 0, 0]), 5)[0].tolist()


def test_an_empty_rack_has_nothing_near() -> None:
    """No readings, no matches, no trouble."""
    rows, differences = nearest((30, 9, 14), [], 5)
    assert (len(rows), len(differences)) == (0, 0)


def test_bad_questions_are_refused() -> None:
    """Values that are no numbers, k of zero, other formulas and choices that do not fit are refused."""
    for target, k in (((1, 2), 5), ((np.nan, 0, 0), 5), ((30, 9, 14), 0)):
        with pytest.raises(BadQuantity):
            RACK.nearest(target, k)
    with pytest.raises(BadQuantity):
        RACK.nearest((30, 9, 14), 5, formula="none")
    with pytest.raises(BadQuantity):
        RACK.nearest((30, 9, 14), 5, among=[True])
    for labs in ([[1, 2]], [[np.nan, 0, 0]]):
        with pytest.raises(BadQuantity):
            Rack(labs)


def test_a_search_is_much_faster_than_a_scan() -> None:
    """On 200,000 readings a search takes less than half of this project's own scan (best of five each)."""
    labs = _readings(200_000, seed=2)
    rack = Rack(labs)
    target = np.array([31.0, 8, 13])

    def best(question) -> float:  # type: ignore[no-untyped-def]
        times = []
        for _ in range(5):
            start = time.perf_counter()
            question()
            times.append(time.perf_counter() - start)
        return min(times)

    assert best(lambda: rack.nearest(target, 20)) < 0.5 * best(lambda: _scan(labs, target, 20))


def test_the_last_bound_is_never_above_the_difference() -> None:
    """What is left out by the bound without hue lies beyond it: 200,000 pairs from all over, blues among them."""
    from patina.matching.search import _tighter

    rng = np.random.default_rng(31)
    for _ in range(20):
        point = rng.uniform((1, -90, -90), (99, 90, 90))
        near = point + rng.normal(0, 6, (2000, 3))
        labs = np.vstack([rng.uniform((1, -90, -90), (99, 90, 90), (8000, 3)), near])
        labs[:, 0] = np.clip(labs[:, 0], 0, 100)
        true = delta_e_many(np.broadcast_to(point, labs.shape), labs)
        assert (_tighter(point, labs) <= true + 1e-9).all()
