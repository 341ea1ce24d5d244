"""Readings that were withdrawn: they stay on record and count nowhere."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import event, select, text
from sqlalchemy.orm import Session, with_loader_criteria

if TYPE_CHECKING:
    from patina.records.tables.first import ReadingTable

_ANY = text("SELECT 1 FROM reading_withdrawal LIMIT 1")


def leave_out_withdrawn(session: Session) -> None:
    """Let no question of this session see a withdrawn reading, unless it says with_withdrawn=True.

    A studio in which nothing was withdrawn pays one small question per session for it.
    """
    known: list[bool] = []

    def ask(state: Any) -> None:
        if not state.is_select or state.execution_options.get("with_withdrawn"):
            return
        if not known:
            known.append(session.connection().execute(_ANY).first() is not None)
        if known[0]:
            state.statement = state.statement.options(_criteria())

    event.listen(session, "do_orm_execute", ask)


def _criteria() -> Any:
    from patina.records.tables.first import ReadingTable
    from patina.records.tables.seals import WithdrawalTable

    gone = select(WithdrawalTable.reading_id)
    return with_loader_criteria(ReadingTable, ReadingTable.id.not_in(gone), include_aliases=True)


def withdraw(session: Session, reading: ReadingTable, *, why: str, by: str) -> None:
    """Withdraw a reading; the newest of those that are left counts as the latest. Raises Refused.

    Refused where it was withdrawn already, or belongs to a finish record that was signed off with it.
    """
    from patina.errors import Refused
    from patina.records.tables.first import ReadingTable
    from patina.records.tables.seals import SealTable, WithdrawalTable

    seal = session.scalars(
        select(SealTable).where(SealTable.kind == "cast_piece", SealTable.record_id == reading.cast_id)
    ).one_or_none()
    if seal is not None and reading.uid in {uid for _, uid in seal.covers}:
        raise Refused(
            f"{reading.public_id} belongs to the finish record C{reading.cast_id} that {seal.by} signed off.",
            f"Add what is to be said as an amendment: patina amend C{reading.cast_id}.",
        )
    gone = select(WithdrawalTable.reading_id)
    if session.scalar(gone.where(WithdrawalTable.reading_id == reading.id)) is not None:
        raise Refused(f"{reading.public_id} was withdrawn already.", "There is nothing more to do.")
    session.add(WithdrawalTable(reading_id=reading.id, why=why, by=by))
    session.flush()
    if reading.latest:
        reading.latest = False
        on_tile = ReadingTable.tile_id == reading.tile_id
        same = on_tile if reading.tile_id is not None else ReadingTable.cast_id == reading.cast_id
        newest = session.scalars(
            select(ReadingTable)
            .where(same, ReadingTable.id.not_in(gone))
            .order_by(ReadingTable.read_at.desc(), ReadingTable.id.desc())
            .limit(1)
        ).first()
        if newest is not None:
            newest.latest = True
    session.flush()
