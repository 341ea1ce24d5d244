"""Colour differences against published pairs and against colour-science."""

from __future__ import annotations

import csv
import warnings
from pathlib import Path

import numpy as np
import pytest

from patina.colour.difference import FORMULAS, compare, delta_e_many
from patina.colour.values import Lab
from patina.errors import BadQuantity, NotComparable

PAIRS = Path(__file__).parent / "data" / "ciede2000_pairs.csv"
HALF_OF_LAST_DIGIT = 0.5e-4


def published_pairs() -> list[dict[str, str]]:
    """Table 1 of Sharma, Wu, Dalal 2005."""
    return list(csv.DictReader(line for line in PAIRS.read_text().splitlines() if not line.startswith("#")))


@pytest.fixture(scope="module")
def referee():
    """colour-science's difference functions."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour.difference


@pytest.fixture(scope="module")
def random_pairs() -> tuple[np.ndarray, np.ndarray]:
    """Far and near pairs, greys and equal ones among them."""
    rng = np.random.default_rng(20141101)
    low, high = [0, -110, -110], [100, 110, 110]
    first = rng.uniform(low, high, (6000, 3))
    second = rng.uniform(low, high, (6000, 3))
    second[2000:4000] = first[2000:4000] + rng.normal(0, 2, (2000, 3))
    second[4000:5000] = first[4000:5000] + rng.normal(0, 1e-3, (1000, 3))
    first[5000:5100, 1:] = 0
    second[5050:5150, 1:] = 0
    second[5200:5300] = first[5200:5300]
    return first, second


@pytest.mark.parametrize("row", published_pairs(), ids=lambda row: f"pair-{row['pair']}")
def test_published_pair(row):
    """Every pair of Sharma, Wu, Dalal 2005 comes out as printed, both ways round; pair 14, which lies on the step
    of the mean hue, as one of its two answers."""
    first = Lab(*(float(row[name]) for name in ("L1", "a1", "b1")))
    second = Lab(*(float(row[name]) for name in ("L2", "a2", "b2")))
    answers = [float(row["delta_e"])] + ([float(row["other_answer"])] if row["other_answer"] else [])
    for one, other in ((first, second), (second, first)):
        found = compare(one, other).delta_e
        assert min(abs(found - answer) for answer in answers) <= HALF_OF_LAST_DIGIT + 1e-9


def test_the_table_is_whole():
    """All 34 pairs are there."""
    assert [int(row["pair"]) for row in published_pairs()] == list(range(1, 35))


@pytest.mark.parametrize(("formula", "method"), [("de94", "CIE 1994"), ("cmc", "CMC"), ("de76", "CIE 1976")])
def test_older_formulas_agree_with_colour_science(referee, random_pairs, formula, method):
    """CIE94 (graphic arts), CMC (2:1) and CIE76 agree with colour-science, over many rows and over few."""
    first, second = random_pairs
    expected = referee.delta_E(first, second, method=method)
    assert np.max(np.abs(delta_e_many(first, second, formula) - expected)) < 1e-9
    few = slice(4990, 5040)
    assert np.max(np.abs(delta_e_many(first[few], second[few], formula) - expected[few])) < 1e-9


def test_ciede2000_agrees_with_colour_science(referee, random_pairs):
    """CIEDE2000 agrees with colour-science to 1e-9 on far, near, grey and equal pairs."""
    first, second = random_pairs
    expected = referee.delta_E_CIE2000(first, second)
    assert np.max(np.abs(delta_e_many(first, second) - expected)) < 1e-9


def test_many_pairs_in_threads_give_the_same_figures(random_pairs):
    """A long table gives the same figures as its rows alone."""
    first, second = (np.tile(side, (12, 1)) for side in random_pairs)
    whole = delta_e_many(first, second)
    assert np.array_equal(whole[:6000], delta_e_many(first[:6000], second[:6000]))
    assert np.array_equal(whole[-6000:], whole[:6000])


def test_ciede2000_agrees_with_colormath(random_pairs):
    """CIEDE2000 agrees with colormath to 1e-4: colormath does not wrap the mean hue at 360 degrees."""
    from colormath.color_diff_matrix import delta_e_cie2000

    first, second = (side[2000:2100] for side in random_pairs)
    expected = [delta_e_cie2000(a, b[None, :])[0] for a, b in zip(first, second, strict=True)]
    assert np.max(np.abs(delta_e_many(first, second) - expected)) < 1e-4


def test_the_standard_comes_first(random_pairs):
    """CIE94 and CMC differ when reference and sample change places; CIEDE2000 and CIE76 do not."""
    first, second = (side[2000:2500] for side in random_pairs)
    apart = {f: np.max(np.abs(delta_e_many(first, second, f) - delta_e_many(second, first, f))) for f in FORMULAS}
    assert apart["de2000"] < 1e-9 and apart["de76"] < 1e-9
    assert apart["de94"] > 0.01 and apart["cmc"] > 0.01


def test_words_follow_the_signs():
    """Words say what the sample is against the reference: minus the sign of sample less reference."""
    difference = compare(Lab(40, 10, 20), Lab(35, 12, 14))
    assert difference.words.split(", ") == ["bluer", "darker", "duller", "redder"]
    assert (difference.dL, difference.da, difference.db) == (-5, 2, -6)
    assert difference.dC < 0 and difference.dH < 0
    assert compare(Lab(40, 10, 20), Lab(40, 10, 20)).words == "no difference worth a word"


def test_hue_and_chroma_parts_add_up(random_pairs):
    """dL, dC and dH are the parts of the CIE76 difference at right angles."""
    for one, other in zip(*(side[:50] for side in random_pairs), strict=True):
        d = compare(Lab(*one), Lab(*other), "de76")
        assert d.dL**2 + d.dC**2 + d.dH**2 == pytest.approx(d.delta_e**2, rel=1e-9)


def test_other_terms_are_refused():
    """Colours of different illuminants or observers are refused; so are unknown formulas and non-numbers."""
    with pytest.raises(NotComparable):
        compare(Lab(40, 0, 0), Lab(40, 0, 0, illuminant="D65"))
    with pytest.raises(NotComparable):
        compare(Lab(40, 0, 0), Lab(40, 0, 0, observer="10"))
    with pytest.raises(BadQuantity):
        compare(Lab(40, 0, 0), Lab(40, 0, 0), "de2001")
    with pytest.raises(BadQuantity):
        compare(Lab(40, 0, 0), Lab(float("nan"), 0, 0))
    with pytest.raises(BadQuantity):
        delta_e_many([[1, 2, 3]], [[1, 2, 3], [4, 5, 6]])
