"""Reading long lists: in parts, and with one object for words that stand in many rows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Select
from sqlalchemy.orm import Session

from patina.records.tables.base import parsed

AT_ONCE = 1000


def in_parts(session: Session, query: Select[*tuple[Any, ...]]) -> Iterator[Any]:
    """The rows of a question, of which only so many are held at once besides what is made of them."""
    with session.execute(query.execution_options(yield_per=AT_ONCE)) as rows:
        yield from rows


class Same:
    """Words that stand in many rows, each held once: the database hands out a new object for every row."""

    def __init__(self) -> None:
        self._words: dict[str, str] = {}
        self._lists: dict[str, tuple[str, ...]] = {}

    def word(self, word: str) -> str:
        """The first of the words that are the same.

        >>> same = Same()
        >>> same.word("torch " + str(1)) is same.word("torch " + str(1))
        True
        """
        return self._words.setdefault(word, word)

    def words(self, text: str) -> tuple[str, ...]:
        """A list of words from its text in the database. Raises Damaged."""
        known = self._lists.get(text)
        if known is None:
            known = self._lists[text] = tuple(parsed(text))
        return known
