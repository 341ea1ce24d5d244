"""Release before wax, and the strength of an ageing sulphide bath."""

from __future__ import annotations

import pytest

from patina.chemistry.potency import StripCheck, potency
from patina.errors import BadQuantity
from patina.surface.release import RinseReading, SurfaceState, release

SUPPLY = RinseReading(210.0, 7.2, 0.0)
FLAT = [RinseReading(520.0, 5.9, 12.0), RinseReading(216.0, 7.1, 0.0), RinseReading(214.0, 7.2, 0.0)]
DRY = SurfaceState(24.0, 20.0, 60.0)


def test_release_is_given_when_the_rinse_is_flat_and_the_metal_warm() -> None:
    """Flat conductivity at the supply's, pH and chloride at blank, 12 K above the dew point."""
    assert release(SUPPLY, FLAT, DRY, chloride_used=True).given


def test_a_missing_reading_is_named_and_withholds_release() -> None:
    """What was not measured is asked for by name; nothing is assumed."""
    found = release(SUPPLY, FLAT[:1], SurfaceState(24.0, None, None), chloride_used=True)
    assert not found.given
    assert "conductivity of two rinses one after the other" in found.missing
    assert "temperature of the air" in found.missing
    no_strip = [RinseReading(r.conductivity_us_cm, r.ph) for r in FLAT]
    assert release(SUPPLY, no_strip, DRY, chloride_used=True).missing == ("chloride of the last rinse",)
    assert release(SUPPLY, no_strip, DRY, chloride_used=False).given


@pytest.mark.parametrize(
    ("rinses", "surface", "said"),
    [
        ([*FLAT, RinseReading(260.0, 7.2, 0.0)], DRY, "more than the supply"),
        ([FLAT[0], RinseReading(228.0, 7.2, 0.0), RinseReading(214.0, 7.2, 0.0)], DRY, "still changes"),
        ([*FLAT, RinseReading(214.0, 6.5, 0.0)], DRY, "pH 6.5"),
        ([*FLAT, RinseReading(214.0, 7.2, 4.0)], DRY, "chloride is still found"),
        (FLAT, SurfaceState(14.0, 20.0, 60.0), "above the dew point of 12.0"),
        (FLAT, SurfaceState(30.0, 20.0, 90.0), "humidity"),
    ],
)
def test_each_cause_withholds_release_by_itself(rinses: list[RinseReading], surface: SurfaceState, said: str) -> None:
    """12.0 °C is the dew point at 20 °C and 60 % (Magnus formula with the WMO's constants)."""
    found = release(SUPPLY, rinses, surface, chloride_used=True)
    assert not found.given
    assert any(said in text for text in found.against)


def test_impossible_readings_are_refused() -> None:
    """No rinse has pH 15 or a negative conductivity."""
    with pytest.raises(BadQuantity):
        release(SUPPLY, [RinseReading(200.0, 15.0)], DRY, chloride_used=False)
    with pytest.raises(BadQuantity):
        release(RinseReading(-1.0, 7.0), FLAT, DRY, chloride_used=False)


def test_an_exponential_curve_is_found_again() -> None:
    """Checks that lie on 8 s × 2^(age / 5 h) give 8 s and 5 h back, and the advice follows the ratio."""
    checks = [StripCheck(age, 8.0 * 2.0 ** (age / 5.0)) for age in (0.0, 2.0, 6.0, 9.0)]
    found = potency(checks, 10.0)
    assert found.fresh_seconds == pytest.approx(8.0)
    assert found.doubling_h == pytest.approx(5.0)
    assert found.seconds_now == pytest.approx(32.0)
    assert found.spread_factor == pytest.approx(1.0)
    assert [potency(checks, age).advice for age in (1.0, 7.0, 11.0)] == ["use", "strengthen or use up", "mix anew"]


def test_too_few_checks_promise_nothing() -> None:
    """No check, or checks at one age, do not say how the bath ages."""
    assert potency([], 1.0).advice == "check first"
    assert potency([StripCheck(0.0, 9.0), StripCheck(0.0, 10.0)], 5.0).doubling_h is None
    assert potency([StripCheck(0.0, 9.0), StripCheck(3.0, 9.0)], 5.0).doubling_h is None
    seconds_apart = potency([StripCheck(1.0, 10.0), StripCheck(1.0001, 20.0), StripCheck(1.0002, 69.0)], 1.001)
    assert (seconds_apart.advice, seconds_apart.doubling_h) == ("check first", None)
    assert "too close together" in seconds_apart.why
    with pytest.raises(BadQuantity):
        potency([StripCheck(0.0, 0.0)], 1.0)
