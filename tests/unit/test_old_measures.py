"""Old measures are intervals with their assumption in words."""

from __future__ import annotations

import pytest

from patina.chemistry.old_measures import baume_density_g_ml, old_measure
from patina.chemistry.substances import catalogue
from patina.errors import BadQuantity, CannotConvert

c = catalogue()


def read(written, key="cupric_nitrate_3h2o", volume_ml=None):
    return old_measure(written, c.get(key), volume_ml)


def test_a_spoon_is_an_interval_that_holds_the_trade_figure():
    """A teaspoon per US pint is somewhere around 11 to 13 g/L, and the interval is wider than that."""
    found = read("1 tsp per US pint")
    assert found.low_g_per_l < 11
    assert found.high_g_per_l > 13
    assert "30 %" in found.assumption
    assert "bulk density" in found.assumption


def test_a_drachm_per_pint_runs_over_all_its_readings():
    """From a dram avoirdupois in an imperial pint to an apothecaries' drachm in a US pint."""
    found = read("1 drachm to the pint", "liver_of_sulphur")
    assert found.low_g_per_l == pytest.approx(1000 * 1.7718451953125 / 568.26125)
    assert found.high_g_per_l == pytest.approx(1000 * 3.8879346 / 473.176473)


def test_an_ounce_of_acid_is_a_fluid_ounce():
    """For a liquid the ounce is taken by volume, and says so."""
    found = read("2 oz/gal", "nitric_acid")
    assert "fluid ounce" in found.assumption
    solid = read("2 oz/gal", "liver_of_sulphur")
    assert "by weight" in solid.assumption
    assert solid.low_g_per_l == pytest.approx(12.4720, abs=1e-4)


@pytest.mark.parametrize("words", ["weak stock", "medium stock", "medium", "strong solution", "tea colour"])
def test_words_of_strength_have_wide_intervals(words):
    """'Medium' has no agreed meaning: the ends differ at least twofold."""
    found = read(words, "ferric_nitrate_9h2o")
    assert found.high_g_per_l >= 2 * found.low_g_per_l
    assert "PRACTICE" in found.source


def test_a_spoon_in_a_volume_given_apart():
    """2 tsp in 250 mL: the volume may be said beside the words, and must be said somewhere."""
    apart, within = read("2 tsp", volume_ml=250), read("2 tsp in 250 mL")
    assert (apart.low_g_per_l, apart.high_g_per_l) == pytest.approx((within.low_g_per_l, within.high_g_per_l))
    with pytest.raises(BadQuantity):
        read("2 tsp")


def test_a_certain_strength_stays_a_single_figure():
    """5 g/L needs no guessing."""
    found = read("5 g/L")
    assert found.low_g_per_l == found.high_g_per_l == 5
    half = read("½ oz per pint", "ammonium_chloride")
    assert half.low_g_per_l == pytest.approx(1000 * 28.349523125 / 2 / 568.26125)


def test_degrees_baume_give_a_density_and_then_grams():
    """42 °Bé is about 1.41 g/mL, ferric chloride of about 40 % by weight. Source: [BAUME]"""
    low, high = baume_density_g_ml(42)
    assert low == pytest.approx(1.41, abs=0.01)
    assert high == pytest.approx(1.41, abs=0.01)
    found = read("42 °Bé", "ferric_chloride_anh")
    assert found.low_g_per_l < 0.40 * 1416 < found.high_g_per_l
    ammonia = read("26 Be", "ammonia_solution")
    assert ammonia.low_g_per_l < 0.28 * 896.9 + 15
    assert ammonia.high_g_per_l > 0.28 * 896.9 - 15


@pytest.mark.parametrize("written", ["66 Bé", "66 deg Baume", "66° Baumé"])
def test_oil_of_vitriol_of_66_degrees(written):
    """66 °Bé sulphuric acid is about 93.2 % by weight, 1.835 g/mL at 60 °F: in the interval. Source: [BAUME]"""
    found = read(written, "sulfuric_acid")
    assert found.low_g_per_l < 0.932 * 1835 < found.high_g_per_l


def test_volumes_of_peroxide():
    """10 volumes is about 3 %, 100 volumes about 30 %. Source: [PEROXIDE-VOL]"""
    ten, hundred = read("10 vol", "hydrogen_peroxide"), read("100 volumes", "hydrogen_peroxide")
    assert ten.low_g_per_l < 30 < ten.high_g_per_l
    assert hundred.high_g_per_l == pytest.approx(303.5, abs=0.1)
    with pytest.raises(BadQuantity):
        read("10 vol", "nitric_acid")


@pytest.mark.parametrize(
    ("written", "key", "kind"),
    [
        ("3 foos per pint", "ammonium_chloride", BadQuantity),
        ("2 tsp per foo", "ammonium_chloride", BadQuantity),
        ("2 tsp per ounce", "ammonium_chloride", BadQuantity),
        ("5 Bé", "titanium_dioxide", CannotConvert),
        ("65 Bé", "ammonium_chloride", CannotConvert),
        ("90 Bé", "nitric_acid", BadQuantity),
        ("", "nitric_acid", BadQuantity),
    ],
)
def test_what_cannot_be_read_is_refused(written, key, kind):
    """Unknown words, a weight below the bar, degrees that no solution reaches."""
    with pytest.raises(kind):
        read(written, key, 1000 if not written else None)
