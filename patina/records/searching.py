"""Searching: every word must begin a word of the record, in any order, in any case.

Each record's words stand in an index, so that finding takes as long in a large studio as in a small one.
A word that no word begins with is looked for in the middle of words, by the threes of signs in it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from sqlalchemy import ColumnElement, and_, bindparam, delete, func, insert, select, text
from sqlalchemy.orm import Session

from patina.records.base import Edited, level
from patina.records.tables import GramRow, WordRow

LONGEST_WORD = 60
THREE = 3
# A word that more records have than this is looked up record by record, in the order in which they are shown.
COMMON = 5000
_PARTS = re.compile(r"[^\w]+")
_LAST = "\U0010ffff"
_AT_ONCE = 500


def words_of(said: str) -> set[str]:
    """The words of a text, level in case: whole as written, and in parts where marks divide them.

    >>> sorted(words_of("Liver-of sulphur (K2S)"))
    ['(k2s)', 'k2s', 'liver', 'liver-of', 'of', 'sulfur']
    """
    found: set[str] = set()
    for word in level(said).split():
        found.add(word[:LONGEST_WORD])
        found |= {part[:LONGEST_WORD] for part in _PARTS.split(word) if part}
    return found


def grams_of(word: str) -> set[str]:
    """The threes of signs in a word; none in a shorter one.

    >>> sorted(grams_of("moss"))
    ['mos', 'oss']
    """
    return {word[i : i + THREE] for i in range(len(word) - THREE + 1)}


def index_words(session: Session, changed: Iterable[Edited]) -> None:
    """Bring the index up to date for records whose text is new or changed."""
    rows: list[dict[str, Any]] = []
    for record in changed:
        mine = (WordRow.letter == record.LETTER) & (WordRow.record_id == record.id)
        # no word is ever held as an object, so the session need not look through all it holds for each
        session.execute(delete(WordRow).where(mine), execution_options={"synchronize_session": False})
        rows += [
            {"word": word, "letter": record.LETTER, "record_id": record.id} for word in words_of(record.search_text)
        ]
    if rows:
        index_middles(session, {(row["letter"], row["word"]) for row in rows})
        session.execute(insert(WordRow), rows)


def index_middles(session: Session, words: set[tuple[str, str]]) -> None:
    """Let words, each with the letter of its kind of record, be found by their middles. A word stays in this
    part of the index when the last record that had it is gone: it finds nothing then."""
    new: list[dict[str, str]] = []
    for letter in sorted({letter for letter, _ in words}):
        asked = sorted(word for of, word in words if of == letter and len(word) >= THREE)
        for first in range(0, len(asked), _AT_ONCE):
            some = asked[first : first + _AT_ONCE]
            begins = {word[:THREE] for word in some}  # a word that is there has its first three there
            here = (GramRow.letter == letter) & GramRow.gram.in_(begins) & GramRow.word.in_(some)
            known = set(session.scalars(select(GramRow.word).where(here)))
            new += [{"letter": letter, "gram": g, "word": w} for w in some if w not in known for g in grams_of(w)]
    if new:
        session.execute(_or_ignore(session), new)


def _or_ignore(session: Session) -> Any:
    if session.get_bind().dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as insert_there

        return insert_there(GramRow).on_conflict_do_nothing()
    return insert(GramRow).prefix_with("OR IGNORE")


def found_by(session: Session, table: type[Edited], asked: str, *, anywhere: bool | None = None) -> ColumnElement[bool]:
    """The condition that a record of the table holds every word of a text that is not empty.

    anywhere: False looks at the beginnings of words only, True in the middle of them as well; None looks in
    the middle for a word that no word begins with.
    """
    words = [word[:LONGEST_WORD] for word in level(asked).split()]
    return and_(*(_holds(session, table, word, anywhere) for word in words))


def _holds(session: Session, table: type[Edited], word: str, anywhere: bool | None) -> ColumnElement[bool]:
    begins = _beginning(table, word)
    if anywhere is None:
        anywhere = session.scalar(begins.limit(1)) is None
    if anywhere:
        return _in_the_middle(session, table, word)
    many = session.scalar(select(func.count()).select_from(begins.limit(COMMON + 1).subquery()))
    if (many or 0) <= COMMON:
        return table.id.in_(begins)
    return _of_each(session, table, word)


def _of_each(session: Session, table: type[Edited], word: str) -> Any:
    """Whether a record has the word, looked up by the record. SQLite would go through all records that have
    it instead, for every record again; so it is told which index to take."""
    by = "INDEXED BY ix_word_letter_record_id " if session.get_bind().dialect.name == "sqlite" else ""
    found = text(
        f"EXISTS (SELECT 1 FROM word {by}WHERE word.letter = :letter AND word.record_id = {table.__tablename__}.id "
        "AND word.word >= :first AND word.word < :last)"
    )
    values = {"letter": table.LETTER, "first": word, "last": word + _LAST}
    return found.bindparams(*(bindparam(name, value, unique=True) for name, value in values.items()))


def _in_the_middle(session: Session, table: type[Edited], word: str) -> ColumnElement[bool]:
    grams = grams_of(word)
    if not grams:
        return table.search_text.contains(word, autoescape=True)
    of = {gram: (GramRow.letter == table.LETTER) & (GramRow.gram == gram) for gram in grams}

    def how_many(gram: str) -> int:
        some = select(GramRow.word).where(of[gram]).limit(COMMON)
        return session.scalar(select(func.count()).select_from(some.subquery())) or 0

    rarest = min(sorted(grams), key=how_many)
    words = select(GramRow.word).where(of[rarest], GramRow.word.contains(word, autoescape=True))
    records = select(WordRow.record_id).where(WordRow.letter == table.LETTER, WordRow.word.in_(words))
    return table.id.in_(records)


def _beginning(table: type[Edited], word: str) -> Any:
    return select(WordRow.record_id).where(
        WordRow.letter == table.LETTER, WordRow.word >= word, WordRow.word < word + _LAST
    )
