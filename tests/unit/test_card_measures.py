"""Cards that measure more than one thing: every measure is read, each for the substance it is of.

Sizes are those of published tables: a US teaspoon of 4.93 mL and a US pint of 473.2 mL (NIST Handbook 44), an imperial
pint of 568.3 mL (Weights and Measures Act 1985); bulk density of a powdered salt 0.8 to 1.3 g/mL and a third more or
less for heap and grain are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from patina.bench.matched import reconstruct
from patina.bench.recipes import household
from patina.bench.studio import Studio, open_studio
from patina.chemistry.substances import catalogue
from patina.matching.card import read_card

US_PINT_ML, IMPERIAL_PINT_ML, TEASPOON_ML = 473.2, 568.3, 5.0


def spooned(card: str, chemical: str = "") -> household.Spooned:
    """The measures of a card, of the chemical that is named, else of what the card itself names."""
    known = catalogue()
    read = read_card(card, known.names())
    name = chemical or household.named(known, read)
    return household.read_measures(known, read, known.find(name) if name else None, None)


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """An empty studio."""
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def test_a_second_substance_is_told_beside_the_first() -> None:
    """A card that measures a nitrate and a salt gives the strength of the one that colours, and tells the other's;
    the pint at the end is that of both."""
    found = spooned("2 teaspoons of cupric nitrate and a teaspoon of salt in a pint, hot")
    (strength,) = found.readings
    ((name, salt),) = found.beside
    assert name == "sodium chloride"
    assert found.left == ()
    for reading, spoons in ((strength, 2), (salt, 1)):
        grams_low, grams_high = (spoons * TEASPOON_ML * d for d in (0.8, 1.3))
        assert reading.low_g_per_l < 1000 * grams_low / IMPERIAL_PINT_ML
        assert reading.high_g_per_l > 1000 * grams_high / US_PINT_ML
        assert reading.high_g_per_l < 1000 * 1.5 * grams_high / US_PINT_ML
    assert strength.low_g_per_l == pytest.approx(2 * salt.low_g_per_l)
    told = {row.name: row.meaning for row in found.rows("strength")}
    assert set(told) == {"strength", "beside it: sodium chloride"}


def test_the_chemical_that_is_asked_for_is_the_one_that_is_sought() -> None:
    """Asked for the salt, the salt's spoon is the strength and the nitrate is told beside."""
    found = spooned("2 teaspoons of cupric nitrate and a teaspoon of salt in a pint", "sodium chloride")
    assert [r.said for r in found.readings] == ["a teaspoon in a pint"]
    assert [name for name, _ in found.beside] == ["cupric nitrate trihydrate"]


def test_a_volume_that_stands_alone_is_that_of_the_spoons() -> None:
    """ "2 teaspoons, a pint of water" is two teaspoons in a pint; "in a pint" says the same."""
    alone = spooned("2 teaspoons, a pint of water, 3 coats", "cupric nitrate")
    within = spooned("2 teaspoons in a pint, 3 coats", "cupric nitrate")
    assert [(r.low_g_per_l, r.high_g_per_l) for r in alone.readings] == [
        (r.low_g_per_l, r.high_g_per_l) for r in within.readings
    ]
    assert alone.left == ()


def test_several_measures_of_one_thing_are_each_tried() -> None:
    """Two strengths on one card are two candidates, which is said; neither is dropped."""
    found = spooned("2 teaspoons in a pint, then 1 teaspoon in a pint", "cupric nitrate")
    strong, weak = found.readings
    assert strong.low_g_per_l == pytest.approx(2 * weak.low_g_per_l)
    assert any("Each is tried" in caution for caution in found.cautions)
    assert found.left == ()


def test_two_volumes_are_nobodys() -> None:
    """Where a card names two volumes apart, none of them is supposed; both are told as not understood."""
    found = spooned("2 teaspoons, a pint, a quart", "cupric nitrate")
    assert found.left == ("a pint", "a quart")
    assert "which the card does not say" in found.readings[0].assumption


def test_a_measure_that_is_none_of_a_substance_is_left(studio: Studio) -> None:
    """What the card calls its substance is taken for what works, and said; forms of one salt are one thing."""
    sheet = reconstruct.reconstruct(studio, "2 teaspoons of ferric nitrate, a pinch of salt in a pint, hot", "30,8,10")
    assert any("'ferric nitrate nonahydrate' is taken for what works" in c for c in sheet.cautions)
    assert any(row.name == "beside it: sodium chloride" for row in sheet.meant)
    assert sheet.left == ()
    again = reconstruct.reconstruct(
        studio, "2 teaspoons of ferric nitrate, a pinch of salt in a pint, hot", "30,8,10", chemical="salt"
    )
    assert any(row.name.startswith("beside it: ferric nitrate") for row in again.meant)


def test_names_stand_with_and_without_of() -> None:
    """ "1 pinch salt" and "a spoon of liver of sulphur": the longest name that fits is taken."""
    card = read_card("a spoon of liver of sulphur, 1 pinch salt", catalogue().names())
    assert card.measures == ("a spoon", "1 pinch")
    assert card.of == ("liver of sulphur", "salt")
    assert card.left == ()
