"""What was given to whom, what came back, and what the owner of a cast is told."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused
from patina.records.people.people import long_id
from patina.records.tables.people import HandoverTable, OwnerCareTable
from patina.records.tables.pieces import CastTable
from patina.sheets.access import HandoverRow, OwnerCare


def add_handover(
    session: Session,
    *,
    kind: str,
    record: str,
    to: str,
    on: date,
    by: str,
    version: int | None = None,
    what: str = "",
    as_what: str = "",
    terms: str = "",
    file_name: str = "",
    sha256: str = "",
    size_bytes: int | None = None,
    back_by: date | None = None,
    ends: HandoverTable | None = None,
    note: str = "",
) -> HandoverTable:
    """Put something given on record. kind: one of ``HANDED``. record: its id, empty for the whole studio.
    version: of the recipe or record given. sha256: of the file given. back_by: day it is to be back."""
    row = HandoverTable(
        kind=kind,
        record=record,
        record_version=version,
        what=what,
        given_to=to,
        as_what=as_what,
        terms=terms,
        file_name=file_name,
        sha256=sha256,
        size_bytes=size_bytes,
        given_on=on,
        back_by=back_by,
        ends_id=None if ends is None else ends.id,
        note=note,
        by=by,
    )
    session.add(row)
    session.flush()
    return row


def handover_rows(session: Session, *, record: str = "", to: str = "", out: bool = False) -> tuple[HandoverRow, ...]:
    """What was given, newest first. record: of one record. to: whose name holds these words. out: loans and licences
    that have not ended."""
    query = select(HandoverTable).order_by(HandoverTable.given_on.desc(), HandoverTable.id.desc())
    rows = session.scalars(query).all()
    ended = {row.ends_id: row.given_on for row in rows if row.ends_id is not None}
    shown = (handover_row(row, ended.get(row.id)) for row in rows)
    return tuple(
        row
        for row in shown
        if (not record or row.record == record) and to.casefold() in row.to.casefold() and (not out or row.out)
    )


def handover_row(row: HandoverTable, came_back: date | None = None) -> HandoverRow:
    """Something given, as it is shown."""
    return HandoverRow(
        id=row.public_id,
        kind=row.kind,
        record=row.record,
        version=row.record_version,
        what=row.what,
        to=row.given_to,
        as_what=row.as_what,
        terms=row.terms,
        file_name=row.file_name,
        sha256=row.sha256,
        size_bytes=row.size_bytes,
        given_on=row.given_on,
        back_by=row.back_by,
        came_back=came_back,
        note=row.note,
        by=row.by,
    )


def find_handover(session: Session, which: str) -> HandoverTable:
    """What was given, by its id. Raises NotFound."""
    number = long_id(which, "GV")
    row = None if number is None else session.get(HandoverTable, number)
    if row is None:
        raise NotFound(f"Nothing given is called '{which}'.", "patina given shows the ids (GV1 …).", field="handover")
    return row


def take_back(session: Session, row: HandoverTable, *, on: date, by: str, note: str) -> HandoverTable:
    """A loan that came back, or a licence that ended. Raises Refused where it did already, or was neither."""
    if row.kind not in ("tile on loan", "recipe licence"):
        raise Refused(f"{row.public_id} ({row.kind}) was given for good.", "Only loans and licences come back.")
    if session.scalars(select(HandoverTable.id).where(HandoverTable.ends_id == row.id)).first() is not None:
        raise Refused(f"{row.public_id} came back already.", "patina given shows when.")
    if on < row.given_on:
        raise Refused(f"{row.public_id} was given on {row.given_on.isoformat()}.", "It cannot be back before that.")
    return add_handover(
        session,
        kind="came back",
        record=row.record,
        version=row.record_version,
        what=row.what,
        to=row.given_to,
        as_what=row.as_what,
        on=on,
        by=by,
        ends=row,
        note=note,
    )


def care_of(session: Session, cast: CastTable) -> OwnerCare:
    """What the owner of a cast is told; empty where nobody has written it down."""
    query = select(OwnerCareTable).where(OwnerCareTable.cast_id == cast.id).order_by(OwnerCareTable.id.desc()).limit(1)
    row = session.scalars(query).first()
    return OwnerCare() if row is None else OwnerCare(row.care, row.wax, row.next_check, row.ask)


def write_care(session: Session, cast: CastTable, care: OwnerCare, *, by: str) -> None:
    """What the owner of a cast is told from now on."""
    session.add(
        OwnerCareTable(cast_id=cast.id, care=care.care, wax=care.wax, next_check=care.next_check, ask=care.ask, by=by)
    )
    session.flush()
