"""What can be signed off, what a seal covers, the hash of it, and the refusal to edit what is sealed.

What is sealed is a record with the rows that belong to it. Their content is hashed without the numbers
that a row has in one studio alone: rows it points at are named by their uid, so a seal stays good in
another studio. Later rows may be added to a cast; to an agreed finish they may not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused
from patina.records.log.snapshots import snapshot
from patina.records.tables.base import Base, Record, canonical
from patina.records.tables.first import ReadingTable, RevisionTable
from patina.records.tables.matching import MakingFactTable, MasterTermsTable, MasterZoneTable
from patina.records.tables.photographs import PhotographTable, PhotographUse
from patina.records.tables.pieces import CastTable, MasterTable, TreatmentTable
from patina.records.tables.seals import SealTable

Own = tuple[type[Record], str]


@dataclass(frozen=True)
class Sealable:
    """A kind of record that can be signed off. word: what people call it. parts: the tables whose rows
    belong to it, each with the column that points at it. closed: whether rows may not be added later."""

    table: type[Record]
    word: str
    parts: tuple[Own, ...] = ()
    closed: bool = True


SEALABLE: tuple[Sealable, ...] = (
    Sealable(RevisionTable, "recipe"),
    Sealable(MasterTable, "agreed finish", ((MasterZoneTable, "master_id"), (MasterTermsTable, "master_id"))),
    Sealable(
        CastTable,
        "finish record",
        (
            (TreatmentTable, "cast_id"),
            (ReadingTable, "cast_id"),
            (PhotographUse, "cast_id"),
            (MakingFactTable, "cast_id"),
        ),
        closed=False,
    ),
)


@cache
def sealables() -> tuple[Sealable, ...]:
    """Every kind of record that can be signed off."""
    from patina.records.tables import treatments, treatments_more

    parts = [m.class_ for m in Base.registry.mappers if issubclass(m.class_, treatments.PartTable)]
    later = (
        treatments_more.CareVisitTable,  # a look at the piece years later
        treatments_more.CareEndTable,  # that it is looked at no more
        treatments_more.CopyTable,  # the record given away
        treatments_more.SignatureTable,  # a further name under it
    )
    own = tuple((part, "conservation_id") for part in sorted(parts, key=lambda p: p.__tablename__) if part not in later)
    return (*SEALABLE, Sealable(treatments.ConservationTable, "treatment record", own))


# -- content ---------------------------------------------------------------------------------------


def covered(session: Session, kind: Sealable, row: Record) -> list[Record]:
    """The record and the rows that belong to it now, in the order in which they are hashed."""
    found: list[Record] = [row]
    for table, column in kind.parts:
        query = select(table).where(getattr(table, column) == row.id).order_by(table.id)
        for part in session.scalars(query.execution_options(with_withdrawn=True)):
            found.append(part)
            if isinstance(part, PhotographUse):
                found.append(session.get_one(PhotographTable, part.photograph_id))
    return list(dict.fromkeys(found))


def content(session: Session, row: Record) -> dict[str, Any]:
    """A row's content without the numbers of this studio: what it points at by uid, no id, no version."""
    values = snapshot(row)
    for number in ("id", "version"):
        values.pop(number, None)
    for name, target in _pointers(type(row)):
        if values[name] is not None:
            values[name] = session.scalar(select(target.uid).where(target.id == values[name]))
    return values


def _pointers(kind: type[Record]) -> Iterator[tuple[str, type[Record]]]:
    for column in inspect(kind).column_attrs:
        for key in column.columns[0].foreign_keys:
            yield column.key, table_named(key.column.table.name)


def table_named(name: str) -> type[Record]:
    """The kind of record behind a table's name. Raises NotFound."""
    for mapper in Base.registry.mappers:
        if mapper.class_.__tablename__ == name and issubclass(mapper.class_, Record):
            return mapper.class_
    raise NotFound(f"There is no kind of record '{name}'.", "Use the program that wrote it.")


def hash_of(session: Session, rows: Iterable[Record]) -> str:
    """SHA-256 over the content of rows, in their order."""
    document = [[row.__tablename__, content(session, row)] for row in rows]
    return hashlib.sha256(canonical(document).encode()).hexdigest()


def signed_rows(session: Session, seal: SealTable) -> list[Record] | None:
    """The rows that a seal covers; None where one of them is gone."""
    found: list[Record] = []
    for name, uid in seal.covers:
        query = select(table := table_named(name)).where(table.uid == uid)
        row = session.scalars(query.execution_options(with_withdrawn=True)).one_or_none()
        if row is None:
            return None
        found.append(row)
    return found


def seal_row(session: Session, row: Record) -> SealTable | None:
    """The seal of a record, None where it was not signed off."""
    query = select(SealTable).where(SealTable.kind == row.__tablename__, SealTable.record_id == row.id)
    return session.scalars(query).one_or_none()


# -- refusals --------------------------------------------------------------------------------------


def _parts_of() -> dict[type[Record], list[tuple[Sealable, str]]]:
    found: dict[type[Record], list[tuple[Sealable, str]]] = {}
    for kind in sealables():
        for table, column in kind.parts:
            found.setdefault(table, []).append((kind, column))
    return found


def require_unsealed(
    session: Session, changed: Iterable[Record], added: Iterable[Record], own: Callable[[SealTable], bool]
) -> None:
    """Refuse edits of sealed rows, and rows added to a closed record. own: whether a seal was made in the
    same deed and so does not bind yet. Raises Refused."""
    roots = {kind.table for kind in sealables()}
    parts = _parts_of()
    for row in changed:
        if type(row) in roots:
            _refuse_if_sealed(session, row.__tablename__, row.id, own, row.uid)
        for kind, column in parts.get(type(row), ()):
            _refuse_if_sealed(session, kind.table.__tablename__, getattr(row, column), own, row.uid)
    for row in added:
        for kind, column in parts.get(type(row), ()):
            if kind.closed:
                _refuse_if_sealed(session, kind.table.__tablename__, getattr(row, column), own, None)


def _refuse_if_sealed(
    session: Session, kind: str, record_id: int | None, own: Callable[[SealTable], bool], uid: str | None
) -> None:
    if record_id is None:
        return
    with session.no_autoflush:
        query = select(SealTable).where(SealTable.kind == kind, SealTable.record_id == record_id)
        seal = session.scalars(query).one_or_none()
    if seal is None or own(seal) or (uid is not None and uid not in {u for _, u in seal.covers}):
        return
    id = f"{table_named(kind).LETTER}{record_id}"
    raise Refused(
        f"{id} was signed off by {seal.by} on {seal.at:%Y-%m-%d}; what is sealed is never edited.",
        f"Add what is to be said as an amendment: patina amend {id}.",
    )
