"""Colour readings of tiles and casts; added, never edited."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from patina.colour.values import Lab, Part
from patina.records.access.rows import shown_words
from patina.records.tables.base import now
from patina.records.tables.first import ReadingTable, TileTable
from patina.records.tables.photographs import PhotographTable
from patina.records.tables.pieces import CastTable
from patina.records.tables.readings import ReadingDoubtTable, ReadingGrainTable
from patina.sheets import ReadingRow

if TYPE_CHECKING:
    from patina.entries import NewReading


def part_values(parts: Sequence[Sequence[float]] | None, illuminant: str, observer: str) -> tuple[Part, ...]:
    """The tones of an uneven surface from stored fours of L*, a*, b* and share."""
    return tuple(Part(Lab(L, a, b, illuminant, observer), share) for L, a, b, share in parts or ())


def add_reading(
    session: Session, target: TileTable | CastTable, entry: NewReading, photograph: PhotographTable | None
) -> ReadingTable:
    """Keep a reading with a tile or a cast. The newest by its own time counts as the latest."""
    row = ReadingTable(
        tile_id=target.id if isinstance(target, TileTable) else None,
        cast_id=target.id if isinstance(target, CastTable) else None,
        photograph_id=None if photograph is None else photograph.id,
        lab_l=entry.L,
        lab_a=entry.a,
        lab_b=entry.b,
        illuminant=entry.illuminant,
        observer=entry.observer,
        source=entry.source,
        area=entry.area,
        geometry=entry.geometry,
        instrument=entry.instrument,
        sd=None if entry.sd is None else list(entry.sd),
        n=entry.n,
        uncertainty_de00=entry.uncertainty_de00,
        wax_state=entry.wax_state,
        warmth=entry.warmth,
        read_at=entry.read_at or now(),
        read_by=entry.read_by,
        note=entry.note,
        parts=[list(part) for part in entry.parts],
    )
    newest = session.scalars(select(ReadingTable).where(of_target(target), ReadingTable.latest.is_(True))).one_or_none()
    if newest is None or row.read_at >= newest.read_at:
        row.latest = True
        if newest is not None:
            newest.latest = False
    session.add(row)
    session.flush()
    if entry.doubt_de00 is not None:
        sampling, correction = entry.doubt_de00
        session.add(ReadingDoubtTable(reading_id=row.id, sampling_de00=sampling, correction_de00=correction))
        session.flush()
    if entry.how is not None:
        from patina.records.readings.reading_how import keep_how

        keep_how(session, row, entry.how)
    if entry.grain_px is not None or entry.grain_mm is not None:
        session.add(
            ReadingGrainTable(
                reading_id=row.id,
                grain_px=entry.grain_px,
                grain_mm=entry.grain_mm,
                scale_from=entry.scale_from if entry.grain_mm is not None else "",
            )
        )
        session.flush()
    return row


def doubt_of(session: Session, row: ReadingTable) -> tuple[float, float] | None:
    """The expanded uncertainty's parts, of the surface's unevenness and of camera, light and chart; None
    where they were not kept."""
    kept = session.scalars(select(ReadingDoubtTable).where(ReadingDoubtTable.reading_id == row.id)).one_or_none()
    return None if kept is None else (kept.sampling_de00, kept.correction_de00)


def of_target(target: TileTable | CastTable) -> ColumnElement[bool]:
    """The condition that a reading belongs to that tile or cast."""
    if isinstance(target, TileTable):
        return ReadingTable.tile_id == target.id
    return ReadingTable.cast_id == target.id


def readings_of(session: Session, where: ColumnElement[bool]) -> tuple[ReadingRow, ...]:
    """Readings, newest first, in one query."""
    query = (
        select(ReadingTable, PhotographTable.sha256, ReadingGrainTable)
        .outerjoin(ReadingGrainTable, ReadingGrainTable.reading_id == ReadingTable.id)
        .outerjoin(PhotographTable, PhotographTable.id == ReadingTable.photograph_id)
        .where(where)
        .order_by(ReadingTable.read_at.desc(), ReadingTable.id.desc())
    )
    rows = session.execute(query).all()
    return tuple(reading_row(row, sha256, grain, shown_words(session, row.note)) for row, sha256, grain in rows)


def kept_row(session: Session, row: ReadingTable) -> ReadingRow:
    """A reading that was just kept, as it is shown."""
    return readings_of(session, ReadingTable.id == row.id)[0]


def reading_row(row: ReadingTable, sha256: str | None, grain: ReadingGrainTable | None, note: str) -> ReadingRow:
    """A reading as it is shown. grain: its row of how coarse the mottle is, None where that is not known. note: as far
    as whoever is at work may read it."""
    return ReadingRow(
        id=row.public_id,
        lab=Lab(row.lab_l, row.lab_a, row.lab_b, row.illuminant, row.observer),
        source=row.source,
        area=row.area,
        sd=None if row.sd is None else (row.sd[0], row.sd[1], row.sd[2]),
        n=row.n,
        uncertainty_de00=row.uncertainty_de00,
        geometry=row.geometry,
        instrument=row.instrument,
        wax_state=row.wax_state,
        warmth=row.warmth,
        read_at=row.read_at,
        read_by=row.read_by,
        photograph=sha256,
        note=note,
        parts=part_values(row.parts, row.illuminant, row.observer),
        tile=None if row.tile_id is None else f"T{row.tile_id}",
        cast=None if row.cast_id is None else f"C{row.cast_id}",
        grain_px=None if grain is None else grain.grain_px,
        grain_mm=None if grain is None else grain.grain_mm,
        scale_from="" if grain is None else grain.scale_from,
    )


def latest_of(session: Session, target: TileTable | CastTable) -> ReadingTable | None:
    """The newest reading of a tile or cast, None where it has none."""
    return session.scalars(select(ReadingTable).where(of_target(target), ReadingTable.latest.is_(True))).one_or_none()
