"""What each kind of record is called, and how its name stands in the index of words.

Behind a mark that nobody types, the index holds the words of a record's name once more, and the whole name: so what
is called by a word is found before what only has it in its notes, without looking at all that have it.
"""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.base import Edited, level
from patina.records.tables.first import RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable
from patina.records.tables.shelf import BatchTable, LotTable

LONGEST_WORD = 60
NAMED = "\x01"  # before a word of a name
WHOLE = "\x02"  # before a whole name
_PARTS = re.compile(r"[^\w]+")
_PLAIN: dict[type[Edited], tuple[str, ...]] = {
    RecipeTable: ("name",),
    TileTable: ("engraved",),
    MasterTable: ("name",),
    PieceTable: ("title",),
    LotTable: ("name", "lot_number"),
}


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


def whole(name: str) -> str:
    """A whole name as it is compared."""
    return " ".join(level(name).split())[:LONGEST_WORD]


def marked(name: str) -> set[str]:
    """What the index holds of a name.

    >>> sorted(marked("Heron 1/9"))
    ['\\x011', '\\x011/9', '\\x019', '\\x01heron', '\\x02heron 1/9']
    """
    return {NAMED + word for word in words_of(name)} | {WHOLE + whole(name)} if name.strip() else set()


def is_marked(word: str) -> bool:
    """Whether this stands in the index for a name's sake."""
    return word[:1] in (NAMED, WHOLE)


def name_of(session: Session, row: Edited) -> str:
    """What a record is called where it is found; empty for kinds that are found by no name, and where what it is
    called by is gone."""
    if isinstance(row, CastTable):
        piece = session.get(PieceTable, row.piece_id)
        return "" if piece is None else f"{piece.title} {row.number}"
    if isinstance(row, BatchTable):
        revision = session.get(RevisionTable, row.revision_id)
        return "" if revision is None else _of_pot(revision.document, row.solution)
    return " ".join(getattr(row, column) for column in _PLAIN.get(type(row), ()))


def names_of(session: Session, kind: type[Edited]) -> dict[int, str]:
    """The name of every record of a kind, by its number."""
    if kind is BatchTable:
        pots = select(BatchTable.id, RevisionTable.document, BatchTable.solution)
        told = session.execute(pots.join(RevisionTable, RevisionTable.id == BatchTable.revision_id))
        return {id: _of_pot(document, solution) for id, document, solution in told}
    if kind is CastTable:
        casts = select(CastTable.id, PieceTable.title, CastTable.number)
        rows: Any = session.execute(casts.join(PieceTable, PieceTable.id == CastTable.piece_id))
    elif kind in _PLAIN:
        rows = session.execute(select(kind.id, *(getattr(kind, column) for column in _PLAIN[kind])))
    else:
        return {}
    return {id: " ".join(parts) for id, *parts in rows}


def _of_pot(document: Any, solution: str) -> str:
    """A pot is called by its recipe as it was called then."""
    return f"{document['name']} {solution}"
