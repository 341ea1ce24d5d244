"""Strengths as recipes write them."""

from __future__ import annotations

import pytest

from patina.chemistry.strength import parse_strength, show_strength
from patina.errors import AmbiguousQuantity, BadQuantity

READ = [
    ("5 g/L", "g_per_l", 5),
    ("5g/l", "g_per_l", 5),
    ("5 g per litre", "g_per_l", 5),
    ("5 g L-1", "g_per_l", 5),
    ("0,5 g/L", "g_per_l", 0.5),
    ("50 g / 500 mL", "g_per_l", 100),
    ("50 g made up to 1 L", "g_per_l", 50),
    ("5 g⋅L−1", "g_per_l", 5),
    ("5 gL-1", "g_per_l", 5),
    ("½ oz per gallon US", "g_per_l", 28.349523125 / 2 / 3.785411784),
    ("5 av oz/imp gal", "g_per_l", 5 * 28.349523125 / 4.54609),
    ("0.5 mol dm-3", "mol_per_l", 0.5),
    ("3 % (wt/vol)", "pct_wv", 3),
    ("3 % wt/wt", "pct_ww", 3),
    ("3 % vol/vol", "pct_vv", 3),
    ("5 g per 100 mL", "g_per_l", 50),
    ("200 g in 1 L of water", "g_per_l", 200),
    ("300 mg/L", "g_per_l", 0.3),
    ("3 kg/m3", "g_per_l", 3),
    ("2 oz av/imp gal", "g_per_l", 2 * 28.349523125 / 4.54609),
    ("2 troy oz/imp gal", "g_per_l", 2 * 31.1034768 / 4.54609),
    ("1 lb/US gal", "g_per_l", 453.59237 / 3.785411784),
    ("5 % w/v", "pct_wv", 5),
    ("5% (w/v)", "pct_wv", 5),
    ("5 % m/v", "pct_wv", 5),
    ("5 % w/w", "pct_ww", 5),
    ("5 % by weight", "pct_ww", 5),
    ("5 wt%", "pct_ww", 5),
    ("50 g/kg", "pct_ww", 5),
    ("10 % v/v", "pct_vv", 10),
    ("10 per cent by volume", "pct_vv", 10),
    ("10 mL/L", "pct_vv", 1),
    ("2 fl oz/US gal", "pct_vv", 1.5625),
    ("0.1 mol/L", "mol_per_l", 0.1),
    ("0.1 M", "mol_per_l", 0.1),
    ("100 mmol/L", "mol_per_l", 0.1),
    ("1 part in 20", "parts_in", 0.05),
    ("1 in 20", "parts_in", 0.05),
    ("2 parts in 100", "parts_in", 0.02),
    ("1 part to 20", "parts_to", 0.05),
    ("1 part to 20 parts of water", "parts_to", 0.05),
    ("1 part acid to 20 parts water", "parts_to", 0.05),
    ("1 + 19", "parts_to", 1 / 19),
]


@pytest.mark.parametrize(("written", "basis", "value"), READ)
def test_a_strength_is_read_with_its_basis(written, basis, value):
    """The basis is kept, the value is exact, the person's words stay."""
    strength = parse_strength(written)
    assert (strength.basis, strength.as_written) == (basis, written)
    assert strength.value == pytest.approx(value, rel=1e-12)


def test_an_ounce_per_gallon_is_the_ounce_of_weight_and_says_so():
    """An ounce over a named gallon is avoirdupois: 14.9783 g/L per US, 12.4720 g/L per imperial gallon."""
    us, imperial = parse_strength("2 oz/US gal"), parse_strength("2 oz per imperial gallon")
    assert us.value == pytest.approx(14.9783, abs=5e-5)
    assert imperial.value == pytest.approx(12.4720, abs=5e-5)
    assert "avoirdupois" in us.note


def test_parts_keep_whether_they_are_by_weight_or_by_volume():
    """Only what is written is kept; nothing is taken when nothing is said."""
    assert parse_strength("1 part in 20 by volume").by == "volume"
    assert parse_strength("1 part in 20 w/w").by == "weight"
    assert parse_strength("1 part in 20").by == ""


@pytest.mark.parametrize("written", ["1:20", "1/20", "1 to 20", "1 : 20"])
def test_a_bare_ratio_is_shown_in_both_readings(written):
    """1:20 is 5.00 % as one part in twenty and 4.76 % as one part to twenty."""
    with pytest.raises(AmbiguousQuantity) as trouble:
        parse_strength(written)
    assert "5.00 %" in trouble.value.what
    assert "4.76 %" in trouble.value.what
    assert len(trouble.value.readings) == 2


@pytest.mark.parametrize(
    ("written", "must_say"),
    [
        ("2 oz/gal", ("14.98", "12.47")),
        ("2 oz", ("28.35 g", "31.10 g", "29.57 mL", "28.41 mL")),
        ("5 %", ("w/v", "w/w", "v/v")),
        ("1,234 g/L", ("1.234", "1234")),
        ("1 part in 1,000", ("1.000", "1000")),
        ("1:1,000", ("1.000", "1000")),
        ("50 g / 1,000 mL", ("1.000", "1000")),
        ("1 tsp/US pt", ("spoon",)),
    ],
)
def test_other_doubtful_strengths_show_their_readings(written, must_say):
    """Each reading is named, with its figure where it has one."""
    with pytest.raises(AmbiguousQuantity) as trouble:
        parse_strength(written, "strength")
    assert all(words in trouble.value.what for words in must_say)
    assert trouble.value.field == "strength"


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("0 g/L", "zero"),
        ("-5 g/L", "negative"),
        ("5000000 g/L", "too much"),
        ("120 % w/w", "100 %"),
        ("150 % v/v", "100 %"),
        ("100 mol/L", "60 mol/L"),
        ("5 g/L 3 %", "two amounts"),
        ("5 g / 500 mL 3 g", "two amounts"),
        ("2 g + 3 g / L", "two amounts"),
        ("five", "begin with a number"),
        ("5", "without a unit"),
        ("", "Nothing"),
        ("nan", "not a number"),
        ("nan g/L", "not a number"),
        ("inf g/L", "not a number"),
        ("5 g", "in how much"),
        ("5 N", "normality"),
        ("5 m", "molality"),
        ("100 ppm", "parts of what"),
        ("1-2 g/L", "range"),
        ("5 g/m2", "not a strength"),
        ("5 g/0 mL", "zero volume"),
        ("5 foo/L", "foo"),
        ("5 g/foo", "foo"),
        ("5 % x/y", "basis"),
        ("20 parts in 1", "more than the whole"),
        ("1 part in 0", "zero"),
        ("1 part in 20 apples", "apples"),
        ("5 g/L or so", "or so"),
    ],
)
def test_what_is_no_strength_is_refused(written, says):
    """Each refusal has its own sentence and a remedy."""
    with pytest.raises(BadQuantity) as trouble:
        parse_strength(written)
    assert says in trouble.value.what
    assert trouble.value.remedy


@pytest.mark.parametrize("written", [written for written, _, _ in READ])
def test_showing_a_strength_and_reading_it_back_changes_nothing(written):
    """show_strength is the inverse of parse_strength."""
    strength = parse_strength(written)
    again = parse_strength(show_strength(strength))
    assert (again.basis, again.by) == (strength.basis, strength.by)
    assert again.value == pytest.approx(strength.value, rel=1e-10)
