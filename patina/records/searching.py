"""Searching: every word must begin a word of the record, in any order, in any case.

Each record's words stand in an index, so that finding takes as long in a large studio as in a
small one. Where no word begins so, the words are looked for anywhere in the record's text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from sqlalchemy import ColumnElement, and_, delete, insert, select
from sqlalchemy.orm import Session

from patina.records.base import Edited, level
from patina.records.tables import WordRow

LONGEST_WORD = 60
_PARTS = re.compile(r"[^\w]+")
_LAST = "\U0010ffff"


def words_of(text: str) -> set[str]:
    """The words of a text, level in case: whole as written, and in parts where marks divide them.

    >>> sorted(words_of("Liver-of sulphur (K2S)"))
    ['(k2s)', 'k2s', 'liver', 'liver-of', 'of', 'sulfur']
    """
    found: set[str] = set()
    for word in level(text).split():
        found.add(word[:LONGEST_WORD])
        found |= {part[:LONGEST_WORD] for part in _PARTS.split(word) if part}
    return found


def index_words(session: Session, changed: Iterable[Edited]) -> None:
    """Bring the index up to date for records whose text is new or changed."""
    rows: list[dict[str, Any]] = []
    for record in changed:
        mine = (WordRow.letter == record.LETTER) & (WordRow.record_id == record.id)
        session.execute(delete(WordRow).where(mine))
        rows += [
            {"word": word, "letter": record.LETTER, "record_id": record.id} for word in words_of(record.search_text)
        ]
    if rows:
        session.execute(insert(WordRow), rows)


def found_by(session: Session, table: type[Edited], text: str, *, anywhere: bool | None = None) -> ColumnElement[bool]:
    """The condition that a record of the table holds every word of a text that is not empty.

    anywhere: False looks at the beginnings of words only, True anywhere in the text; None looks
    anywhere where there is a word that no word begins with.
    """
    asked = [word[:LONGEST_WORD] for word in level(text).split()]
    if anywhere is None:
        anywhere = not all(session.scalar(_beginning(table, word).limit(1)) is not None for word in asked)
    if not anywhere:
        return and_(*(table.id.in_(_beginning(table, word)) for word in asked))
    return and_(*(table.search_text.contains(word, autoescape=True) for word in asked))


def _beginning(table: type[Edited], word: str) -> Any:
    return select(WordRow.record_id).where(
        WordRow.letter == table.LETTER, WordRow.word >= word, WordRow.word < word + _LAST
    )
