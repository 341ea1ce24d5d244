"""The search by words, which uses indexes and stops at a full page, against a scan of every record; on both engines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import delete, select, text, update
from sqlalchemy.orm import Session

from patina.bench import upkeep
from patina.bench.history import undo
from patina.bench.pieces import casts
from patina.bench.recipes import finishes
from patina.bench.studio import Studio
from patina.entries import NewPiece
from patina.errors import NotFound
from patina.records.finding import meeting, naming, searching
from patina.records.finding.everything import find
from patina.records.recipes import recipes
from patina.records.studio.migrating import migrate
from patina.records.tables.first import WordRow
from patina.records.tables.pieces import PieceTable

WORDS = [
    *("harbour", "Harbor", "moss", "mossy", "MOSS-green", "sulphur", "Sulfur", "sulphide", "liver-of", "of", "o"),
    *("7783-40-6", "(K2S)", "17", "117", "réservé", "Straße", "a_b", "50%", "aab", "baa", "x" * 70),
]
TYPED = [
    "w3",
    "W 1",
    "sulph",
    "SULFUR",
    "ulph",
    "o",
    "os",
    "0%",
    "_",
    "a_",
    "ß",
    "strasse",
    "40",
    "83-4",
    "x" * 65,
    "zzq",
]


def plain(said: str) -> list[str]:
    """The words of a text as the rule says: whole, and in parts where marks divide them; the first 60 signs."""
    whole = said.casefold().replace("sulph", "sulf").split()
    return [word[:60] for word in [*whole, *(part for w in whole for part in re.split(r"\W+", w) if part)]]


def scan(texts: Sequence[str], asked: str) -> list[int]:
    """Numbers of the texts, from 1, that hold every word asked for: each begins a word or, where none of all
    begins so, stands in one."""
    kept = [plain(said) for said in texts]
    left = set(range(len(texts)))
    for word in (w[:60] for w in asked.casefold().replace("sulph", "sulf").split()):
        begin = {i for i, words in enumerate(kept) if any(w.startswith(word) for w in words)}
        left &= begin or {i for i, words in enumerate(kept) if any(word in w for w in words)}
    number = re.fullmatch(r"[wW]\s*(\d+)", asked.strip())
    named = {int(number[1])} if number and int(number[1]) <= len(texts) else set()
    return sorted({i + 1 for i in left} | named)


def put(session: Session, texts: Sequence[str]) -> None:
    """Works with these words and no others, numbered from 1; not to be kept."""
    session.execute(delete(WordRow))
    session.execute(delete(PieceTable))
    rows = [
        PieceTable(id=n, title=f"{n * 37 % 101:03}", maker="", note="", search_text=said.casefold())
        for n, said in enumerate(texts, 1)
    ]
    session.add_all(rows)
    session.flush()
    searching.index_words(session, rows)


texts_ = st.lists(st.lists(st.sampled_from(WORDS), max_size=5).map(" ".join), min_size=1, max_size=25)
pieces_ = st.sampled_from(WORDS).flatmap(
    lambda w: st.tuples(st.integers(0, len(w) - 1), st.integers(1, 5)).map(lambda p: w[p[0] : p[0] + p[1]])
)
asked_ = st.lists(st.one_of(st.sampled_from(WORDS), st.sampled_from(TYPED), pieces_), min_size=1, max_size=3)


@pytest.mark.parametrize(("few", "many"), [(0, 1), (0, 200), (250, 200)], ids=["walked", "mixed", "gathered"])
def test_a_page_of_what_is_found_is_that_of_a_scan(studio: Studio, few: int, many: int) -> None:
    """Whole words, beginnings, middles, several words, either spelling of sulphur and ids: the same records in the
    same order as a scan gives, by the page and all at once, whether records are walked through or gathered."""

    @settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
    @given(texts_, asked_.map(" ".join), st.integers(1, 8), st.integers(0, 6))
    def holds(texts: list[str], asked: str, limit: int, offset: int) -> None:
        if not asked.split():
            return
        with studio.store.view_of_all() as session:
            put(session, texts)
            found = scan(texts, asked)
            by_title = sorted(found, key=lambda n: f"{n * 37 % 101:03}")
            args = session, PieceTable, asked
            assert (
                searching.page_of(*args, PieceTable.title, limit=limit, offset=offset)
                == (by_title[offset : offset + limit])
            )
            assert searching.page_of(*args, PieceTable.id, backwards=True, limit=limit) == found[::-1][:limit]
            if not re.fullmatch(r"[wW]\s*\d+", asked.strip()):
                every = select(PieceTable.id).where(searching.found_by(*args)).order_by(PieceTable.id)
                assert list(session.scalars(every)) == found
            session.rollback()

    with (
        patch.object(searching, "FEW", few),
        patch.object(searching, "STEPS", 4),
        patch.object(searching, "MANY_WORDS", many),
        patch.object(searching, "COMMON", max(few, 3)),
    ):
        holds()


def test_common_words_that_seldom_meet_are_found_from_memory(studio: Studio) -> None:
    """Read once, then found without reading a row of the index; a record that is added or changed is found at once,
    one that is renamed no longer; flags of the last words alone are kept."""
    for n in range(9):
        casts.add_piece(studio, NewPiece(f"Piece {n}", note=("harbour moss", "harbour", "moss")[n % 3 if n else 1]))

    def found(asked: str, limit: int = 2) -> list[int]:
        with studio.store.view() as session:
            return searching.page_of(session, PieceTable, asked, PieceTable.title, limit=limit)

    with patch.multiple(searching, FEW=0, STEPS=1), patch.object(searching, "_most", lambda *_: 1):
        assert found("moss harb") == [4, 7]
        with patch.object(meeting, "_flags", side_effect=AssertionError("read again")):
            assert found("moss harb") == found("harb moss") == [4, 7]
            assert found("moss harb", limit=1) == [4]
        casts.add_piece(studio, NewPiece("A piece", note="moss of the harbour"))
        assert found("moss harb") == found("moss harb") == [10, 4]
        undo(studio)
        assert found("moss harb") == found("moss harb") == [4, 7]
        with patch.object(searching, "MOST_MET", 1):
            assert found("moss harb") == [4, 7]
        with patch.object(meeting, "MOST_KEPT", 2):
            assert found("piece harb") == found("piece harb") == [1, 2]
            assert found("piece moss") == [3, 4]
        kept = [list(k.flags) for k in meeting._STUDIOS.values() if k.flags]
        assert max(map(len, kept)) == 2


def test_the_palette_looks_into_words_only_where_no_word_begins_so(studio: Studio) -> None:
    """Over all kinds of record: beginnings of words first, at most so many, the newest first."""
    with studio.store.view_of_all() as session:
        put(session, ["harbour moss", "moss", "harbour", "Harbour mossy"])
        assert [f.id for f in find(session, "harb moss", 5)] == ["W4", "W1"]
        assert [f.id for f in find(session, "moss", 2)] == ["W4", "W2"]
        assert [f.id for f in find(session, "arbou oss", 5)] == ["W4", "W1"]
        assert [f.id for f in find(session, "y", 5)] == ["W4"]
        assert find(session, "harbour zz", 5) == ()
        session.rollback()


def test_a_studio_of_the_schema_before_finds_one_and_two_signs(full: Studio) -> None:
    """Words kept before the endings of words stood in the index are found by them after the migration, and check
    says that the index is whole; without it check would not."""
    engine = full.store.engine
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(text("DELETE FROM gram WHERE length(gram) < 3"))
        marks = {"named": naming.NAMED, "whole": naming.WHOLE}
        connection.execute(text("DELETE FROM word WHERE substr(word, 1, 1) IN (:named, :whole)"), marks)
        connection.execute(text("DROP INDEX ix_word_letter_record_id_word"))
        connection.execute(text("CREATE INDEX ix_word_letter_record_id ON word (letter, record_id)"))
        connection.execute(text("UPDATE alembic_version SET version_num = '0015'"))
    assert any("not found from its middle" in problem for problem in upkeep.check(full).problems)
    with engine.connect().execution_options(writing=True) as connection, connection.begin():
        connection.execute(text("DROP TABLE conservation_care_end"))  # came with 0018
    migrate(full.store, "0015")
    assert upkeep.check(full).problems == ()


def test_a_word_left_behind_is_found_again_when_it_comes_back(studio: Studio) -> None:
    """The middles of a word stay when its last record goes, and serve the next record that has it."""
    with studio.store.view_of_all() as session:
        put(session, ["heron"])
        session.execute(update(PieceTable).values(search_text=""))
        put(session, ["moss"])
        assert searching.page_of(session, PieceTable, "ero", PieceTable.id, limit=5) == []
        put(session, ["moss", "heron"])
        assert searching.page_of(session, PieceTable, "ero", PieceTable.id, limit=5) == [2]
        session.rollback()


def test_a_misspelt_name_is_told_in_a_large_studio_as_in_a_small_one(full: Studio) -> None:
    """Names that come close are found by their words where there are too many to be compared one by one."""
    name = finishes.list_recipes(full)[0].name
    wrong = f"{name[:2]}{name[3:]}"
    with pytest.raises(NotFound) as small:
        finishes.recipe_sheet(full, wrong)
    with patch.object(recipes, "recipe_count", lambda _: 10**6), pytest.raises(NotFound) as large:
        finishes.recipe_sheet(full, wrong)
    assert repr(name) in large.value.remedy == small.value.remedy
    with patch.object(recipes, "recipe_count", lambda _: 10**6), pytest.raises(NotFound) as none:
        finishes.recipe_sheet(full, "qqq zzz")
    assert "Did you mean" not in none.value.remedy
