"""Doses against worked examples and published reagent tables."""

from __future__ import annotations

import pytest

from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.density import as_sold_density_g_ml
from patina.chemistry.hydrates import convert_g
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.chemistry.weighing import weigh
from patina.recipe import Ingredient, Solution
from patina.safety.composition import compose

c = catalogue()


def test_trihydrate_from_hemipentahydrate():
    """100 × 232.5941 / 241.6017 = 96.272 g/L. Worked by hand from IUPAC weights."""
    assert convert_g(100, c.get("cupric_nitrate_3h2o"), c.get("cupric_nitrate_2_5h2o")) == pytest.approx(
        96.272, abs=5e-4
    )


def test_ferric_chloride_anhydrous_from_hexahydrate():
    """100 × 270.2954 / 162.2037 = 166.639 g/L. Worked by hand from IUPAC weights."""
    assert convert_g(100, c.get("ferric_chloride_anh"), c.get("ferric_chloride_6h2o")) == pytest.approx(
        166.639, abs=5e-4
    )


def test_hydrate_swap_at_equal_copper():
    """200 g of trihydrate are 193 g of hemipentahydrate or 245 g of hexahydrate. Worked by hand from IUPAC weights."""
    asked = c.get("cupric_nitrate_3h2o")
    assert round(convert_g(200, asked, c.get("cupric_nitrate_2_5h2o"))) == 193
    assert round(convert_g(200, asked, c.get("cupric_nitrate_6h2o"))) == 245


def test_ten_grams_to_a_hundred_millilitres_is_not_ten_per_cent():
    """10 g + 100 g of water is 9.091 % by weight: 10 % w/v added to water is not 10 % w/w."""
    grams, _ = grams_per_litre(parse_strength("1 part to 10"), c.get("ammonium_chloride"), volume_is="added to")
    assert 100 * grams / (grams + 998.204) == pytest.approx(9.091, abs=5e-4)


def test_one_to_ten_against_one_in_ten():
    """1 + 10 is 9.091 % v/v, 1 in 10 is 10 %: the ratio of the readings is 1.1."""
    one_in, _ = grams_per_litre(parse_strength("1 part in 10"), c.get("nitric_acid"), volume_is="made up to")
    one_to, _ = grams_per_litre(parse_strength("1 part to 10"), c.get("nitric_acid"), volume_is="made up to")
    assert one_in / one_to == pytest.approx(1.1)
    assert parse_strength("1 + 10").value == parse_strength("1 part to 10").value


def test_a_litre_of_molar_nitric_acid_from_65_per_cent():
    """M = 0.65 × 1391.1 / 63.0129 = 14.3497 mol/L; 1000 / M = 69.69 mL. M = 10 d % / MW, as in reagent tables."""
    assert weigh(c.get("nitric_acid"), parse_strength("1 mol/L"), 1000).amount == pytest.approx(69.69, abs=5e-3)


def test_ounces_per_gallon():
    """2 oz avoirdupois per gallon: 14.9783 g/L (US), 12.4720 g/L (imperial). NIST Handbook 44 factors."""
    assert parse_strength("2 oz av/US gal").value == pytest.approx(14.9783, abs=5e-5)
    assert parse_strength("2 oz av/imp gal").value == pytest.approx(12.4720, abs=5e-5)


def test_oxalic_acid_dihydrate_holds_less_acid():
    """30 g/L of the dihydrate is 21.43 g/L of dry acid: 30 × 90.035 / 126.066."""
    assert 30 * 90.035 / c.get("oxalic_acid_2h2o").molar_mass_g_mol == pytest.approx(21.43, abs=5e-3)


@pytest.mark.parametrize(
    ("key", "pct", "molar", "within"),
    [
        # Published tables of reagent molarities (ACS reagent table; laboratorynotes.com), read in copies.
        ("nitric_acid", 69.6, 15.6, 0.1),
        ("nitric_acid", 70.0, 15.7, 0.05),
        ("hydrochloric_acid", 37.2, 12.1, 0.05),
        ("sulfuric_acid", 96.0, 18.0, 0.1),
        ("acetic_acid", 99.7, 17.4, 0.05),
        ("ammonia_solution", 28.0, 14.8, 0.1),
        ("ammonia_solution", 35.0, 18.1, 0.05),
        ("hydrogen_peroxide", 30.0, 9.8, 0.05),
    ],
)
def test_molarity_of_liquids_as_sold(key, pct, molar, within):
    """Density × assay / molar mass is the printed molarity; ammonia counts NH3 (17.03), not NH4OH (35.05)."""
    s = c.get(key)
    density = as_sold_density_g_ml(s, pct)
    assert 10 * density * pct / s.active_molar_mass_g_mol == pytest.approx(molar, abs=within)


def test_ferric_nitrate_by_weight():
    """100 g/L ferric nitrate is below 10 % by weight (about 9.4 to 9.6 %), though it is 10 % w/v."""
    bath = Solution("bath", "distilled_water", (Ingredient("ferric_nitrate_9h2o", parse_strength("100 g/L")),))
    (found,) = (x for x in compose(bath, c).components if x.substance.key == "ferric_nitrate_9h2o")
    pct, error = found.pct_ww, found.error_pct_ww
    assert 9.3 < pct < 9.7
    assert pct + error < 10
