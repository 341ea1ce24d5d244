"""Readings of spots that were read more than once by an instrument."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from sqlalchemy import Select, func, or_, select
from sqlalchemy.orm import InstrumentedAttribute, Session

from patina.records.readings.readings import readings_of
from patina.records.tables.first import ReadingTable
from patina.sheets import ReadingRow


def read_again(session: Session, instruments: Collection[str]) -> tuple[ReadingRow, ...]:
    """Readings by these instruments of every tile and cast that has two single readings of one named area,
    newest first. Days and states are not looked at."""
    if not instruments:
        return ()
    fitting = ReadingTable.instrument.in_(instruments) & (ReadingTable.n == 1) & (ReadingTable.area != "")

    def targets(column: InstrumentedAttribute[int | None]) -> Select[Any]:
        named = select(column).where(fitting, column.is_not(None))
        return named.group_by(column, func.lower(ReadingTable.area)).having(func.count() > 1)

    where = or_(
        ReadingTable.tile_id.in_(targets(ReadingTable.tile_id)), ReadingTable.cast_id.in_(targets(ReadingTable.cast_id))
    )
    return readings_of(session, fitting & where)
