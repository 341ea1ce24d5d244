"""How readings were taken from their photographs, kept with them."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterator
from datetime import date
from functools import cache
from importlib.resources import files

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.entries import HowRead
from patina.records.photographs.rows import find_photograph
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch
from patina.records.tables.photographs import PhotographTable, PhotographUse
from patina.records.tables.readings import ReadingHowTable


@cache
def reader_mark() -> str:
    """A mark of today's reading function: another as soon as its code or its charts are other ones."""
    digest = hashlib.sha256()
    for folder, endings in (("colour", (".py", ".typ")), ("data", (".csv",))):
        for file in sorted(files("patina").joinpath(folder).iterdir(), key=lambda f: f.name):
            if file.name.endswith(endings) and (folder == "colour" or file.name.startswith("chart")):
                digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()[:16]


def keep_how(session: Session, reading: ReadingTable, how: HowRead) -> None:
    """Keep how a reading was taken."""
    chart = None if how.chart_photograph is None else find_photograph(session, how.chart_photograph).id
    session.add(
        ReadingHowTable(
            reading_id=reading.id,
            taken_by=how.taken_by,
            chart=how.chart,
            edition=how.edition,
            corners=how.corners or "",
            area=dict(how.area or {}),
            card=how.card,
            flat=how.flat,
            chart_photograph_id=chart,
            again_of_id=None if how.again_of is None else fetch(session, ReadingTable, how.again_of).id,
            reader=reader_mark(),
        )
    )
    session.flush()


def how_of(session: Session, readings: Collection[int]) -> dict[int, HowRead]:
    """How each of these readings was taken, by the reading's number; those of which it was not kept are left out."""
    query = (
        select(ReadingHowTable, PhotographTable.sha256)
        .outerjoin(PhotographTable, PhotographTable.id == ReadingHowTable.chart_photograph_id)
        .where(ReadingHowTable.reading_id.in_(readings))
    )
    return {
        row.reading_id: HowRead(
            row.taken_by,
            row.chart,
            row.edition,
            row.corners or None,
            row.area or None,
            row.card,
            row.flat,
            sha256,
            None if row.again_of_id is None else f"D{row.again_of_id}",
        )
        for row, sha256 in session.execute(query)
    }


def read_again_by(session: Session, reader: str) -> frozenset[int]:
    """Numbers of the readings that were repeated by a reader of that mark."""
    query = select(ReadingHowTable.again_of_id).where(
        ReadingHowTable.reader == reader, ReadingHowTable.again_of_id.is_not(None)
    )
    return frozenset(n for n in session.scalars(query) if n is not None)


def uses_with_readings(session: Session, since: date | None) -> Iterator[tuple[PhotographUse, list[ReadingTable]]]:
    """Each photograph with a tile or cast, added on that day or later, and its readings there, oldest first."""
    found: dict[tuple[int, int | None, int | None], list[ReadingTable]] = defaultdict(list)
    query = select(ReadingTable).where(ReadingTable.source == "photograph", ReadingTable.photograph_id.is_not(None))
    for row in session.scalars(query.order_by(ReadingTable.id)):
        if row.photograph_id is not None:
            found[row.photograph_id, row.tile_id, row.cast_id].append(row)
    for use in session.scalars(select(PhotographUse).order_by(PhotographUse.id)):
        if since is None or use.added_at.date() >= since:
            yield use, found[use.photograph_id, use.tile_id, use.cast_id]
