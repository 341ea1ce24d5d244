"""Words of old recipes as g/L: spoons and pints, ounces, degrees, ratios and per cent that do not say of what."""

from __future__ import annotations

import json
import tomllib

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from patina.bench.recipes.old import figure, old_strength, recipe_line
from patina.chemistry.strength import parse_strength
from patina.cli import patina
from patina.errors import BadQuantity, PatinaError, UnknownSubstance

NITRATE = "cupric nitrate trihydrate"


def test_a_teaspoon_per_us_pint_holds_what_the_guide_says() -> None:
    """One teaspoon per US pint: a restoration guide of the American government's buildings service gives a hot green of
    cupric nitrate so, and 1.0 to 1.2 g/mL in bulk make 10.4 to 12.5 g/L of a level 5 mL spoon in 473 mL (by hand);
    the interval holds that and is wider, for the spoon is heaped or not."""
    found = old_strength(None, "1 tsp per US pint", NITRATE)
    assert found.low_g_per_l < 1000 * 5 * 1.0 / 473.18 < 1000 * 5 * 1.2 / 473.18 < found.high_g_per_l
    assert found.high_g_per_l / found.low_g_per_l > 1.5
    assert not found.certain
    assert "spoon" in found.assumption
    assert "bulk density" in found.assumption


def test_ounces_per_gallon_hold_every_ounce_and_gallon() -> None:
    """2 oz/gal: avoirdupois in an imperial gallon is 12.47 g/L, troy in a US gallon 16.43 g/L (NIST Handbook 44 units,
    by hand: 2 × 28.3495 / 4.54609 and 2 × 31.1035 / 3.78541)."""
    found = old_strength(None, "2 oz/gal", NITRATE)
    assert found.low_g_per_l == pytest.approx(2 * 28.3495 / 4.54609, rel=1e-4)
    assert found.high_g_per_l == pytest.approx(2 * 31.1035 / 3.78541, rel=1e-4)


def test_a_bare_ratio_holds_both_readings() -> None:
    """1:20 may be 1 part in 20 or 1 part to 20; both stand in the words and lie in the interval."""
    found = old_strength(None, "1:20", "sodium chloride")
    assert "1 part in 20" in found.assumption
    assert "1 part to 20" in found.assumption
    assert found.low_g_per_l < 50 < found.high_g_per_l * 1.05
    assert found.low_g_per_l < found.high_g_per_l


def test_bare_per_cent_holds_its_readings() -> None:
    """5 % of a salt may be by volume of solution (50 g/L) or by weight (a little more)."""
    found = old_strength(None, "5 %", NITRATE)
    assert found.low_g_per_l == pytest.approx(50.0)
    assert 50.0 < found.high_g_per_l < 54.0


@pytest.mark.parametrize(("words", "grams"), [("50 g/L", 50.0), ("5 % w/v", 50.0), ("0.5 mol/L", 120.8)])
def test_what_needs_no_guessing_is_one_figure(words: str, grams: float) -> None:
    """g/L, % w/v and mol/L (241.60 g/mol, IUPAC weights from memory) are one figure."""
    found = old_strength(None, words, NITRATE)
    assert found.certain
    assert found.high_g_per_l == pytest.approx(grams, rel=1e-4)


def test_the_volume_may_be_told_beside_the_words() -> None:
    """2 tsp in 250 mL is twice as strong as in 500 mL; without a volume it is asked for."""
    small, large = (old_strength(None, "2 tsp", NITRATE, volume=v) for v in ("250 mL", "500 mL"))
    assert small.low_g_per_l == pytest.approx(2 * large.low_g_per_l)
    with pytest.raises(BadQuantity, match="in how much"):
        old_strength(None, "2 tsp", NITRATE)


@pytest.mark.parametrize("words", ["", "hello", "two", "-3 tsp per pint", "5 g per mile", "::", "1,234 g/L"])
def test_words_that_mean_nothing_are_refused(words: str) -> None:
    """What is no strength gets a sentence that says so."""
    with pytest.raises(BadQuantity):
        old_strength(None, words, NITRATE)


def test_a_substance_that_is_not_known_is_refused() -> None:
    """The substance is looked up in the catalogue."""
    with pytest.raises(UnknownSubstance):
        old_strength(None, "2 tsp per pint", "moon dust")


@pytest.mark.parametrize("words", ["2 tsp per US pint", "8 deg Baume", "medium stock", '2 "tea" spoons'])
def test_the_line_for_the_recipe_reads_back(words: str) -> None:
    """The line is TOML, and its strength reads as the figure that was chosen, within three figures."""
    try:
        found = old_strength(None, words, NITRATE)
    except PatinaError:
        assert '"' in words
        return
    read = tomllib.loads(recipe_line(found, found.middle_g_per_l))["strength"]
    assert parse_strength(read).value == pytest.approx(found.middle_g_per_l, rel=0.006)
    assert found.low_g_per_l <= found.middle_g_per_l <= found.high_g_per_l


@given(st.floats(1e-4, 5000.0))
def test_three_figures_are_kept(value: float) -> None:
    """A shown figure is within half a per cent of what it stands for and has no power of ten."""
    assert float(figure(value)) == pytest.approx(value, rel=0.0051)
    assert "e" not in figure(value)


def test_the_command_prints_one_document() -> None:
    """patina strength --json: low, high, assumption; refused words leave with 2 on the real command line."""
    told = CliRunner().invoke(patina, ["strength", "2 tsp per US pint", NITRATE, "--json"], catch_exceptions=False)
    document = json.loads(told.stdout)
    assert document["low_g_per_L"] < document["high_g_per_L"]
    assert document["substance"] == NITRATE
    assert document["certain"] is False


_TOKENS = st.sampled_from(
    [
        "2",
        "½",
        "1,5",
        "tsp",
        "oz",
        "per",
        "pint",
        "gal",
        "/",
        ":",
        "%",
        "deg",
        "Baume",
        "stock",
        "in",
        "to",
        "-",
        "e9",
        "١",
        "g/L",
    ]
)


@given(st.one_of(st.text(max_size=30), st.lists(_TOKENS, max_size=6).map(" ".join)))
def test_whatever_is_typed_is_an_interval_or_a_sentence(words: str) -> None:
    """Any text is either read, low end not above the high one and both above or at zero, or refused with a remedy."""
    try:
        found = old_strength(None, words, NITRATE)
    except PatinaError as trouble:
        assert trouble.what
        assert trouble.remedy
    else:
        assert 0 <= found.low_g_per_l <= found.high_g_per_l < float("inf")
        assert found.assumption
        assert tomllib.loads(recipe_line(found, found.middle_g_per_l))["strength"]
