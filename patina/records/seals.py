"""Signing off: what a seal covers, the hash of it, and the refusal to edit what is sealed.

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

from sqlalchemy import func, inspect, select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused, Withheld
from patina.records.access_rows import hides, shown_words
from patina.records.base import Base, Record, canonical
from patina.records.ids import letter_of
from patina.records.log import snapshot
from patina.records.matching_tables import MakingFactTable, MasterTermsTable, MasterZoneTable
from patina.records.seal_tables import AmendmentTable, SealTable
from patina.records.tables import (
    CastTable,
    MasterTable,
    PhotographTable,
    PhotographUse,
    ReadingTable,
    RevisionTable,
    TreatmentTable,
)
from patina.sheets.history import AmendmentRow, SealSheet

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
    from patina.records import treatment_tables, treatment_tables_more

    parts = [m.class_ for m in Base.registry.mappers if issubclass(m.class_, treatment_tables.PartTable)]
    later = (
        treatment_tables_more.CareVisitTable,  # a look at the piece years later
        treatment_tables_more.CareEndTable,  # that it is looked at no more
        treatment_tables_more.CopyTable,  # the record given away
        treatment_tables_more.SignatureTable,  # a further name under it
    )
    own = tuple((part, "conservation_id") for part in sorted(parts, key=lambda p: p.__tablename__) if part not in later)
    return (*SEALABLE, Sealable(treatment_tables.ConservationTable, "treatment record", own))


def named(session: Session, which: str, revision: int | None = None) -> tuple[Sealable, Record]:
    """What an id names as far as it can be signed off: for a recipe one revision of it, the latest unless said.

    Raises NotFound, and Refused for a kind of record that is not signed off.
    """
    letter = letter_of(which) or which.strip().upper()[:1]
    if letter == "R":
        from patina.records.recipes import find_recipe, find_revision

        return SEALABLE[0], find_revision(session, find_recipe(session, which), revision)
    row = record_of(session, which)
    for kind in sealables():
        if isinstance(row, kind.table):
            return kind, row
    words = ", ".join(kind.word for kind in sealables())
    raise Refused(f"{which.strip().upper()} is of a kind that is not signed off.", f"What can be sealed: {words}.")


def record_of(session: Session, which: str) -> Record:
    """The record of any id, of whatever kind. Raises NotFound."""
    from patina.records.check import record_kinds

    text = which.strip().upper().replace(" ", "")
    letters = text.rstrip("0123456789")
    number = text[len(letters) :]
    table = next((kind for kind in record_kinds() if letters == kind.LETTER), None)
    row = None
    if table is not None and number and len(number) < 10:
        row = session.get(table, int(number), execution_options={"with_withdrawn": True})
    if row is None:
        raise NotFound(f"There is no record '{which}'.", "Give an id such as R1, T1, M1 or C1; patina list shows them.")
    return row


def shown_id(session: Session, row: Record) -> str:
    """The id as people say it: a revision by its recipe."""
    return f"R{row.recipe_id} revision {row.number}" if isinstance(row, RevisionTable) else row.public_id


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


# -- deeds -----------------------------------------------------------------------------------------


def add_seal(session: Session, kind: Sealable, row: Record, *, statement: str, by: str) -> SealTable:
    """Sign a record off. Raises Refused where it is signed off already, Withheld where the signer may not read it."""
    if hidden(session, row):
        raise Withheld(
            f"The quantities of {shown_id(session, row)} are held by the studio and not shown to you.",
            "Nobody signs what they may not read: ask somebody who may (patina people list).",
        )
    old = seal_row(session, row)
    if old is not None:
        raise Refused(
            f"{shown_id(session, row)} was signed off by {old.by} on {old.at:%Y-%m-%d} already.",
            "Add what is new as an amendment: patina amend.",
        )
    rows = covered(session, kind, row)
    seal = SealTable(
        kind=row.__tablename__,
        record_id=row.id,
        covers=[[r.__tablename__, r.uid] for r in rows],
        sha256=hash_of(session, rows),
        statement=statement,
        by=by,
    )
    session.add(seal)
    session.flush()
    return seal


def add_amendment(session: Session, row: Record, *, words: str, why: str, by: str) -> AmendmentTable:
    """Add words to a record that is never edited again."""
    mine = (AmendmentTable.kind == row.__tablename__) & (AmendmentTable.record_id == row.id)
    number = (session.scalar(select(func.max(AmendmentTable.number)).where(mine)) or 0) + 1
    made = AmendmentTable(kind=row.__tablename__, record_id=row.id, number=number, words=words, why=why, by=by)
    session.add(made)
    session.flush()
    return made


def seal_row(session: Session, row: Record) -> SealTable | None:
    """The seal of a record, None where it was not signed off."""
    query = select(SealTable).where(SealTable.kind == row.__tablename__, SealTable.record_id == row.id)
    return session.scalars(query).one_or_none()


def seal_sheet(session: Session, row: Record, word: str) -> SealSheet:
    """How a record was signed off, with its amendments, the hash worked out anew."""
    mine = (AmendmentTable.kind == row.__tablename__) & (AmendmentTable.record_id == row.id)
    query = select(AmendmentTable).where(mine).order_by(AmendmentTable.number)
    rows_added = session.scalars(query).all()
    added = tuple(
        AmendmentRow(a.number, shown_words(session, a.words), shown_words(session, a.why), a.by, a.at)
        for a in rows_added
    )
    seal = seal_row(session, row)
    id = shown_id(session, row)
    if seal is None:
        return SealSheet(id, word, sealed=False, amendments=added)
    sound = None
    if not hidden(session, row):
        rows = signed_rows(session, seal)
        sound = rows is not None and hash_of(session, rows) == seal.sha256
    statement = shown_words(session, seal.statement)
    return SealSheet(
        id, word, True, statement, seal.by, seal.at, seal.sha256, len(seal.covers), sound, amendments=added
    )


def hidden(session: Session, row: Record) -> bool:
    """Whether the content of a record is withheld from whoever is at work, who so can neither sign nor prove it."""
    return isinstance(row, RevisionTable) and hides(session, row.recipe_id, row.number)


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
