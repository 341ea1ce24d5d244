"""How much to mix, in which order, and how a stock is thinned."""

from __future__ import annotations

import pytest

from patina.chemistry.density import density_of
from patina.chemistry.solution import Application, from_stock, mixing_order, volume_ml
from patina.chemistry.substances import catalogue
from patina.errors import BadQuantity, CannotConvert

c = catalogue()
WATER = c.get("distilled_water")


def test_the_volume_of_a_solution():
    """2.3 m2, texture 1.1, 40 mL/m2, 6 passes, transfer 50 %, reserve 25 %, dead volume 250 mL: 1768 mL."""
    volume, words = volume_ml([Application(40, 6, 0.5)], 2.3, 1.1, 0.25, 250)
    assert volume == 1768
    assert "1214.4 mL" in words
    assert words.endswith("1768 mL")


def test_every_apply_step_counts():
    """Two steps with the same solution add up; the reserve is taken of the sum, the dead volume once."""
    both, _ = volume_ml([Application(40, 2), Application(60, 1, 0.5)], 1.0, 1.0, 0.25, 100)
    assert both == pytest.approx((80 + 120) * 1.25 + 100)


@pytest.mark.parametrize(
    ("applications", "area", "texture", "reserve", "dead"),
    [
        ([], 1, 1, 0.25, 0),
        ([Application(40)], 0, 1, 0.25, 0),
        ([Application(40)], -1, 1, 0.25, 0),
        ([Application(40)], float("nan"), 1, 0.25, 0),
        ([Application(40)], 1, 0.9, 0.25, 0),
        ([Application(40)], 1, 1, -0.1, 0),
        ([Application(40)], 1, 1, 0.25, -1),
        ([Application(0)], 1, 1, 0.25, 0),
        ([Application(40, 0)], 1, 1, 0.25, 0),
        ([Application(40, 1, 0)], 1, 1, 0.25, 0),
        ([Application(40, 1, 1.1)], 1, 1, 0.25, 0),
    ],
)
def test_a_volume_from_senseless_figures_is_refused(applications, area, texture, reserve, dead):
    """No area, no passes, a transfer above 100 %: each is refused with its range."""
    with pytest.raises(BadQuantity):
        volume_ml(applications, area, texture, reserve, dead)


def test_a_stock_is_thinned_by_its_strength():
    """Grams before are grams after: 250 mL of 200 g/L in a litre are 50 g/L."""
    stock, water, words = from_stock(200, 50, 1000)
    assert (stock, water) == (250, 750)
    assert "250 mL of stock" in words
    with pytest.raises(BadQuantity):
        from_stock(50, 200, 1000)
    with pytest.raises(BadQuantity):
        from_stock(0, 50, 1000)


def order(*keys, volume_is="made up to"):
    return mixing_order([c.get(k) for k in keys], WATER, volume_is)


def at(lines, word):
    return next(n for n, text in enumerate(lines) if word in text)


def test_acid_goes_into_water():
    """Water first, then the acid, then the salts; made up at the end."""
    lines = order("ferric_nitrate_9h2o", "sulfuric_acid")
    assert "water" in lines[0]
    assert at(lines, "acid into water") < at(lines, "ferric nitrate")
    assert lines[-1].startswith("Make up to the volume")
    assert not any("Make up" in text for text in order("ferric_nitrate_9h2o", volume_is="added to"))


def test_peroxide_goes_in_cold_and_last():
    """After everything else, into the cold solution, in an open vessel."""
    lines = order("hydrogen_peroxide", "acetic_acid", "sodium_chloride")
    assert at(lines, "hydrogen peroxide") == len(lines) - 2
    assert "cold" in lines[-2]


def test_silver_stays_away_from_ammonia():
    """Their solution is never kept."""
    lines = order("ammonia_solution", "silver_nitrate")
    assert "explodes" in lines[0]
    assert at(lines, "Dissolve silver nitrate") < at(lines, "add ammonia solution")


@pytest.mark.parametrize(
    "acid", ["nitric_acid", "acetic_acid", "ferric_nitrate_9h2o", "ferric_chloride_6h2o", "cupric_nitrate_3h2o"]
)
def test_sulphide_and_acid_are_never_mixed(acid):
    """With an acid or an acid salt in the same pot there is no order of mixing, only a refusal."""
    lines = order("liver_of_sulphur", acid)
    assert lines[0].startswith("Do not mix this")
    assert not any(text.startswith(("Put", "Add", "Stir", "Make up")) for text in lines)


def test_bismuth_goes_into_strong_acid():
    """Only a little water before the acid, or it turns to milk."""
    lines = order("bismuth_nitrate_5h2o", "nitric_acid")
    assert "tenth" in lines[0]
    assert at(lines, "nitric acid") < at(lines, "bismuth")


def test_wax_is_melted_before_the_solvent_and_away_from_flame():
    """Solvent comes to the molten wax once it is off the heat, never the wax into hot solvent."""
    lines = mixing_order([c.get("microcrystalline_wax")], c.get("white_spirit"))
    assert lines[0].startswith("Melt microcrystalline wax")
    assert "away from every flame" in lines[1]
    assert "white spirit" in lines[-1]


def test_every_substance_has_its_place():
    """No substance of the catalogue is without a sentence."""
    for s in c.substances.values():
        assert any(s.name in text for text in mixing_order([s], WATER))


def test_density_of_water_and_of_nothing_dissolved():
    """Water at 20 °C is 0.9982 g/mL; more than fits is refused; an error always stands beside."""
    assert density_of({})[0] == pytest.approx(0.998204, abs=1e-6)
    with pytest.raises(CannotConvert):
        density_of({c.get("cupric_nitrate_3h2o"): 4000})
    known, guessed = density_of({c.get("ammonium_chloride"): 50}), density_of({c.get("liver_of_sulphur"): 50})
    assert 0 < known[1] < guessed[1]
    assert "rough" in guessed[2]
