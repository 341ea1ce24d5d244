"""Salt extraction against the diffusion equation: published solutions, a numerical one, and made-up baths."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest

from patina.conservation.record import Kept
from patina.conservation.salts import MODELS, even_layer, judge_extraction, metal_face, root_time
from patina.conservation.values import Bath, BathReading

NOW = datetime(2026, 3, 14, tzinfo=UTC)
HOURS = (12, 24, 36, 48, 72, 72, 96, 96, 120, 120)


def test_half_is_out_at_cranks_time() -> None:
    """Half of it is out at D t / (thickness)² = 0.04919 for a sheet with both faces open, whose half is our layer.

    Source: [CRANK] (the figure from memory)
    """
    assert even_layer(4 * 0.04919) == pytest.approx(0.5, abs=2e-4)


def test_release_begins_with_the_root_of_time() -> None:
    """At short times the share out is 2 √(x/π), the first term of the short-time solution. Source: [CRANK]"""
    for x in (1e-6, 1e-4, 1e-2):
        assert even_layer(x) == pytest.approx(2 * np.sqrt(x / np.pi), rel=1e-6)


@pytest.mark.parametrize("law", [even_layer, metal_face])
def test_the_two_forms_of_each_sum_meet(law: object) -> None:
    """Where the program changes from one form of the sum to the other, both say the same."""
    assert law(0.05 - 1e-9) == pytest.approx(law(0.05 + 1e-9), abs=1e-7)  # type: ignore[operator]


@pytest.mark.parametrize(("law", "start"), [(even_layer, "even"), (metal_face, "face")])
def test_the_laws_solve_the_diffusion_equation(law: object, start: str) -> None:
    """Both laws agree with the equation solved in steps: a layer closed at the metal, held at nothing at the bath.

    Source: [SELWYN2001] for the two cases; the solution in steps is made here (Crank-Nicolson).
    """
    n, dt, ends = 200, 2e-4, (0.05, 0.2, 0.6, 1.2)
    h = 1.0 / n
    c = np.ones(n) if start == "even" else np.r_[float(n), np.zeros(n - 1)]
    whole = c.sum()
    main = np.full(n, -2.0)
    main[0], main[-1] = -1.0, -3.0  # closed at the metal; half a cell to the bath
    a = (np.diag(main) + np.diag(np.ones(n - 1), 1) + np.diag(np.ones(n - 1), -1)) / h**2
    step = np.linalg.solve(np.eye(n) - a * dt / 2, np.eye(n) + a * dt / 2)
    t = 0.0
    for end in ends:
        while t < end - dt / 2:
            c, t = step @ c, t + dt
        assert 1 - c.sum() / whole == pytest.approx(law(end), abs=5e-3)  # type: ignore[operator]


def _bath(scheme: str = "baths changed", **more: object) -> Kept[Bath]:
    value = Bath("fragment", "chloride mg/L", scheme, supply=0.4, **more)  # type: ignore[arg-type]
    return Kept("CB1", value, NOW, "")


def _readings(law: object, rate: float, whole: float, scatter: np.ndarray, count: int = 10) -> tuple:
    out, t, found = 0.0, 0.0, []
    for n, hours in enumerate(HOURS[:count]):
        t += hours
        now = whole * law(rate * t)  # type: ignore[operator]
        value = (now - out) / 2.0 + 0.4 + float(scatter[n])
        out = now
        found.append(Kept(f"CR{n}", BathReading("CB1", n + 1, float(hours), value, 2000.0), NOW, ""))
    return tuple(found)


@pytest.mark.parametrize("name", list(MODELS))
def test_what_was_put_in_is_found_again(name: str) -> None:
    """From readings without scatter the law, its rate and all there is to come out are found again."""
    found = judge_extraction(_bath(), _readings(MODELS[name], 0.004, 250.0, np.zeros(10)))
    assert found.model == name
    assert found.rate == pytest.approx(0.004, rel=0.02)
    assert found.all_out == pytest.approx(250.0, rel=0.01)
    assert found.unit == "mg"


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """Of 60 made-up extractions with scatter, the interval of 95 % misses the true share at most 7 times
    (a chance below 1 in 50 if it is right)."""
    rng = np.random.default_rng(7)
    missed = 0
    for _ in range(60):
        found = judge_extraction(_bath(), _readings(even_layer, 0.0015, 250.0, rng.normal(0, 0.4, 10), 8))
        true = 100 * even_layer(0.0015 * sum(HOURS[:8]))
        assert found.low_pct is not None and found.high_pct is not None
        missed += not found.low_pct - 1e-6 <= true <= found.high_pct + 1e-6
    assert missed <= 7


def test_the_end_is_told_by_the_curve() -> None:
    """The same salt and baths: early it is not reached or cannot be told, at the plateau it is reached."""
    scatter = 0.3 * np.array([1, -1, 0.5, -0.6, 0.8, -0.4, 0.5, -0.5, 0.2, 0.1])
    whole = judge_extraction(_bath(), _readings(even_layer, 0.0042, 250.0, scatter))
    early = judge_extraction(_bath(), _readings(even_layer, 0.0042, 250.0, scatter, 5))
    assert whole.verdict == "reached"
    assert early.verdict in ("not reached", "cannot be told yet")
    assert early.until_h is not None and early.until_h > sum(HOURS[:5])


def test_a_curve_that_has_not_bent_sets_no_end() -> None:
    """While all is still going by the root of time, nothing says how much there is: it cannot be told yet."""
    scatter = 0.3 * np.array([1, -1, 0.5, -0.6, 0.8, -0.4, 0.5, -0.5, 0.2, 0.1])
    found = judge_extraction(_bath(), _readings(even_layer, 0.00008, 2000.0, scatter, 6))
    assert found.verdict != "reached"
    assert found.until_high_h == float("inf")
    assert "no end in sight" in found.why


@pytest.mark.parametrize("count", [0, 1, 4])
def test_too_few_baths_cannot_be_told(count: int) -> None:
    """Without a curve there is no verdict, however long it lasted."""
    found = judge_extraction(_bath(), _readings(even_layer, 0.004, 250.0, np.zeros(10), count))
    assert (found.verdict, found.share_pct) == ("cannot be told yet", None)
    assert "too few" in found.why


def test_a_level_single_bath_is_not_a_desalted_object() -> None:
    """One bath that has come level is even with the object; the sheet says so."""
    readings = tuple(
        Kept(f"CR{n}", BathReading("CB1", 1, h, 0.4 + 30 * root_time(0.1 * h)), NOW, "")
        for n, h in enumerate((1.0, 4.0, 9.0, 16.0, 36.0, 64.0, 100.0, 144.0))
    )
    found = judge_extraction(_bath("one bath followed"), readings)
    assert any("not yet free of salt" in caution for caution in found.cautions)
    assert found.unit == "mg/L"


def test_nothing_above_the_fresh_bath_is_no_plateau() -> None:
    """Readings at the level of the supply are told as such, not as an end."""
    readings = tuple(Kept(f"CR{n}", BathReading("CB1", n + 1, 24.0, 0.4, 2000.0), NOW, "") for n in range(6))
    found = judge_extraction(_bath(), readings)
    assert (found.verdict, found.share_pct) == ("cannot be told yet", None)
