"""What to weigh: hydrates, assay, density, both kinds of volume, rounding, solubility."""

from __future__ import annotations

import pytest

from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.hydrates import convert_g, same_salt
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.chemistry.weighing import round_to_step, weigh
from patina.errors import BadQuantity, CannotConvert

c = catalogue()


def line(key, strength, volume_ml=1000.0, volume_is="made up to", have=None, **more):
    return weigh(c.get(key), parse_strength(strength), volume_ml, volume_is, have=c.get(have) if have else None, **more)


def codes(weighing):
    return {warning.code for warning in weighing.warnings}


def test_another_hydrate_is_weighed_by_moles_of_the_salt():
    """100 g/L of the trihydrate is 96.27 g/L of the hemipentahydrate: 100 × 232.5941 / 241.6017."""
    w = line("cupric_nitrate_3h2o", "100 g/L", have="cupric_nitrate_2_5h2o")
    assert w.amount == pytest.approx(96.272, abs=5e-4)
    assert (w.rounded, w.unit) == (96.3, "g")
    assert w.achieved_g_per_l == pytest.approx(100 * 96.3 / 96.2717, abs=1e-3)
    assert w.asked_g_per_l == 100
    assert "232.5941 / 241.6017" in w.working
    assert "other_form" in codes(w)


def test_assay_is_divided_by():
    """Silver nitrate of 98 % takes 1/0.98 of the grams; flake of 60 % is counted through its Na2S."""
    assert line("silver_nitrate", "10 g/L", have_assay_pct=98).amount == pytest.approx(10 / 0.98)
    flake = line("sodium_sulfide_9h2o", "100 g/L", have="sodium_sulfide_flake")
    assert flake.amount == pytest.approx(100 * 78.0445 / 240.1819 / 0.60, rel=1e-4)


def test_acids_are_measured_by_density_and_assay():
    """1 mol of nitric acid is 63.0129 g, 96.94 g of 65 % acid, 69.69 mL at 1.3911 g/mL."""
    w = line("nitric_acid", "1 mol/L")
    assert w.unit == "mL"
    assert w.amount == pytest.approx(69.69, abs=0.005)
    assert "assay_taken" in codes(w)
    stronger = line("nitric_acid", "1 mol/L", have_assay_pct=68)
    assert stronger.amount == pytest.approx(63.0129 / 0.68 / 1.4048, abs=0.005)
    assert "assay_taken" not in codes(stronger)


def test_volume_per_cent_counts_the_liquid_as_sold():
    """10 % v/v of any acid is 100 mL of what is in the bottle to the litre, whatever its assay."""
    assert line("nitric_acid", "10 % v/v").amount == pytest.approx(100)
    assert line("nitric_acid", "10 % v/v", have_assay_pct=40).amount == pytest.approx(100)


def test_a_liquid_can_stand_for_its_crystals():
    """Ferric chloride as 40 % solution, by moles of iron and by its density."""
    w = line("ferric_chloride_6h2o", "100 g/L", have="ferric_chloride_solution")
    assert w.unit == "mL"
    assert w.amount == pytest.approx(100 * 162.2037 / 270.2954 / 0.40 / 1.416, rel=1e-4)


@pytest.mark.parametrize(
    ("asked", "have"),
    [
        ("potassium_sulfide", "liver_of_sulphur"),
        ("liver_of_sulphur", "potassium_sulfide"),
        ("cupric_acetate_1h2o", "cupric_acetate_basic"),
        ("cupric_nitrate_3h2o", "ferric_nitrate_9h2o"),
    ],
)
def test_another_substance_is_not_weighed_in_its_place(asked, have):
    """Liver of sulphur is no potassium sulphide; a different salt or a mixture cannot be converted."""
    assert not same_salt(c.get(asked), c.get(have))
    with pytest.raises(CannotConvert) as trouble:
        line(asked, "5 g/L", have=have)
    assert c.get(have).name in trouble.value.what


def test_a_mixture_is_weighed_as_itself_only_by_weight():
    """Liver of sulphur takes g/L; mol/L has no meaning for it."""
    assert line("liver_of_sulphur", "5 g/L", 1768).amount == pytest.approx(8.84)
    with pytest.raises(CannotConvert):
        line("liver_of_sulphur", "0.1 M")


def test_added_to_counts_the_solvent():
    """5 g/L added to 2 L of water is 10 g in 2 L of water; 10 % w/w needs 110.9 g to a litre of water."""
    assert line("ammonium_chloride", "5 g/L", 2000, "added to").amount == pytest.approx(10)
    w = line("ammonium_chloride", "10 % w/w", 1000, "added to")
    assert w.amount == pytest.approx(998.204 / 9, rel=1e-6)
    assert w.amount / (w.amount + 998.204) == pytest.approx(0.10)


def test_made_up_to_by_weight_needs_a_density_and_says_how_sure_it_is():
    """10 % w/w of ammonium chloride at 1.0277 g/mL is about 102.8 g/L; a measured density is taken instead."""
    grams, words = grams_per_litre(parse_strength("10 % w/w"), c.get("ammonium_chloride"), volume_is="made up to")
    assert grams == pytest.approx(102.8, abs=0.3)
    assert "estimated" in words
    measured, words = grams_per_litre(
        parse_strength("10 % w/w"), c.get("ammonium_chloride"), volume_is="made up to", solution_density_g_ml=1.03
    )
    assert measured == pytest.approx(103.0)
    assert "as measured" in words


def test_the_water_in_an_acid_counts_when_it_is_added():
    """10 % w/w nitric acid from 65 %: of the final weight a tenth is HNO3, its own water included."""
    grams, _ = grams_per_litre(parse_strength("10 % w/w"), c.get("nitric_acid"), volume_is="added to")
    assert grams / (998.204 + grams / 0.65) == pytest.approx(0.10)


def test_parts_are_by_weight_for_solids_and_by_volume_for_liquids():
    """The working says which was taken; one part in 20 and one part to 20 differ by 1/20."""
    solid, words = grams_per_litre(parse_strength("1 part to 20"), c.get("ammonium_chloride"), volume_is="added to")
    assert solid == pytest.approx(998.204 / 20)
    assert "taken by weight" in words
    one_in, words = grams_per_litre(parse_strength("1 part in 20"), c.get("nitric_acid"), volume_is="made up to")
    one_to, _ = grams_per_litre(parse_strength("1 part to 20"), c.get("nitric_acid"), volume_is="made up to")
    assert one_in == pytest.approx(50 * 1.3911 * 0.65)
    assert one_in / one_to == pytest.approx(21 / 20)
    assert "taken by volume" in words


@pytest.mark.parametrize("strength", ["10 % v/v", "1 part in 20 by volume"])
def test_a_solid_has_no_volume_per_cent(strength):
    """A powder's volume depends on how it lies; it is refused."""
    with pytest.raises(CannotConvert):
        line("silver_nitrate", strength)


def test_rounding_is_half_even_and_its_error_is_said():
    """To the step of the balance, the error in per cent of the amount, a caution above 2 %."""
    assert [round_to_step(x, 0.1) for x in (0.25, 0.35, 96.2716)] == [0.2, 0.4, 96.3]
    assert round_to_step(2.5, 1) == 2.0
    w = line("silver_nitrate", "1 g/L", 260)
    assert w.rounded == 0.3
    assert w.error_pct == pytest.approx(100 * 0.04 / 0.26)
    assert "rounding" in codes(w)
    assert "rounding" not in codes(line("silver_nitrate", "1 g/L", 260, step_g=0.01))


def test_nothing_is_ever_silently_left_out():
    """An amount below half a step rounds to 0 and says so."""
    w = line("silver_nitrate", "1 g/L", 20)
    assert w.rounded == 0
    assert "rounds_to_nothing" in codes(w)
    assert w.error_pct == -100


def test_more_than_dissolves_is_said():
    """Permanganate at 100 g/L is above 64 g per litre of water; at 50 g/L it is not. A pigment never dissolves."""
    assert "solubility" in codes(line("potassium_permanganate", "100 g/L"))
    assert "solubility" not in codes(line("potassium_permanganate", "50 g/L"))
    assert "insoluble" in codes(line("titanium_dioxide", "20 g/L"))
    assert "solubility" in codes(line("ammonium_chloride", "400 g/L", 1000, "added to"))
    assert "solubility_unknown" in codes(line("benzotriazole", "3 % w/v", solvent=c.get("ethanol")))


@pytest.mark.parametrize(
    "more",
    [
        {"volume_ml": 0},
        {"volume_ml": -1},
        {"volume_ml": float("nan")},
        {"have_assay_pct": 0},
        {"have_assay_pct": 101},
        {"step_g": 0},
        {"volume_is": "about"},
    ],
)
def test_bad_amounts_are_refused(more):
    """Zero volumes, impossible assays and steps are refused before anything is reckoned."""
    with pytest.raises(BadQuantity):
        line("silver_nitrate", "1 g/L", **more)


def test_what_cannot_be_made_is_refused():
    """More acid than the pot holds, a grade whose density nobody knows, a solvent that is none."""
    with pytest.raises(CannotConvert):
        line("acetic_acid", "60 g/L", have="acetic_vinegar")
    with pytest.raises(CannotConvert):
        line("nitric_acid", "10 % v/v", have_assay_pct=90)
    with pytest.raises(CannotConvert):
        line("silver_nitrate", "1 g/L", solvent=c.get("beeswax"))
    with pytest.raises(BadQuantity):
        line("nitric_acid", "70 % w/w", 1000, "added to")


def test_a_liquid_of_unknown_density_goes_on_the_balance():
    """90 % nitric acid: no density is known here, but its grams are: 63.0129 / 0.90."""
    w = line("nitric_acid", "1 mol/L", have_assay_pct=90)
    assert w.unit == "g"
    assert w.amount == pytest.approx(63.0129 / 0.90, rel=1e-5)
    assert "weigh_liquid" in codes(w)


def test_convert_keeps_zero_and_refuses_negative():
    """No grams of one form are no grams of another."""
    a, b = c.get("cupric_nitrate_3h2o"), c.get("cupric_nitrate_6h2o")
    assert convert_g(0, a, b) == 0
    with pytest.raises(BadQuantity):
        convert_g(-1, a, b)
