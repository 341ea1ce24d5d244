"""Who worked with what, for how long, with which extraction and respirator."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.entries import NewExposure
from patina.errors import Refused
from patina.records.tables.first import RecipeTable, RevisionTable
from patina.records.tables.safety import ExposureTable
from patina.records.tables.shelf import BatchTable
from patina.sheets.safety import ExposureRow


def add_exposure(
    session: Session,
    entry: NewExposure,
    *,
    on: date,
    keys: Sequence[str],
    names: Sequence[str],
    revision: RevisionTable | None,
    batch: BatchTable | None,
    keep_until: date,
    corrects: ExposureTable | None,
    by: str,
) -> ExposureTable:
    """Put an exposure on record. Raises Refused where the row it corrects was corrected before."""
    if corrects is not None:
        other = session.scalars(select(ExposureTable).where(ExposureTable.corrects_id == corrects.id)).first()
        if other is not None:
            raise Refused(
                f"{corrects.public_id} was already corrected by {other.public_id}.",
                f"Correct {other.public_id}.",
                field="corrects",
            )
    row = ExposureTable(
        person=entry.person,
        on=on,
        shift=entry.shift,
        minutes=entry.minutes,
        revision_id=None if revision is None else revision.id,
        batch_id=None if batch is None else batch.id,
        substances=list(keys),
        names=list(names),
        task=entry.task,
        extraction=entry.extraction,
        flow_m3_h=entry.flow_m3_h,
        respirator=entry.respirator,
        note=entry.note,
        keep_until=keep_until,
        corrects_id=None if corrects is None else corrects.id,
        by=by,
    )
    session.add(row)
    session.flush()
    return row


def exposure_rows(
    session: Session, *, person: str = "", since: date | None = None, until: date | None = None, only: int | None = None
) -> tuple[ExposureRow, ...]:
    """Exposures, the oldest day first; those of one person (case does not matter), of some days, or one row."""
    query = (
        select(ExposureTable, RecipeTable.name, RevisionTable.number)
        .outerjoin(RevisionTable, RevisionTable.id == ExposureTable.revision_id)
        .outerjoin(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
        .order_by(ExposureTable.on, ExposureTable.id)
    )
    if since is not None:
        query = query.where(ExposureTable.on >= since)
    if until is not None:
        query = query.where(ExposureTable.on <= until)
    if only is not None:
        query = query.where(ExposureTable.id == only)
    corrected = {
        row.corrects_id: row.public_id
        for row in session.scalars(select(ExposureTable).where(ExposureTable.corrects_id.is_not(None)))
    }
    wanted = " ".join(person.split()).casefold()
    return tuple(
        _row(row, recipe or "", number, corrected.get(row.id))
        for row, recipe, number in session.execute(query)
        if not wanted or row.person.casefold() == wanted
    )


def _row(row: ExposureTable, recipe: str, number: int | None, corrected_by: str | None) -> ExposureRow:
    return ExposureRow(
        id=row.public_id,
        person=row.person,
        on=row.on,
        shift=row.shift,
        minutes=row.minutes,
        recipe=recipe,
        revision=number,
        batch=None if row.batch_id is None else f"B{row.batch_id}",
        substances=tuple(row.names),
        task=row.task,
        extraction=row.extraction,
        flow_m3_h=row.flow_m3_h,
        respirator=row.respirator,
        note=row.note,
        keep_until=row.keep_until,
        corrects=None if row.corrects_id is None else f"H{row.corrects_id}",
        corrected_by=corrected_by,
        by=row.by,
        at=row.at,
    )


def take_out(session: Session, over: Callable[[ExposureTable], bool]) -> int:
    """Take out the rows whose time is over, newest first so that a correction goes before what it corrects.
    A row that a kept row corrects stays. Returns how many were taken out."""
    rows = list(session.scalars(select(ExposureTable).order_by(ExposureTable.id.desc())))
    kept = {row.corrects_id for row in rows if not over(row)}
    gone = [row for row in rows if over(row) and row.id not in kept]
    for row in gone:
        session.delete(row)
        session.flush()
    return len(gone)
