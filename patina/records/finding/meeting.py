"""Records that have several words of which each is one that very many have: found from memory.

Which records have such a word is kept as a row of flags, a byte to a record, and flags that meet are two long numbers
and one operation. They hold as long as nothing changes in the studio; the rows of the index are read once for them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from patina.records.access.rows import limits_of
from patina.records.tables.first import WordRow
from patina.records.tables.shelf import ChainHead

OTHER_WORDS = "other_words"  # of a session's info: it has written in the index
LAST = "\U0010ffff"
# So many words are kept; at a million records of a kind a word takes a megabyte.
MOST_KEPT = 32

Having = Callable[[Any], list[ColumnElement[bool]]]


@dataclass(frozen=True, slots=True)
class Beginning:
    """The conditions on rows of the index whose word begins so. letter: of the kind of record."""

    letter: str
    word: str

    def __call__(self, row: Any) -> list[ColumnElement[bool]]:
        """For a table of rows or another name of it."""
        return [row.letter == self.letter, row.word >= self.word, row.word < self.word + LAST]


@dataclass(frozen=True, slots=True)
class Just:
    """The same of rows whose word is that."""

    letter: str
    word: str

    def __call__(self, row: Any) -> list[ColumnElement[bool]]:
        """For a table of rows or another name of it."""
        return [row.letter == self.letter, row.word == self.word]


@dataclass
class _Kept:
    """Flags of the records that have a word, by its conditions. stand: how far the studio had come."""

    stand: tuple[int, str] | None = None
    flags: dict[Having, int] = field(default_factory=dict)


_STUDIOS: WeakKeyDictionary[Any, _Kept] = WeakKeyDictionary()


def meeting(session: Session, words: Sequence[Having], *, most: int, known_only: bool) -> list[int] | None:
    """Numbers of the records that have every word; None where these are more than ``most`` or are not to be had.

    known_only: no row is read for it, so None where a word is not in memory yet.
    """
    if len(words) < 2 or not all(isinstance(word, Beginning | Just) for word in words):
        return None
    if session.info.get(OTHER_WORDS) or limits_of(session) is not None:  # what it sees is not what others see
        return None
    # the connections belong to the studio as it lies there; one that is opened anew has others
    kept = _STUDIOS.setdefault(session.get_bind().engine.pool, _Kept())
    found = session.execute(select(ChainHead.n, ChainHead.hash)).one_or_none()
    stand = None if found is None else (int(found[0]), str(found[1]))
    if kept.stand != stand:
        kept.stand, kept.flags = stand, {}
    flags = kept.flags
    if known_only and not all(word in flags for word in words):
        return None
    met = -1
    for word in words:
        own = flags.pop(word, None)
        if own is None:
            own = _flags(session, word)
        flags[word] = own  # the last that were asked for stand last
        met &= own
    for word in list(flags)[:-MOST_KEPT]:
        flags.pop(word, None)
    return _numbers(met, most)


def _numbers(flags: int, most: int) -> list[int] | None:
    """The numbers that are flagged, in order; None where they are more than so many.

    >>> _numbers(1 << 8 | 1 << 24, most=2)
    [1, 3]
    """
    marked = flags.to_bytes((flags.bit_length() + 7) // 8, "little")
    if marked.count(1) > most:
        return None
    found, number = [], marked.find(1)
    while number >= 0:
        found.append(number)
        number = marked.find(1, number + 1)
    return found


def _flags(session: Session, having: Having) -> int:
    """A byte for each record, 1 where it has the word; straight from the driver, for there are many."""
    result = session.connection().execute(select(WordRow.record_id).where(*having(WordRow)))
    rows = result.cursor.fetchall()
    result.close()
    found = bytearray(max((id for (id,) in rows), default=0) + 1)
    for (id,) in rows:
        found[id] = 1
    return int.from_bytes(found, "little")
