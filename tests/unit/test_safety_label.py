"""Signal word, pictograms and statements after precedence (CLP Articles 26 to 28; 29 CFR 1910.1200 C.2.1)."""

from __future__ import annotations

import pytest

from patina.chemistry.substances import catalogue
from patina.errors import NotFound
from patina.safety.label import elements, label, precautions, statement, statements_after_precedence
from patina.safety.mixture import Component, classify
from patina.safety.rules import REGIMES, Finding, cut_offs


def finding(code: str, h: str, family: str) -> Finding:
    return Finding(family, 0, code, h, "why", "CLP_ANNEX_I")


POISON = finding("Acute Tox. 3", "H301", "acute oral")
HARMFUL = finding("Acute Tox. 4", "H312", "acute dermal")
SKIN = finding("Skin Irrit. 2", "H315", "skin")
EYE = finding("Eye Irrit. 2", "H319", "eye")
CORROSIVE = finding("Skin Corr. 1B", "H314", "skin")
EYE_DAMAGE = finding("Eye Dam. 1", "H318", "eye")
SENSITISER = finding("Skin Sens. 1", "H317", "Skin Sens.")
BREATHING = finding("Resp. Sens. 1", "H334", "Resp. Sens.")
AIRWAYS = finding("STOT SE 3", "H335", "STOT SE 3 H335")
METALS = finding("Met. Corr. 1", "H290", "metals")
CHRONIC = finding("Aquatic Chronic 2", "H411", "aquatic chronic")


@pytest.mark.parametrize(
    ("found", "regime", "pictograms"),
    [
        ([SKIN, EYE], "CLP", ("GHS07",)),
        ([POISON, SKIN, HARMFUL], "CLP", ("GHS06",)),  # skull in place of exclamation mark
        ([POISON, SKIN], "HCS", ("GHS06", "GHS07")),  # in the US only of the one for acute toxicity
        ([POISON, HARMFUL], "HCS", ("GHS06",)),
        ([EYE_DAMAGE, SKIN], "CLP", ("GHS05",)),  # corrosion in place of skin and eye irritation
        ([EYE_DAMAGE, SKIN, AIRWAYS], "CLP", ("GHS05", "GHS07")),
        ([CORROSIVE, HARMFUL], "CLP", ("GHS05", "GHS07")),
        ([METALS, SKIN], "CLP", ("GHS05", "GHS07")),  # corrosive to metals alone drops nothing
        ([BREATHING, SENSITISER, SKIN, EYE], "CLP", ("GHS08",)),
        ([BREATHING, AIRWAYS], "CLP", ("GHS07", "GHS08")),
        ([CHRONIC], "CLP", ("GHS09",)),
        ([], "CLP", ()),
    ],
)
def test_precedence_of_pictograms(found: list[Finding], regime: str, pictograms: tuple[str, ...]) -> None:
    """Which pictogram takes the place of which, and for which classes only."""
    assert label(found, regime).pictograms == pictograms


@pytest.mark.parametrize(
    ("codes", "left"),
    [
        (["H314", "H318", "H315", "H319"], ("H314",)),
        (["H318", "H319", "H315"], ("H315", "H318")),
        (["H400", "H410"], ("H410",)),
        (["H400", "H411"], ("H400", "H411")),
        (["H301", "H311"], ("H301", "H311")),
    ],
)
def test_statements_covered_by_another_are_left_out(codes: list[str], left: tuple[str, ...]) -> None:
    """H314 says H315, H318 and H319; H410 says H400; Acute 1 with Chronic 2 prints both."""
    assert statements_after_precedence(codes) == left


def test_signal_word_is_the_worst() -> None:
    """Danger outweighs Warning; a class without signal word has none."""
    assert label([SKIN]).signal_word == "Warning"
    assert label([SKIN, EYE_DAMAGE]).signal_word == "Danger"
    assert label([CHRONIC]).signal_word is None
    assert label([]).signal_word is None


def test_precautions_fit_the_classes() -> None:
    """First aid for a corrosive; the stronger of two that say the same."""
    chosen = precautions([CORROSIVE, SKIN, AIRWAYS])
    assert {"P280", "P301+P330+P331", "P303+P361+P353", "P305+P351+P338"} <= set(chosen)
    assert "P260" in chosen and "P261" not in chosen
    assert precautions([SKIN], kinds=("storage",)) == ()


def test_every_class_the_rules_can_give_has_label_elements_and_words() -> None:
    """Nothing the mixture rules can say is without signal word row and text."""
    classes = {c.mixture for regime in REGIMES for rows in cut_offs(regime).values() for c in rows}
    from patina.safety.label import _elements

    assert classes <= {code for code, _ in _elements()}
    for code, h in _elements():
        if h:
            assert statement(h)
            elements(code, h)


def test_every_substance_undiluted_has_a_label() -> None:
    """Each catalogue substance can be labelled as a mixture of itself alone, in both regimes."""
    for substance in catalogue().substances.values():
        for regime in REGIMES:
            found = classify([Component(substance, 100.0)], regime=regime)
            tag = label(found.found, regime)
            for code in (*tag.statements, *tag.p_statements, *(e.code for e in found.euh)):
                assert statement(code)


def test_unknown_codes_are_refused() -> None:
    """An unknown statement or class is an error, never an empty text."""
    with pytest.raises(NotFound):
        statement("H999")
    with pytest.raises(NotFound):
        elements("Skin Corr. 9", "H314")
