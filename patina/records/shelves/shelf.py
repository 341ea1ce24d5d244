"""Lots on the shelf and every movement of them; a lot never goes below zero."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from patina.entries import NewLot
from patina.errors import Refused, ShortStock
from patina.records.finding.ranking import by_name
from patina.records.finding.searching import found_by
from patina.records.log.meanwhile import changed_meanwhile
from patina.records.tables.base import searchable
from patina.records.tables.ids import number_of
from patina.records.tables.shelf import BatchTable, LotMovement, LotTable

# A lot emptied to less than this is empty: the rest is what adding up decimal figures leaves over.
CRUMB = 1e-6


def add_lot(session: Session, entry: NewLot, *, key: str, name: str, words: Sequence[str], by: str) -> LotTable:
    """Put a lot on the shelf; its amount is its first movement."""
    lot = LotTable(amount=entry.amount, left_amount=entry.amount, unit=entry.unit)
    _fill(lot, entry, key, name, words)
    session.add(lot)
    session.flush()
    session.add(LotMovement(lot_id=lot.id, amount=entry.amount, why="received", by=by))
    session.flush()
    return lot


def change_lot(
    session: Session,
    lot: LotTable,
    entry: NewLot,
    *,
    key: str,
    name: str,
    words: Sequence[str],
    by: str,
    version: int | None,
) -> None:
    """What is on record of a lot, corrected. Another amount received is a movement of its own.

    Raises Changed; Refused where the unit changes after something was taken, or less was received
    than was taken.
    """
    if version is not None and version != lot.version:
        raise changed_meanwhile(session, lot, version, f"Lot {lot.public_id}")
    if entry.unit != lot.unit and lot.left_amount != lot.amount:
        raise Refused(
            f"Something was taken from {lot.public_id} in {lot.unit}; its unit cannot change to {entry.unit}.",
            "Put a new lot on the shelf.",
            field="unit",
        )
    if entry.unit != lot.unit or entry.amount != lot.amount:
        difference = entry.amount - lot.amount
        if lot.left_amount + difference < -CRUMB:
            raise Refused(
                f"More than {entry.amount:g} {entry.unit} was taken from {lot.public_id} already.",
                "Correct the amount received, or count what is left.",
                field="amount",
            )
        _move(session, lot, difference, "amount received corrected", by, None)
        lot.amount, lot.unit = entry.amount, entry.unit
    _fill(lot, entry, key, name, words)
    session.flush()


def _fill(lot: LotTable, entry: NewLot, key: str, name: str, words: Sequence[str]) -> None:
    lot.substance, lot.name = key, name
    lot.supplier, lot.grade, lot.lot_number = entry.supplier, entry.grade, entry.lot_number
    lot.assay_pct, lot.opened_on, lot.use_by = entry.assay_pct, entry.opened_on, entry.use_by
    lot.place, lot.price, lot.currency, lot.note = entry.place, entry.price, entry.currency, entry.note
    lot.search_text = searchable(name, *words, entry.supplier, entry.grade, entry.lot_number, entry.place, entry.note)


def _move(session: Session, lot: LotTable, amount: float, why: str, by: str, batch_id: int | None) -> None:
    left = lot.left_amount + amount
    lot.left_amount = 0.0 if abs(left) < CRUMB else left
    session.add(LotMovement(lot_id=lot.id, amount=amount, why=why, by=by, batch_id=batch_id))


def take(
    session: Session, lot: LotTable, amount: float, unit: str, *, why: str, by: str, batch_id: int | None = None
) -> None:
    """Take an amount out of a lot. Raises Refused for another unit, ShortStock where it holds less."""
    require_stock(lot, amount, unit)
    _move(session, lot, -amount, why, by, batch_id)
    session.flush()


def require_stock(lot: LotTable, amount: float, unit: str) -> None:
    """Raises Refused where the lot is kept in another unit, ShortStock where it holds less."""
    if unit != lot.unit:
        raise Refused(
            f"{lot.public_id} ({lot.name}) is kept in {lot.unit}, not in {unit}.",
            f"Give the amount in {lot.unit}.",
            field="unit",
        )
    if amount > lot.left_amount + CRUMB:
        raise ShortStock(
            f"{lot.public_id} ({lot.name}) holds {lot.left_amount:g} {lot.unit}, and {amount:g} {unit} are asked for.",
            "Take the rest from another lot, or make less.",
            field="lot",
        )


def count(session: Session, lot: LotTable, left: float, *, why: str, by: str) -> None:
    """What a stock-take found; the difference stays on record as a movement."""
    difference = left - lot.left_amount
    if difference:
        _move(session, lot, difference, why, by, None)
        lot.left_amount = left
    session.flush()


def lots(session: Session, where: ColumnElement[bool] | None = None, *, search: str = "") -> tuple[LotTable, ...]:
    """Lots in order of name, what is left before what is spent."""
    query = select(LotTable).order_by(LotTable.left_amount <= 0, func.lower(LotTable.name), LotTable.id)
    if where is not None:
        query = query.where(where)
    if search.strip():
        number = number_of(search, "L")
        words = found_by(session, LotTable, search)
        query = query.where(words if number is None else or_(words, LotTable.id == number))
    rows = session.scalars(query)
    return by_name(rows, search, lambda lot: f"{lot.name} {lot.lot_number}", lambda lot: lot.public_id)


def lot_values(lot: LotTable) -> dict[str, Any]:
    """What a sheet of the lot shows, by field; state and hazard are the deed's to add."""
    return {
        "id": lot.public_id,
        "substance": lot.name,
        "substance_key": lot.substance,
        "supplier": lot.supplier,
        "grade": lot.grade,
        "lot_number": lot.lot_number,
        "assay_pct": lot.assay_pct,
        "amount": lot.amount,
        "left": lot.left_amount,
        "unit": lot.unit,
        "opened_on": lot.opened_on,
        "use_by": lot.use_by,
        "place": lot.place,
        "price": lot.price,
        "currency": lot.currency,
        "note": lot.note,
        "version": lot.version,
    }


def movements(session: Session, lot: LotTable) -> list[tuple[LotMovement, str | None]]:
    """All movements of a lot, oldest first, each with the solution of the pot it was for."""
    query = select(LotMovement, BatchTable.solution).outerjoin(BatchTable, BatchTable.id == LotMovement.batch_id)
    found = session.execute(query.where(LotMovement.lot_id == lot.id).order_by(LotMovement.id))
    return [(row, pot) for row, pot in found]
