"""Broken tables end in a sentence; every row of the others is in or listed, and nothing is half-kept or kept twice."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import fuzz_mutations as broken
import fuzz_tables as tables
import pytest

from patina.bench.recipes.finishes import save_recipe
from patina.bench.studio import Studio, open_studio
from patina.bench.upkeep import check
from patina.chemistry.substances import catalogue
from patina.errors import PatinaError
from patina.recipe_file import read_recipe_text


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """A studio that holds one recipe."""
    with open_studio(tmp_path_factory.mktemp("broken tables") / "studio") as opened:
        save_recipe(opened, read_recipe_text(broken.RECIPES[0], catalogue()))
        yield opened


@pytest.mark.parametrize(("kind", "number"), [("csv", 40), ("xlsx", 15)])
def test_a_broken_table_is_refused_or_comes_in_whole(studio: Studio, tmp_path: Path, kind: str, number: int) -> None:
    """See ``fuzz_tables.brought_in`` for what each is held to; thousands of them: tests/benchmarks/fuzz_long.py."""
    name, make = tables.KINDS_OF_FILE[kind]
    chance, ends = random.Random(20260314), Counter[str]()
    for _ in range(number):
        content = make(chance)
        try:
            ends[tables.brought_in(studio, tmp_path / name, content, random.Random(chance.random()))] += 1
        except PatinaError:
            ends["refused"] += 1
    assert ends["refused"], "none of them was broken"
    assert ends["taken"], "none of them was sound enough"
    assert check(studio).ok
