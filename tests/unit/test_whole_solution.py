"""All ingredients of a pot weighed together: shares by weight see the whole."""

from __future__ import annotations

import pytest

from patina.chemistry.density import density_of
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.chemistry.weighing import weigh
from patina.chemistry.whole_solution import weigh_all
from patina.errors import BadQuantity, CannotConvert

c = catalogue()


def pot(*pairs):
    return [(c.get(key), parse_strength(strength)) for key, strength in pairs]


def test_two_shares_by_weight_added_to_water_are_shares_of_the_whole():
    """10 % w/w and 20 % w/w of the whole, with 30 g/L of a third that is not said by weight."""
    parts = pot(("ammonium_chloride", "10 % w/w"), ("sodium_chloride", "20 % w/w"), ("citric_acid", "30 g/L"))
    a, b, third = (line.amount for line in weigh_all(parts, 1000, "added to"))
    whole = 998.204 + a + b + third
    assert third == pytest.approx(30)
    assert a / whole == pytest.approx(0.10, rel=1e-6)
    assert b / whole == pytest.approx(0.20, rel=1e-6)


def test_an_acids_own_water_counts_beside_another_share():
    """10 % w/w HNO3 from 65 % and 5 % w/w salt: both are shares of all that is in the pot."""
    parts = pot(("nitric_acid", "10 % w/w"), ("ammonium_chloride", "5 % w/w"))
    acid, salt = weigh_all(parts, 1000, "added to")
    sold_g = acid.amount * 1.3911
    whole = 998.204 + sold_g + salt.amount
    assert sold_g * 0.65 / whole == pytest.approx(0.10, rel=1e-6)
    assert salt.amount / whole == pytest.approx(0.05, rel=1e-6)


def test_made_up_to_uses_the_density_of_the_whole():
    """Both shares are of a kilogram of the whole solution; the sum says the density is an estimate."""
    parts = pot(("ammonium_chloride", "10 % w/w"), ("sodium_chloride", "10 % w/w"))
    first, second = weigh_all(parts, 1000)
    density, _, _ = density_of({c.get("ammonium_chloride"): first.amount, c.get("sodium_chloride"): second.amount})
    assert first.amount == pytest.approx(second.amount)
    assert first.amount == pytest.approx(100 * density, rel=1e-6)
    assert "estimated for the whole pot" in first.working
    measured, _ = weigh_all(parts, 1000, solution_density_g_ml=1.09)
    assert measured.amount == pytest.approx(109)
    assert "as measured" in measured.working


def test_parts_to_the_solvent_do_not_see_the_others():
    """1 part to 20 of water is a twentieth of the water, whatever else goes in."""
    alone, _ = weigh_all(pot(("ammonium_chloride", "1 part to 20"), ("sodium_chloride", "100 g/L")), 1000, "added to")
    assert alone.amount == pytest.approx(998.204 / 20)


def test_without_shares_by_weight_it_is_the_same_as_one_by_one():
    """Grams per litre need nothing of the rest; the shelf's form is taken by key."""
    parts = pot(("cupric_nitrate_3h2o", "100 g/L"), ("ammonium_chloride", "5 % w/v"))
    lines = weigh_all(parts, 2000, have={"cupric_nitrate_3h2o": (c.get("cupric_nitrate_2_5h2o"), 98.0)})
    assert lines[0] == weigh(*parts[0], 2000, have=c.get("cupric_nitrate_2_5h2o"), have_assay_pct=98.0)
    assert lines[1] == weigh(*parts[1], 2000)
    assert weigh_all([], 1000) == ()


@pytest.mark.parametrize("volume_is", ["made up to", "added to"])
def test_shares_that_leave_no_solvent_are_refused(volume_is):
    """60 % w/w twice is more than the whole."""
    with pytest.raises((BadQuantity, CannotConvert)):
        weigh_all(pot(("ammonium_chloride", "60 % w/w"), ("sodium_chloride", "60 % w/w")), 1000, volume_is)
