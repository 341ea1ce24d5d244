"""The log of changes read as deeds: who did what, when and why, with every field that became another."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from itertools import groupby

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from patina.records.history.past_words import differences, kind_words
from patina.records.log.seals import table_named
from patina.records.tables.base import Edited, Record
from patina.records.tables.first import RevisionTable
from patina.records.tables.kinds import record_kinds
from patina.records.tables.seals import AmendmentTable, SealTable
from patina.records.tables.shelf import ChangeTable
from patina.sheets.history import Alteration, DeedRow

UNDO = re.compile(r"undo (\d+)-(\d+)")
# so many changes a walk back through the log looks at before it gives up
FARTHEST = 20_000


@dataclass(frozen=True)
class Deed:
    """The changes that were put on record at once, oldest first."""

    changes: tuple[ChangeTable, ...]

    @property
    def first(self) -> int:
        """Number of its first change in the log."""
        return self.changes[0].n

    @property
    def last(self) -> int:
        """Number of its last change."""
        return self.changes[-1].n

    @property
    def at(self) -> datetime:
        """When it was done."""
        return self.changes[0].at

    @property
    def by(self) -> str:
        """Who did it."""
        return self.changes[0].by

    @property
    def name(self) -> str:
        """What was done."""
        return self.changes[0].deed

    @property
    def undoes(self) -> tuple[int, int] | None:
        """First and last change of the deed that this one took back, None where it is no undo."""
        found = UNDO.fullmatch(self.name)
        return None if found is None else (int(found[1]), int(found[2]))


def deeds(session: Session, records: Sequence[str] | None = None, *, farthest: int = FARTHEST) -> Iterator[Deed]:
    """Deeds, newest first: all, or those that touched certain records (with what they did to these alone)."""
    query = select(ChangeTable).order_by(ChangeTable.n.desc()).limit(farthest)
    if records is not None:
        query = query.where(ChangeTable.record.in_(records))
    rows = session.scalars(query.execution_options(yield_per=200))
    for _, group in groupby(rows, key=lambda c: (c.at, c.by, c.deed, c.why)):
        yield Deed(tuple(reversed(list(group))))


def taken_back(found: Iterator[Deed]) -> Iterator[tuple[Deed, bool]]:
    """Each deed, newest first, with whether it was taken back since. An undo that was itself taken back
    takes nothing back."""
    dead: set[int] = set()
    for deed in found:
        gone = any(change.n in dead for change in deed.changes)
        undoes = deed.undoes
        if undoes is not None and not gone:
            dead.update(range(undoes[0], undoes[1] + 1))
        yield deed, gone


def family(session: Session, row: Record, most: int = 5000) -> list[str]:
    """Ids of a record and of the rows that belong to it: readings of a tile, movements of a lot, revisions."""

    found = [row.public_id]
    table = type(row).__tablename__
    for kind in record_kinds():
        if issubclass(kind, Edited):
            continue
        for column in inspect(kind).column_attrs:
            if any(key.column.table.name == table for key in column.columns[0].foreign_keys):
                own = select(kind.id).where(getattr(kind, column.key) == row.id).limit(most)
                ids = session.scalars(own.execution_options(with_withdrawn=True))
                found += [f"{kind.LETTER}{id}" for id in ids]
    if table == "recipe":
        for revision in session.scalars(select(RevisionTable).where(RevisionTable.recipe_id == row.id).limit(most)):
            found += family(session, revision, most)
    for signed in (SealTable, AmendmentTable):
        mine = select(signed.id).where(signed.kind == table, signed.record_id == row.id)
        found += [f"{signed.LETTER}{id}" for id in session.scalars(mine)]
    return list(dict.fromkeys(found))


def history(session: Session, row: Record | None, limit: int) -> tuple[DeedRow, ...]:
    """The newest deeds on a record and on what belongs to it, or on the whole studio (None)."""
    found: list[DeedRow] = []
    ids = None if row is None else family(session, row)
    for deed, undone in taken_back(deeds(session, ids)):
        if len(found) == limit:
            break
        found.append(_deed_row(session, deed, undone))
    return tuple(found)


def _deed_row(session: Session, deed: Deed, undone: bool) -> DeedRow:
    first = deed.changes[0]
    alterations = tuple(_alteration(session, change) for change in deed.changes[:40])
    name = "undo" if deed.undoes else first.deed
    return DeedRow(deed.first, deed.last, first.at, first.by, name, first.why, alterations, undone)


_kind_named = cache(table_named)


def _alteration(session: Session, change: ChangeTable) -> Alteration:
    before = None if change.before is None else json.loads(change.before)
    after = None if change.after is None else json.loads(change.after)
    did = "added" if before is None else "taken out" if after is None else "changed"
    fields = differences(session, _kind_named(change.kind), before, after)
    return Alteration(change.record, kind_words(change.kind), did, fields)
