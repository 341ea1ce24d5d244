"""Signing records off, and adding words to what is never edited again."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused, Withheld
from patina.records.access.rows import hides, shown_words
from patina.records.log.seals import SEALABLE, Sealable, covered, hash_of, seal_row, sealables, signed_rows
from patina.records.recipes.recipes import find_recipe, find_revision
from patina.records.tables.base import Record
from patina.records.tables.first import RevisionTable
from patina.records.tables.ids import letter_of
from patina.records.tables.kinds import record_kinds
from patina.records.tables.seals import AmendmentTable, SealTable
from patina.sheets.history import AmendmentRow, SealSheet


def named(session: Session, which: str, revision: int | None = None) -> tuple[Sealable, Record]:
    """What an id names as far as it can be signed off: for a recipe one revision of it, the latest unless said.

    Raises NotFound, and Refused for a kind of record that is not signed off.
    """
    letter = letter_of(which) or which.strip().upper()[:1]
    if letter == "R":
        return SEALABLE[0], find_revision(session, find_recipe(session, which), revision)
    row = record_of(session, which)
    for kind in sealables():
        if isinstance(row, kind.table):
            return kind, row
    words = ", ".join(kind.word for kind in sealables())
    raise Refused(f"{which.strip().upper()} is of a kind that is not signed off.", f"What can be sealed: {words}.")


def record_of(session: Session, which: str) -> Record:
    """The record of any id, of whatever kind. Raises NotFound."""
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
