"""Finding any record by its words."""

from __future__ import annotations

from pathlib import Path

import pytest

from patina.bench.finding import search
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewCast, NewLot, NewMaster, NewPiece, NewTile
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.records.finding.searching import words_of

BROWN = Recipe(
    "Harbour brown",
    "even dark brown",
    ("C87300",),
    "own tiles",
    (Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),)),),
    (Step("apply", solution="wash", method="torch", coverage_ml_per_m2=40.0),),
)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("harbour", ["R1", "B1", "T1"]),
        ("seal", ["W1", "C1"]),
        ("seal town", ["C1"]),
        ("liver", ["L1", "R1"]),
        ("sulfur", ["L1", "R1"]),
        ("agreed", ["M1"]),
        ("t1", ["T1"]),
        ("B 1", ["B1", "R1", "T1"]),
        ("a-17", ["T1"]),
        ("17", ["T1"]),
        ("eal", ["W1", "C1"]),
        ("RÉSERVÉ", ["C1"]),
        ("seal liver", []),
        ("  ", []),
        ("%", []),
        ("'; DROP TABLE tile; --", []),
    ],
)
def test_records_are_found_by_the_beginnings_of_their_words(tmp_path: Path, text: str, found: list[str]) -> None:
    """Every kind, names first; all words needed; an id finds its record; where no word begins so, inside of words."""
    with open_studio(tmp_path) as studio:
        finishes.save_recipe(studio, BROWN)
        tiles.start_tile(studio, NewTile("A-17", "C87300", recipe="R1"))
        casts.add_piece(studio, NewPiece("Grey seal"))
        casts.add_cast(studio, NewCast("W1", "1/9", owner="Town hall", note="réservé"))
        casts.agree_master(studio, NewMaster("client agreed", (30.0, 0.0, 0.0), 2.0))
        shelf.add_lot(studio, NewLot("liver of sulphur", 100.0))
        batches.mix_batch(studio, NewBatch("R1", 1, "wash", 100.0))
        assert [f.id for f in search.find_records(studio, text)] == found


def test_no_more_than_asked_for(tmp_path: Path) -> None:
    """At most so many of each kind, the newest first."""
    with open_studio(tmp_path) as studio:
        for n in range(5):
            tiles.start_tile(studio, NewTile(f"series {n}", "C87300"))
        assert [f.id for f in search.find_records(studio, "series", limit=2)] == ["T5", "T4"]


def test_words_are_whole_and_in_parts() -> None:
    """A number with marks is found as written and by its parts; very long words are cut."""
    assert words_of("7783-40-6 (K2S)") == {"7783-40-6", "7783", "40", "6", "(k2s)", "k2s"}
    assert max(map(len, words_of("x" * 500))) == 60
