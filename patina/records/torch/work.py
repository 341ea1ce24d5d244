"""The work on a piece: beginning it, writing down what happens, and reading it back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session

from patina.entries import NewWork
from patina.errors import Changed, NotFound, Refused
from patina.own_words import meet
from patina.recipe import Recipe, Step
from patina.records.recipes.releases import TILES, marks, tiles_only
from patina.records.shelves.batches import CRUMB_ML, use_batch
from patina.records.tables.base import now, searchable
from patina.records.tables.first import RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, PieceTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import BatchTable, BatchWeighed, LotTable
from patina.records.tables.work import WorkEventTable, WorkTable
from patina.records.torch.work_state import FROM_JOURNAL, State, elapsed_s, state_of
from patina.sheets import PotRow, WorkEvent, WorkRow, WorkSheet, WorkStep, ZoneRow

WHOLE = "whole"


@dataclass(frozen=True, slots=True)
class Stamp:
    """The id of an event, made where the key was pressed, so that it is written down once however often it
    is sent. at: when it happened, step and zone: where, if it comes out of a journal."""

    uid: str
    at: datetime | None = None
    step: int | None = None
    zone: str | None = None


def add_work(
    session: Session,
    entry: NewWork,
    *,
    target: TileTable | CastTable,
    revision: RevisionTable,
    zones: Sequence[tuple[str, float | None]],
    texture: float,
    by: str,
) -> WorkTable:
    """Begin a work: its row and its first event. Raises Refused where one is open on that piece."""
    column = WorkTable.cast_id if isinstance(target, CastTable) else WorkTable.tile_id
    other = session.scalars(select(WorkTable).where(column == target.id, WorkTable.ended_at.is_(None))).first()
    if other is not None:
        raise Refused(
            f"{other.public_id} on {target.public_id} is still open, begun {other.started_at:%Y-%m-%d}.",
            f"Take {other.public_id} up again, or end it first.",
            field="target",
        )
    recipe = recipe_from(revision.document)
    work = WorkTable(
        tile_id=target.id if isinstance(target, TileTable) else None,
        cast_id=target.id if isinstance(target, CastTable) else None,
        revision_id=revision.id,
        zones=[[name, area] for name, area in zones],
        texture=texture,
        tool=entry.tool,
        done_by=by,
        place=entry.place,
        air_c=entry.air_c,
        air_rh_pct=entry.air_rh_pct,
        thermometer={name: getattr(entry.thermometer, name) for name in ("kind", "setting", "unit", "low_c", "high_c")},
        started_at=now(),
        note=entry.note,
        search_text=searchable(recipe.name, by, entry.place, entry.tool, entry.note),
    )
    session.add(work)
    session.flush()
    add_event(session, work, "start", by=by, step=1, zone=zones[0][0])
    return work


def events_of(session: Session, work: WorkTable) -> list[WorkEventTable]:
    """Everything that happened, in the order of the numbers."""
    query = select(WorkEventTable).where(WorkEventTable.work_id == work.id).order_by(WorkEventTable.seq)
    return list(session.scalars(query))


def require_seen(events: Sequence[WorkEventTable], seen: int | None) -> None:
    """Whoever writes must have seen all that is written. Raises Changed, saying what is new."""
    if seen is None or not events or events[-1].seq == seen:
        return
    new = [e for e in events if e.seq > seen]
    last = new[-1] if new else events[-1]
    what = f"pass {last.pass_number}" if last.kind == "pass" else last.kind
    by = f" by {last.by}" if last.by else ""
    raise Changed(
        f"This work is open a second time, and something was written there: {what} in zone '{last.zone}'{by}.",
        "It is shown here now, and nothing is lost. Press the key again if yours comes on top of it.",
        title="Not written down yet",
    )


def last_number(session: Session, work: WorkTable) -> int:
    """Number of the newest event, 0 before the first."""
    return session.scalar(select(func.max(WorkEventTable.seq)).where(WorkEventTable.work_id == work.id)) or 0


def add_event(
    session: Session,
    work: WorkTable,
    kind: str,
    *,
    by: str,
    step: int,
    zone: str,
    pass_number: int | None = None,
    batch_id: int | None = None,
    left_ml: float | None = None,
    used_ml: float | None = None,
    true_c: float | None = None,
    cancels_id: int | None = None,
    note: str = "",
    said: Mapping[str, Any] | None = None,
    stamp: Stamp | None = None,
) -> WorkEventTable:
    """Write down one thing that happened, with the next number of this work. stamp: id and moment that it
    was given when it was done."""
    row = WorkEventTable(
        work_id=work.id,
        seq=last_number(session, work) + 1,
        kind=kind,
        by=by,
        step=step,
        zone=zone,
        pass_number=pass_number,
        batch_id=batch_id,
        left_ml=left_ml,
        used_ml=used_ml,
        true_c=true_c,
        cancels_id=cancels_id,
        note=note,
        said=dict(said or {}),
    )
    if stamp is not None:
        row.uid = stamp.uid
        if stamp.at is not None:
            row.at = stamp.at
            row.said = {**row.said, FROM_JOURNAL: True}
    session.add(row)
    session.flush()
    return row


def event_stamped(session: Session, uid: str) -> WorkEventTable | None:
    """What was written down under that id, None where it was not."""
    return session.scalars(select(WorkEventTable).where(WorkEventTable.uid == uid)).one_or_none()


def take_level(session: Session, work: WorkTable, batch: BatchTable, left_ml: float, *, by: str) -> float:
    """What was used of a pot that now holds left_ml; it is taken off the pot. Raises Refused where it
    would hold more than before."""
    used = batch.left_ml - left_ml
    if used < -CRUMB_ML:
        raise Refused(
            f"Batch {batch.public_id} held {batch.left_ml:g} mL by the last figure; {left_ml:g} mL cannot be left.",
            "Read the pot again. What was poured in from another pot is a batch of its own.",
            field="left",
        )
    if used > CRUMB_ML:
        use_batch(session, batch, used, why=f"work {work.public_id}", by=by)
    return max(used, 0.0)


def give_back(session: Session, work: WorkTable, event: WorkEventTable, *, by: str) -> None:
    """What an event took off a pot goes back on it, as a use below zero that stays on record."""
    if event.batch_id is not None and event.used_ml:
        batch = session.get_one(BatchTable, event.batch_id)
        use_batch(session, batch, -event.used_ml, why=f"work {work.public_id}: taken back", by=by)


def recipe_of(session: Session, work: WorkTable) -> tuple[RevisionTable, Recipe]:
    """The revision worked by, and its recipe."""
    revision = session.get_one(RevisionTable, work.revision_id)
    return revision, recipe_from(revision.document)


def for_tiles(session: Session, batch: BatchTable) -> bool:
    """Whether it was said of a pot, when it was mixed, that it is for test tiles."""
    mark = marks(session, [batch.id]).get(batch.id)
    return mark is not None and mark.purpose == TILES


def pot_of(session: Session, state: State, solution: str | None) -> BatchTable | None:
    """The pot last named for a solution."""
    for batch_id in reversed(state.pots):
        batch = session.get_one(BatchTable, batch_id)
        if batch.solution == solution:
            return batch
    return None


def work_rows(session: Session, where: ColumnElement[bool] | None = None) -> tuple[WorkRow, ...]:
    """Works, newest first, with their passes."""
    query = select(WorkTable).order_by(WorkTable.id.desc())
    if where is not None:
        query = query.where(where)
    return tuple(_row(session, work, state_of(events_of(session, work))) for work in session.scalars(query))


def _row(session: Session, work: WorkTable, state: State) -> WorkRow:
    target, name, _, _ = _target(session, work)
    revision = session.get_one(RevisionTable, work.revision_id)
    return WorkRow(
        id=work.public_id,
        target=target,
        target_name=name,
        recipe_id=f"R{revision.recipe_id}",
        recipe=session.get_one(RecipeTable, revision.recipe_id).name,
        revision=revision.number,
        by=work.done_by,
        started_at=work.started_at,
        ended_at=work.ended_at,
        passes=sum(state.passes.values()),
    )


def _target(session: Session, work: WorkTable) -> tuple[str, str, str, float | None]:
    """Id, name, alloy and wall of the piece."""
    if work.cast_id is not None:
        cast = session.get_one(CastTable, work.cast_id)
        title = session.get_one(PieceTable, cast.piece_id).title
        return cast.public_id, " ".join(w for w in (title, cast.number) if w), cast.alloy, cast.wall_mm
    if work.tile_id is None:
        raise NotFound(f"{work.public_id} names no piece.", "Run patina check.")
    tile = session.get_one(TileTable, work.tile_id)
    return tile.public_id, f"tile {tile.engraved}", tile.alloy, tile.wall_mm


def work_sheet(session: Session, work: WorkTable, until: datetime | None = None) -> WorkSheet:
    """Everything about a work. until: the moment it is read at, None for this one."""
    events = events_of(session, work)
    state = state_of(events)
    moment = until or now()
    spent, clock_note = elapsed_s(events, None if work.ended_at else moment)
    _, recipe = recipe_of(session, work)
    _, _, alloy, wall = _target(session, work)
    zones = tuple(ZoneRow(name, area) for name, area in work.zones)
    for zone in zones:
        meet(zone.name)
    steps = tuple(_step(n, step, zones, state, work.texture) for n, step in enumerate(recipe.steps, 1))
    pots = {e.batch_id for e in events if e.batch_id is not None}
    named = select(BatchTable.id, BatchTable.solution).where(BatchTable.id.in_(pots))
    names = {row.id: row.solution for row in session.execute(named)} if pots else {}
    return WorkSheet(
        row=_row(session, work, state),
        zones=zones,
        steps=steps,
        events=tuple(_event(e, state, names) for e in events),
        seq=state.seq,
        step=state.step,
        zone=state.zone,
        tool=work.tool,
        place=work.place,
        air_c=work.air_c,
        air_rh_pct=work.air_rh_pct,
        thermometer=work.thermometer,
        texture=work.texture,
        reserve=recipe.reserve,
        dead_ml=recipe.dead_volume_ml,
        alloy=alloy,
        wall_mm=wall,
        elapsed_s=spent,
        clock_note=clock_note,
        pot=_pot(session, work, pot_of(session, state, steps[state.step - 1].solution), moment),
        note=work.note,
        version=work.version,
    )


def _step(number: int, step: Step, zones: Sequence[ZoneRow], state: State, texture: float) -> WorkStep:
    planned = None if step.coverage_ml_per_m2 is None else step.coverage_ml_per_m2 * texture / step.transfer
    return WorkStep(
        number=number,
        do=step.do,
        solution=step.solution,
        method=step.method,
        tool=step.tool,
        note=step.note,
        passes=step.passes,
        window_c=step.surface_temperature_c,
        coverage_ml_m2=step.coverage_ml_per_m2,
        planned_ml_m2=planned,
        done=tuple(state.passes.get((number, z.name), 0) for z in zones),
    )


def _event(row: WorkEventTable, state: State, names: Mapping[int, str]) -> WorkEvent:
    return WorkEvent(
        id=row.public_id,
        seq=row.seq,
        kind=row.kind,
        at=row.at,
        by=row.by,
        step=row.step,
        zone=row.zone,
        pass_number=row.pass_number,
        batch=None if row.batch_id is None else f"B{row.batch_id}",
        left_ml=row.left_ml,
        used_ml=row.used_ml,
        true_c=row.true_c,
        cancels=None if row.cancels_id is None else f"E{row.cancels_id}",
        note=row.note,
        said=row.said,
        cancelled=row.id in state.gone,
        batch_name=names.get(row.batch_id or 0, ""),
    )


def _pot(session: Session, work: WorkTable, batch: BatchTable | None, moment: datetime) -> PotRow | None:
    if batch is None:
        return None
    past = batch.use_until is not None and batch.use_until < moment
    cautions = [f"{batch.public_id} is past its time ({batch.use_until:%Y-%m-%d %H:%M} UTC)."] if past else []
    mark = marks(session, [batch.id]).get(batch.id)
    if mark is not None and mark.discard_by is not None:
        until = f"{mark.discard_by:%Y-%m-%d %H:%M} UTC"
        cautions.insert(0, f"{batch.public_id} must be gone by {until}: {mark.discard_why}")
    if work.cast_id is not None and tiles_only(session, [batch]):
        cautions.append(f"{batch.public_id} counts for test tiles only: its recipe was not released for pieces.")
    lots = (
        select(LotTable.id, LotTable.name)
        .join(BatchWeighed, BatchWeighed.lot_id == LotTable.id)
        .where(BatchWeighed.batch_id == batch.id, LotTable.left_amount <= 0)
    )
    cautions += [
        f"Lot L{lot} ({name}) is used up: a second pot would be of another lot, and may show a step."
        for lot, name in session.execute(lots)
    ]
    if batch.left_ml <= 0:
        cautions.append(f"{batch.public_id} is empty.")
    return PotRow(
        batch.public_id, batch.solution, batch.volume_ml, batch.left_ml, batch.use_until, past, tuple(cautions)
    )
