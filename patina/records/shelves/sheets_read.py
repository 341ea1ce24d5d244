"""Safety data sheets that were read, by substance."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.safety import SheetReadTable
from patina.sheets.safety import SheetRow

DAYS_A_YEAR = 365.25


def add_sheet(
    session: Session, key: str, *, supplier: str, product: str, dated: date, read_on: date, by: str, note: str
) -> None:
    """Put on record that somebody read a data sheet."""
    session.add(
        SheetReadTable(key=key, supplier=supplier, product=product, dated=dated, read_on=read_on, by=by, note=note)
    )
    session.flush()


def sheets_read(session: Session, today: date, key: str | None = None) -> dict[str, tuple[SheetRow, ...]]:
    """Data sheets by key of the substance, the newest date first; those of one substance where a key is given."""
    query = select(SheetReadTable).order_by(SheetReadTable.dated.desc(), SheetReadTable.id.desc())
    if key is not None:
        query = query.where(SheetReadTable.key == key)
    found: dict[str, list[SheetRow]] = {}
    for row in session.scalars(query):
        age = (today - row.dated).days / DAYS_A_YEAR
        found.setdefault(row.key, []).append(
            SheetRow(row.supplier, row.product, row.dated, row.read_on, row.by, row.note, age)
        )
    return {name: tuple(rows) for name, rows in found.items()}
