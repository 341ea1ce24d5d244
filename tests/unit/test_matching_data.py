"""Data files and docstrings of surface and matching name sources that the bibliography holds."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

import patina
from patina.datafile import data_path
from patina.errors import BadData
from patina.matching.constants import constant as matching_constant
from patina.matching.ladder import vague_words
from patina.sources import bibliography
from patina.surface.constants import constant as surface_constant

FILES = (
    "alloys.csv",
    "area_causes.csv",
    "circumstances.csv",
    "difference_words.csv",
    "emissivity.csv",
    "matching_constants.csv",
    "runs_rules.csv",
    "surface_constants.csv",
    "texture_factors.csv",
    "vague_words.csv",
)


@pytest.mark.parametrize("name", FILES)
def test_every_row_names_a_source(name: str) -> None:
    """Each row of the data has a source key, and the bibliography holds it."""
    lines = [n for n in data_path(name).read_text(encoding="utf-8").splitlines() if n and not n.startswith("#")]
    rows = list(csv.DictReader(lines))
    assert rows
    assert {row["source"] for row in rows} <= bibliography().keys()


def test_every_source_named_in_a_docstring_is_known() -> None:
    """Keys in square brackets after "Source:" are in the bibliography."""
    root = Path(patina.__file__).parent
    named = set()
    for path in (*root.glob("surface/*.py"), *root.glob("matching/*.py")):
        for sentence in re.findall(r"Source[s]?:.*?\"\"\"|Source[s]?:[^\n]*", path.read_text(encoding="utf-8"), re.S):
            named |= set(re.findall(r"\[([A-Z][A-Z0-9-]{2,})\]", sentence))
    assert len(named) > 10
    assert named <= bibliography().keys()


def test_a_constant_that_is_not_there_is_named() -> None:
    """A missing row is told by file and key, not as a KeyError."""
    for constant in (matching_constant, surface_constant):
        with pytest.raises(BadData, match="nothing_like_it"):
            constant("nothing_like_it")


def test_words_on_cards_are_intervals_the_right_way_round() -> None:
    """Each word has a lower end below its upper end."""
    assert all(0 < low < high for low, high in vague_words().values())
