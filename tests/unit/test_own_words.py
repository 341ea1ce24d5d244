"""What a person wrote is shown as it was written, whatever the program could say in its place."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import String

from patina import own_words
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewLot, NewPiece, NewTile
from patina.language import read_as, shown
from patina.records.tables.kinds import record_kinds
from patina.records.tables.own_columns import NAMES, OWN, OwnWords, own_columns

# Columns of text that hold the program's words, figures, hashes, and fields with a list to choose from.
CODES = {
    "activity", "adhesion", "aim", "alloy", "answer", "as_what", "bead", "camera", "card", "cas", "chart",
    "consent", "consequence", "content_sha256", "currency", "danger", "did", "discard_why", "edition", "effect",
    "extent", "extraction", "fact", "file_sha256", "form", "format", "formula", "geometry", "given_sha256",
    "harm", "illuminant", "kept", "key", "kind", "lens", "light", "log_sha256", "login", "measured", "name",
    "name_folded", "observer", "profile", "program", "provenance", "purpose", "quantity_unit", "reader",
    "reason", "record", "regime", "resolved", "respirator", "role", "row_sha256", "scale_from", "scheme",
    "search_text", "seen", "sha256", "shift", "signed", "sort", "source", "state", "statement", "strength_unit",
    "studio", "substance", "taken_at", "target", "temperature_by", "term", "topic", "trigger", "uid", "unit",
    "verdict", "visit", "warmth", "water", "wax_state", "way", "what", "why",
}  # fmt: skip


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    """Every test leaves the program in English."""
    yield
    read_as()


@pytest.fixture
def german(tmp_path: Path) -> Iterator[Studio]:
    """A studio that is read in German, whose people call things as the program calls others."""
    with open_studio(tmp_path / "studio") as studio:
        finishes.add_starters(studio)
        plain = finishes.recipe_sheet(studio, "Torch sulphide brown").recipe
        for name in ("Note", "Brown, thin", "waxed; 3 of 4 passes", "Brown from Turin", "Umber 2.5", "waxed"):
            finishes.save_recipe(studio, replace(plain, name=name))
        casts.add_piece(studio, NewPiece("Open"))
        casts.add_cast(studio, NewCast("W1", "1/3", owner="Waste", place="Shelf"))
        tiles.start_tile(studio, NewTile("dark", "C87300", note="not read"))
        shelf.add_lot(studio, NewLot("sodium chloride", 10.0, place="Bench"))
        read_as("de")
        yield studio


def test_names_that_are_messages_stay(german: Studio) -> None:
    """Each is a message of the program, and is translated until it is known to be somebody's name."""
    assert shown("Shelf") == "Regal" and shown("dark") != "dark"
    rows = finishes.list_recipes(german)
    for name in ("Note", "Brown, thin", "waxed; 3 of 4 passes", "Brown from Turin", "Umber 2.5"):
        assert name in {row.name for row in rows}
        assert shown(name) == name
    cast = casts.cast_sheet(german, "C1").row
    assert (shown(cast.place), shown(cast.owner), shown(cast.piece)) == ("Shelf", "Waste", "Open")
    tile = tiles.tile_sheet(german, "T1")
    assert (shown(tile.row.engraved), shown(tile.note)) == ("dark", "not read")
    assert shown(shelf.list_lots(german)[0].place) == "Bench"


def test_names_stay_within_sentences_of_the_program(german: Studio) -> None:
    """The sentence is German, the name in it is whole, also where it holds what sentences are taken apart by."""
    finishes.list_recipes(german)
    for name in ("Note", "Brown, thin", "waxed; 3 of 4 passes", "Umber 2.5"):
        told = shown(f"{name} is signed off.")
        assert name in told and told != f"{name} is signed off."
        assert shown(f"{name}  revision 2") == f"{name}  {shown('revision 2')}"
        assert shown(f"{name}, 3 of 4 passes").endswith(shown("3 of 4 passes"))
    assert shown("2.5 g") == "2,5 g"


def test_what_is_written_now_is_known_at_once(german: Studio) -> None:
    """A name that is kept while everything is German stays from then on."""
    assert shown("Tile") != "Tile"
    casts.add_piece(german, NewPiece("Tile"))
    assert shown("Tile") == "Tile"


def test_figures_of_a_person_keep_their_mark(german: Studio) -> None:
    """A decimal point within a name is no decimal comma, nor are ounces put before it."""
    finishes.list_recipes(german)
    assert shown("Umber 2.5") == "Umber 2.5"
    assert shown("pot of Umber 2.5, 1.5 L").endswith("1,5 L") and "Umber 2.5" in shown("pot of Umber 2.5, 1.5 L")


def test_a_remark_that_is_a_state_is_the_programs(german: Studio) -> None:
    """A recipe may be called "waxed" and stays so; a remark of that word is the state, and is told in German."""
    tiles.start_tile(german, NewTile("QT-1", "C87300", note="unwaxed"))
    assert tiles.tile_sheet(german, "T2").note == "unwaxed"
    assert shown("unwaxed") != "unwaxed"
    finishes.list_recipes(german)
    assert shown("waxed") == "waxed"


def test_in_english_nothing_is_kept() -> None:
    """Nobody pays for it who reads everything as it stands."""
    read_as()
    own_words.meet("Shelf")
    assert not own_words.is_own("Shelf")


@given(st.text(min_size=1, max_size=40))
def test_whatever_was_written_comes_back(text: str) -> None:
    """Any text that a person wrote is shown as it is."""
    read_as("de")
    own_words.meet(text, name=True)
    assert shown(text) == text


def test_every_column_of_text_is_a_persons_or_the_programs() -> None:
    """A new column is put where it belongs: a person's words are not translated, the program's are."""
    kinds = {kind.__tablename__: kind for kind in record_kinds()}
    assert not OWN.keys() - kinds.keys()
    assert not {(t, n) for t, names in NAMES.items() for n in names.split() if n not in OWN[t].split()}
    for table, kind in kinds.items():
        own = {c.name for c in kind.__table__.columns if isinstance(c.type, OwnWords)}
        assert own == own_columns(table), table
        plain = {c.name for c in kind.__table__.columns if isinstance(c.type, String)}
        assert not plain - CODES, f"{table}: {plain - CODES}"


def test_it_costs_little() -> None:
    """A hundred thousand names are met, and asked for, in a moment."""
    read_as("de")
    names = [f"Heron {n}, thin" for n in range(100_000)]
    started = time.process_time()
    for name in names:
        own_words.meet(name)
    met = time.process_time() - started
    started = time.process_time()
    for name in names[:2000]:
        own_words.is_own(name)
    assert met < 2.0
    assert time.process_time() - started < 0.1
