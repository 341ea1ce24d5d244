"""What past works teach: pairs of readings, what was used, strip checks, waste drums."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.base import now
from patina.records.tables.first import RevisionTable
from patina.records.tables.ids import fetch
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import BatchTable, BatchWeighed, LotTable
from patina.records.tables.work import StripCheckTable, WasteTable, WorkEventTable, WorkTable
from patina.records.torch.work import work_sheet
from patina.sheets import WorkSheet


def readings_said(session: Session) -> list[tuple[int, Mapping[str, Any]]]:
    """What was said with each temperature that stands, with the recipe it was read under."""
    gone = select(WorkEventTable.cancels_id).where(WorkEventTable.cancels_id.is_not(None))
    query = (
        select(RevisionTable.recipe_id, WorkEventTable.said)
        .join(WorkTable, WorkTable.id == WorkEventTable.work_id)
        .join(RevisionTable, RevisionTable.id == WorkTable.revision_id)
        .where(WorkEventTable.kind == "temperature", WorkEventTable.id.not_in(gone))
        .order_by(WorkEventTable.id)
    )
    return [(recipe_id, said) for recipe_id, said in session.execute(query)]


def recipe_number(session: Session, which: str) -> int:
    """Number of the recipe that a work goes by."""
    row = fetch(session, WorkTable, which, field="work")
    return session.get_one(RevisionTable, row.revision_id).recipe_id


def all_sheets(session: Session, recipe_id: int | None = None) -> list[WorkSheet]:
    """Every work, oldest first, or those of one recipe."""
    query = select(WorkTable).order_by(WorkTable.id)
    if recipe_id is not None:
        query = query.join(RevisionTable, RevisionTable.id == WorkTable.revision_id).where(
            RevisionTable.recipe_id == recipe_id
        )
    return [work_sheet(session, row) for row in session.scalars(query)]


def batch_contents(session: Session, batch: BatchTable) -> tuple[str, ...]:
    """Keys of what is in a batch: what was weighed, and what its recipe puts in."""
    weighed = session.scalars(select(BatchWeighed.substance).where(BatchWeighed.batch_id == batch.id)).all()
    recipe = recipe_from(session.get_one(RevisionTable, batch.revision_id).document)
    solution = recipe.solution(batch.solution)
    return tuple(dict.fromkeys([*weighed, *(i.substance for i in solution.ingredients), solution.solvent]))


def materials_of(session: Session, batch_id: int) -> list[tuple[BatchWeighed, LotTable | None]]:
    """What was weighed into a batch, with the lots it came from."""
    query = (
        select(BatchWeighed, LotTable)
        .outerjoin(LotTable, LotTable.id == BatchWeighed.lot_id)
        .where(BatchWeighed.batch_id == batch_id)
        .order_by(BatchWeighed.place)
    )
    return [(weighed, lot) for weighed, lot in session.execute(query)]


def strip_checks(session: Session, batch: BatchTable) -> list[StripCheckTable]:
    """The strip checks of a batch, in the order they were made."""
    query = select(StripCheckTable).where(StripCheckTable.batch_id == batch.id).order_by(StripCheckTable.id)
    return list(session.scalars(query))


def add_strip_check(
    session: Session,
    batch: BatchTable,
    *,
    age_h: float,
    seconds: float,
    temperature_c: float | None,
    by: str,
    note: str,
) -> None:
    """Put a strip check on record."""
    session.add(
        StripCheckTable(batch_id=batch.id, age_h=age_h, seconds=seconds, temperature_c=temperature_c, by=by, note=note)
    )
    session.flush()


def waste_in(session: Session) -> dict[str, list[WasteTable]]:
    """What stands in each drum since it was last fetched; a drum that is empty has an empty list."""
    drums: dict[str, list[WasteTable]] = {}
    for row in session.scalars(select(WasteTable).order_by(WasteTable.id)):
        drums.setdefault(row.drum, [])
        if row.emptied:
            drums[row.drum] = []
        else:
            drums[row.drum].append(row)
    return drums


def fetched_drums(session: Session) -> dict[str, list[WasteTable]]:
    """When each drum was fetched and by whom, oldest first; drums that never were are left out."""
    drums: dict[str, list[WasteTable]] = {}
    for row in session.scalars(select(WasteTable).where(WasteTable.emptied.is_(True)).order_by(WasteTable.id)):
        drums.setdefault(row.drum, []).append(row)
    return drums


def add_waste(
    session: Session,
    *,
    drum: str,
    what: str,
    amount: float,
    unit: str,
    substances: Sequence[str],
    batch_id: int | None,
    work_id: int | None,
    by: str,
    note: str,
    emptied: bool = False,
) -> WasteTable:
    """Put on record what went into a drum, or that it was fetched."""
    row = WasteTable(
        drum=drum,
        emptied=emptied,
        what=what,
        amount=amount,
        unit=unit,
        substances=list(substances),
        batch_id=batch_id,
        work_id=work_id,
        by=by,
        note=note,
        at=now(),
    )
    session.add(row)
    session.flush()
    return row
