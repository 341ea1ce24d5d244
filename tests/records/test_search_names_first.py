"""What is found by a name comes before what has the words in its notes: by the page, whole, in the palette; both
engines; and as fast as before."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, event
from sqlalchemy.orm import Session

from patina.bench import upkeep
from patina.bench.finding.search import find_records
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.entries import NewCast, NewLot, NewPiece, NewTile
from patina.recipe import Recipe
from patina.records.finding import searching
from patina.records.finding.ranking import rank, ranked_page
from patina.records.tables.first import WordRow
from patina.records.tables.pieces import PieceTable


@pytest.fixture
def named(studio: Studio, brown: Recipe) -> Studio:
    """Recipes whose names and looks have the same words; pieces, casts, tiles and a lot beside them."""
    for name, finish in (
        ("Aged umber", "a thin moss over brown"),
        ("Mossy quay", "dark"),
        ("Moss", "even, satin"),
        ("Thin moss", "uneven"),
        ("Moss green", "even"),
        ("Quay", "moss in the folds"),
    ):
        finishes.save_recipe(studio, replace(brown, name=name, finish=finish))
    casts.add_piece(studio, NewPiece("Otter", note="moss on the base"))
    casts.add_piece(studio, NewPiece("Moss garden"))
    casts.add_cast(studio, NewCast("W2", number="1/3", alloy="C87300"))
    tiles.start_tile(studio, NewTile("MOSS-7", "C87300"))
    tiles.start_tile(studio, NewTile("QT-1", "C87300", note="like moss"))
    shelf.add_lot(studio, NewLot("sodium chloride", 100.0, "g", note="moss"))
    return studio


def test_the_list_shows_names_first(named: Studio) -> None:
    """The name itself, then names that begin so, then whole words of a name, beginnings of words, and the notes."""
    order = ["Moss", "Moss green", "Mossy quay", "Thin moss", "Aged umber", "Quay"]
    assert [row.name for row in finishes.list_recipes(named, "moss")] == order
    assert [row.name for row in finishes.list_recipes(named, "moss", limit=4)] == order[:4]
    assert [row.name for row in finishes.list_recipes(named, "moss", limit=3, offset=3)] == order[3:]
    assert [row.engraved for row in tiles.list_tiles(named, "moss")] == ["MOSS-7", "QT-1"]
    assert [row.title for row in casts.list_pieces(named, "moss")] == ["Moss garden", "Otter"]


def test_the_palette_shows_names_first_of_every_kind(named: Studio) -> None:
    """A tile of that name stands before recipes that have the word in their look; an id that is typed is first."""
    found = find_records(named, "moss")
    assert [f.name for f in found[:2]] == ["Moss", "Moss green"]
    assert [f.name for f in found if rank(f.name, "moss") > 4] == [f.name for f in found][-len(_in_notes(named)) :]
    assert {"MOSS-7", "Moss garden", "Moss garden 1/3"} <= {f.name for f in found[:6]}
    assert find_records(named, "r5")[0].id == "R5"
    assert find_records(named, "green mo")[0].name == "Moss green"


def _in_notes(studio: Studio) -> list[str]:
    return [f.name for f in find_records(studio, "moss") if "moss" not in f.name.casefold()]


def test_a_name_is_found_behind_any_number_of_notes(named: Studio) -> None:
    """Where more records have the word in their notes than are looked at, the oldest one that is called so is found."""
    with named.store.view_of_all() as session:
        rows = [
            PieceTable(id=n, title=f"Figure {n}", maker="", note="", search_text=f"figure {n} lichen")
            for n in range(100, 700)
        ]
        rows.append(PieceTable(id=50, title="Lichen", maker="", note="", search_text="lichen"))
        session.add_all(rows)
        session.flush()
        searching.index_words(session, rows)
        with patch.object(searching, "FEW", 10), patch.object(searching, "STEPS", 50):
            page = ranked_page(session, PieceTable, "lichen", PieceTable.id, backwards=True, limit=5)
        assert page == [50, 699, 698, 697, 696]
        session.rollback()


NAMES = ["moss", "mossy", "Moss green", "green moss", "liver of sulphur", "Liver", "1/9", "", "quay moss 7"]
WORDS = ["moss", "green", "sulphur", "liver", "quay", "mossy", "7", "dark"]


@pytest.mark.parametrize(("few", "many"), [(0, 1), (250, 200)], ids=["walked", "gathered"])
def test_a_ranked_page_is_that_of_a_scan(studio: Studio, few: int, many: int) -> None:
    """The page holds what sorting everything that is found by the rank of its name gives, whatever is asked."""

    @settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
    @given(
        st.lists(st.tuples(st.sampled_from(NAMES), st.lists(st.sampled_from(WORDS), max_size=3)), min_size=1),
        st.lists(st.sampled_from(["moss", "mo", "sulf", "liver", "green", "1", "7", "quay m"]), min_size=1, max_size=2),
        st.integers(1, 6),
        st.integers(0, 4),
    )
    def holds(records: list[tuple[str, list[str]]], asked: list[str], limit: int, offset: int) -> None:
        text = " ".join(asked)
        with studio.store.view_of_all() as session:
            _put(session, [(name, " ".join(notes)) for name, notes in records])
            plain = searching.page_of(session, PieceTable, text, PieceTable.id, limit=500)
            titles = dict(session.query(PieceTable.id, PieceTable.title).all())  # type: ignore[arg-type]
            wanted = sorted(plain, key=lambda id: rank(titles[id], text))
            page = ranked_page(session, PieceTable, text, PieceTable.id, limit=limit, offset=offset)
            assert page == wanted[offset : offset + limit]
            session.rollback()

    with patch.object(searching, "FEW", few), patch.object(searching, "MANY_WORDS", many):
        holds()


def _put(session: Session, records: list[tuple[str, str]]) -> None:
    session.execute(delete(WordRow))
    session.execute(delete(PieceTable))
    rows = [
        PieceTable(id=n, title=name, maker="", note=notes, search_text=f"{name} {notes}".casefold())
        for n, (name, notes) in enumerate(records, 1)
    ]
    for row in rows:
        row.search_text = row.search_text.replace("sulph", "sulf")
    session.add_all(rows)
    session.flush()
    searching.index_words(session, rows)


def test_names_cost_nothing_where_no_name_has_the_words(named: Studio) -> None:
    """A search that meets notes alone asks one question more of the index for each kind of record."""
    asked: list[str] = []
    with named.store.view() as session:
        searching.page_of(session, PieceTable, "base", PieceTable.id, limit=20)
        event.listen(session.get_bind(), "before_cursor_execute", lambda *a: asked.append(a[2]))
        page = ranked_page(session, PieceTable, "base", PieceTable.id, limit=20)
        with_names, asked[:] = len(asked), []
        searching.page_of(session, PieceTable, "base", PieceTable.id, limit=20)
    assert len(page) == 1
    assert with_names <= len(asked) + 3


def test_the_index_of_names_is_proved(named: Studio) -> None:
    """The check knows the words of names: one that is missing is found out."""
    from sqlalchemy import text

    assert upkeep.check(named).problems == ()
    with named.store.engine.execution_options(writing=True).begin() as database:
        database.execute(text("DELETE FROM word WHERE letter = 'W' AND word = :w"), {"w": "\x01moss"})
    assert any("W2" in problem for problem in upkeep.check(named).problems)
