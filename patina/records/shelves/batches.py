"""What was mixed, from which lots, and what was taken out of the pot."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from patina.entries import NewBatch
from patina.errors import Refused, ShortStock
from patina.recipe import Solution
from patina.records.shelves.shelf import require_stock, take
from patina.records.tables.base import now, searchable
from patina.records.tables.first import RecipeTable, RevisionTable
from patina.records.tables.shelf import BatchTable, BatchUse, BatchWeighed, LotTable
from patina.sheets import BatchSheet

if TYPE_CHECKING:
    from patina.records.tables.safety import BatchMarkTable

CRUMB_ML = 1e-6


@dataclass(frozen=True, slots=True)
class FromLot:
    """One thing weighed: its catalogue key, what was asked and what it came to, and the lot it came from."""

    substance: str
    asked: float
    amount: float
    unit: str
    lot: LotTable | None


def require_stock_for_all(weighed: Sequence[FromLot]) -> None:
    """Every lot must hold what all lines together take from it. Raises ShortStock naming all that do not."""
    asked: dict[int, float] = defaultdict(float)
    short: list[str] = []
    for line in weighed:
        if line.lot is None:
            continue
        asked[line.lot.id] += line.amount
    for lot_id, amount in asked.items():
        line = next(w for w in weighed if w.lot is not None and w.lot.id == lot_id)
        assert line.lot is not None
        try:
            require_stock(line.lot, amount, line.unit)
        except ShortStock as trouble:
            short.append(trouble.what)
    if short:
        raise ShortStock(
            " ".join(short), "Nothing was taken. Take the rest from another lot, or make less.", field="weighed"
        )


def add_batch(
    session: Session, entry: NewBatch, solution: Solution, revision: RevisionTable, weighed: Sequence[FromLot], by: str
) -> BatchTable:
    """Put a batch on record and take what it used from the shelf, in the same transaction."""
    require_stock_for_all(weighed)
    made_at = entry.made_at or now()
    keeps = solution.use_within_h is None
    batch = BatchTable(
        revision_id=revision.id,
        solution=solution.name,
        volume_ml=entry.volume_ml,
        left_ml=entry.volume_ml,
        made_at=made_at,
        made_by=by,
        use_until=None if keeps else made_at + timedelta(hours=solution.use_within_h or 0.0),
        water=entry.water,
        ph=entry.ph,
        temperature_c=entry.temperature_c,
        note=entry.note,
        search_text=searchable(revision.recipe.name, solution.name, by, entry.note),
    )
    session.add(batch)
    session.flush()
    for place, line in enumerate(weighed, 1):
        session.add(
            BatchWeighed(
                batch_id=batch.id,
                place=place,
                substance=line.substance,
                asked=line.asked,
                amount=line.amount,
                unit=line.unit,
                lot_id=None if line.lot is None else line.lot.id,
            )
        )
        if line.lot is not None and line.amount > 0:
            why = f"batch {batch.public_id}"
            take(session, line.lot, line.amount, line.unit, why=why, by=by, batch_id=batch.id)
    session.flush()
    return batch


def use_batch(session: Session, batch: BatchTable, ml: float, *, why: str, by: str) -> None:
    """Take millilitres out of a pot. Raises Refused where less is left."""
    if ml > batch.left_ml + CRUMB_ML:
        raise Refused(
            f"Batch {batch.public_id} has {batch.left_ml:g} mL left, and {ml:g} mL are asked for.",
            "Give what was really taken, or mix another batch.",
            field="ml",
        )
    left = batch.left_ml - ml
    batch.left_ml = 0.0 if left < CRUMB_ML else left
    session.add(BatchUse(batch_id=batch.id, ml=ml, why=why, by=by))
    session.flush()


def batch_sheets(
    session: Session, name_of: Callable[[str], str], where: ColumnElement[bool] | None = None
) -> tuple[BatchSheet, ...]:
    """Batches, newest first, with what went in and came out, in a few queries. name_of: from key to name."""
    query = (
        select(BatchTable, RecipeTable.id, RecipeTable.name, RevisionTable.number)
        .join(RevisionTable, RevisionTable.id == BatchTable.revision_id)
        .join(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
        .order_by(BatchTable.id.desc())
    )
    lines = select(BatchWeighed).order_by(BatchWeighed.batch_id, BatchWeighed.place)
    uses = select(BatchUse).order_by(BatchUse.batch_id, BatchUse.id)
    if where is not None:
        query = query.where(where)
        lines = lines.join(BatchTable, BatchTable.id == BatchWeighed.batch_id).where(where)
        uses = uses.join(BatchTable, BatchTable.id == BatchUse.batch_id).where(where)
    weighed: dict[int, list[tuple[str, float, float, str, str | None]]] = defaultdict(list)
    for line in session.scalars(lines):
        lot = None if line.lot_id is None else f"L{line.lot_id}"
        weighed[line.batch_id].append((name_of(line.substance), line.asked, line.amount, line.unit, lot))
    used: dict[int, list[tuple[datetime, float, str, str]]] = defaultdict(list)
    for use in session.scalars(uses):
        used[use.batch_id].append((use.at, use.ml, use.why, use.by))
    rows = session.execute(query).all()
    said, tiles_only = _marks(session, [row[0] for row in rows])
    return tuple(
        replace(
            _sheet(batch, recipe_id, recipe, number, weighed[batch.id], used[batch.id]),
            tiles_only=batch.id in tiles_only,
            discard_by=said[batch.id].discard_by if batch.id in said else None,
            discard_why=said[batch.id].discard_why if batch.id in said else "",
        )
        for batch, recipe_id, recipe, number in rows
    )


def _marks(session: Session, rows: Sequence[BatchTable]) -> tuple[dict[int, BatchMarkTable], set[int]]:
    from patina.records.recipes.releases import marks, tiles_only

    return marks(session, [row.id for row in rows]), tiles_only(session, rows)


def _sheet(
    batch: BatchTable,
    recipe_id: int,
    recipe: str,
    number: int,
    weighed: list[tuple[str, float, float, str, str | None]],
    used: list[tuple[datetime, float, str, str]],
) -> BatchSheet:
    return BatchSheet(
        id=batch.public_id,
        recipe_id=f"R{recipe_id}",
        recipe=recipe,
        revision=number,
        solution=batch.solution,
        volume_ml=batch.volume_ml,
        left_ml=batch.left_ml,
        made_at=batch.made_at,
        made_by=batch.made_by,
        use_until=batch.use_until,
        ph=batch.ph,
        temperature_c=batch.temperature_c,
        water=batch.water,
        weighed=tuple(weighed),
        note=batch.note,
        used=tuple(used),
    )
