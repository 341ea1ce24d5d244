"""What changed between two makings, what that did before, and what may have caused a miss."""

from __future__ import annotations

import numpy as np
import pytest

from patina.colour.values import Lab
from patina.errors import BadQuantity
from patina.matching.circumstances import Changed, Making, compare_makings, effect_of, find_causes, known_circumstances
from patina.sources import bibliography

SIX = Making("6/9", {"alloy": "C87300", "blast": "glass bead", "hand": "A", "chemical_lot": "L1"}, Lab(30, 8, 12))
SEVEN = Making(
    "7/9", {"alloy": "C87300", "blast": "alumina", "hand": "", "chemical_lot": "l1", "gas": "propane"}, Lab(27, 8, 12)
)
BLAST = Changed("blast", "blast medium", "glass bead", "alumina")


def _history(rng: np.random.Generator, matched: bool = True) -> list[Making]:
    """Tiles by two hands: alumina makes them 3 darker; unmatched, hand B alone used alumina."""
    found = []
    for i in range(12):
        alumina = i % 2 == 1
        hand = ("A", "B", "C")[i // 4] if matched else ("B" if alumina else "A")
        lab = np.array([30.0, 8, 12]) + (np.array([-3, 0, 0.5]) if alumina else 0) + rng.normal(0, 0.3, 3)
        found.append(Making(f"T{i}", {"blast": "alumina" if alumina else "glass bead", "hand": hand}, Lab(*lab)))
    return found


def test_same_different_and_blank_are_told_apart() -> None:
    """Case does not matter; a value missing on one side is blank, never the same and never different."""
    found = compare_makings(SIX, SEVEN)
    assert set(found.same) == {"alloy", "chemical_lot"}
    assert [(c.key, c.before, c.now) for c in found.different] == [("blast", "glass bead", "alumina")]
    assert {"hand", "gas", "weld_rod"} <= set(found.blank)
    assert [c.key for c in found.tiles] == ["blast"]
    assert "Make a tile first" in found.words


def test_an_effect_comes_back_from_like_makings() -> None:
    """Tiles alike in all but the blast give its effect with an interval that holds the truth."""
    found = effect_of(BLAST, _history(np.random.default_rng(1)))
    assert found.comparisons == 3
    assert found.with_others == ()
    assert found.vector is not None
    assert found.half_width is not None
    assert abs(found.vector[0] + 3) <= found.half_width[0]


def test_an_effect_mixed_with_another_names_it() -> None:
    """Where the hand changed with the blast, the effect may be the hand's: said so."""
    found = effect_of(BLAST, _history(np.random.default_rng(1), matched=False))
    assert found.with_others == ("hand",)
    assert "may be due to hand as well" in found.words


def test_a_change_the_house_never_made_has_no_data() -> None:
    """No making with the new value: no data, not zero."""
    found = effect_of(
        Changed("blast", "blast medium", "glass bead", "walnut shell"), _history(np.random.default_rng(1))
    )
    assert found.vector is None
    assert "no data" in found.words


def test_the_cause_that_explains_the_miss_comes_first() -> None:
    """A piece 3 darker with another blast and another hand: the blast is named first, blanks are listed."""
    rng = np.random.default_rng(3)
    piece = Making("7/9", {"blast": "alumina", "hand": "B", "water": "tap"}, Lab(27, 8, 12.4))
    reference = Making("6/9", {"blast": "glass bead", "hand": "A", "water": "distilled"}, Lab(30, 8, 12))
    found = find_causes(reference, piece, [reference, piece, *_history(rng)])
    assert [c.effect.change.key for c in found.causes] == ["blast", "hand", "water"]
    assert found.causes[0].explains == pytest.approx(1.0, abs=0.2)
    assert found.causes[2].explains is None
    assert "assay" in found.blank
    with pytest.raises(BadQuantity):
        find_causes(Making("x", {}), piece, [])


def test_circumstances_name_known_sources() -> None:
    """Every row has a source of the bibliography."""
    assert {c.source for c in known_circumstances().values()} <= bibliography().keys()
