"""How tiles and casts were made, gathered from everything that was written down of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.recipe import Recipe
from patina.records.access.rows import shown_text
from patina.records.matched.masters_more import facts_of
from patina.records.readings.readings import readings_of
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, TreatmentTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import BatchTable
from patina.records.tables.work import WorkEventTable, WorkTable
from patina.records.torch.work_queries import materials_of
from patina.sheets import ReadingRow

PASSES = re.compile(r"(\d+)\s*(?:pass|coat)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Made:
    """A tile or cast as it was made. facts: circumstance to value in words, only what was written down. batch:
    id of its pot. revision_id: row of the revision, None where no recipe was used."""

    id: str
    name: str
    recipe_id: int | None
    recipe: str
    revision_id: int | None
    batch: str | None
    facts: Mapping[str, str] = field(default_factory=dict)
    as_done: tuple[str, ...] = ()


def made_tile(session: Session, tile: TileTable, noted: Mapping[str, str] | None = None) -> Made:
    """A tile as it was made. noted: what was written down of it, None to look it up."""
    work = session.scalars(select(WorkTable).where(WorkTable.tile_id == tile.id).order_by(WorkTable.id.desc())).first()
    facts = {"alloy": tile.alloy, "wall_mm": _figure(tile.wall_mm), "preparation": tile.preparation}
    facts |= {"hand": tile.made_by, "wax": _said(tile.wax_state), "passes": _passes(tile.as_done)}
    return _made(
        session,
        tile.public_id,
        tile.engraved,
        tile.revision_id if work is None else work.revision_id,
        tile.batch_id,
        facts,
        work,
        tuple(tile.as_done),
        facts_of(session)[0].get(tile.id, {}) if noted is None else noted,
    )


def made_cast(session: Session, cast: CastTable, name: str, noted: Mapping[str, str] | None = None) -> Made:
    """A cast as it was last patinated. name: as a person calls it. noted: as for a tile."""
    work = session.scalars(select(WorkTable).where(WorkTable.cast_id == cast.id).order_by(WorkTable.id.desc())).first()
    facts = {"alloy": cast.alloy, "wall_mm": _figure(cast.wall_mm)}
    query = (
        select(TreatmentTable)
        .where(TreatmentTable.cast_id == cast.id)
        .order_by(TreatmentTable.done_on, TreatmentTable.id)
    )
    treatments = list(session.scalars(query))
    coloured = [t for t in treatments if t.revision_id is not None or "patinat" in t.did.casefold()]
    last = coloured[-1] if coloured else None
    if any("wax" in t.did.casefold() for t in treatments):
        facts["wax"] = "waxed"
    if last is not None:
        facts |= {"hand": last.done_by, "passes": _passes(last.as_done)}
    revision_id = None if last is None else last.revision_id
    if revision_id is None and work is not None:
        revision_id = work.revision_id
    return _made(
        session,
        cast.public_id,
        name,
        revision_id,
        None if last is None else last.batch_id,
        facts,
        work,
        () if last is None else tuple(last.as_done),
        facts_of(session)[1].get(cast.id, {}) if noted is None else noted,
    )


def _made(
    session: Session,
    id: str,
    name: str,
    revision_id: int | None,
    batch_id: int | None,
    facts: dict[str, str],
    work: WorkTable | None,
    as_done: tuple[str, ...],
    noted: Mapping[str, str],
) -> Made:
    revision = None if revision_id is None else session.get_one(RevisionTable, revision_id)
    if revision is not None:
        facts |= _of_recipe(revision, recipe_from(revision.document))
    if work is not None:
        batch_id = batch_id or _first_pot(session, work)
        facts |= _of_work(session, work)
    if batch_id is not None:
        facts |= _of_batch(session, session.get_one(BatchTable, batch_id), work)
    facts |= noted
    known = {key: value.strip() for key, value in facts.items() if value.strip()}
    shown = as_done
    if revision is not None:
        shown = tuple(shown_text(session, revision.recipe_id, revision.number, line) for line in as_done)
    recipe = "" if revision is None else session.get_one(RecipeTable, revision.recipe_id).name
    return Made(
        id,
        name,
        None if revision is None else revision.recipe_id,
        recipe,
        revision_id,
        None if batch_id is None else f"B{batch_id}",
        known,
        shown,
    )


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _said(word: str) -> str:
    return "" if word == "not stated" else word


def _passes(as_done: Iterable[str]) -> str:
    found = [int(m[1]) for line in as_done for m in PASSES.finditer(line)]
    return str(sum(found)) if found else ""


def _of_recipe(revision: RevisionTable, recipe: Recipe) -> dict[str, str]:
    applied = [s for s in recipe.steps if s.do == "apply"]
    methods = dict.fromkeys(s.method for s in applied if s.method)
    tools = dict.fromkeys(s.tool for s in applied if s.tool)
    return {
        "recipe_revision": f"R{revision.recipe_id} revision {revision.number}",
        "method": ", ".join(methods),
        "tool": ", ".join(tools),
    }


def _first_pot(session: Session, work: WorkTable) -> int | None:
    query = select(WorkEventTable.batch_id).where(
        WorkEventTable.work_id == work.id, WorkEventTable.batch_id.is_not(None)
    )
    return session.scalars(query.order_by(WorkEventTable.seq)).first()


def _of_work(session: Session, work: WorkTable) -> dict[str, str]:
    """What the work at the torch says. Temperatures are given to 5 °C, so that like ones count as alike."""
    events = list(session.scalars(select(WorkEventTable).where(WorkEventTable.work_id == work.id)))
    gone = {e.cancels_id for e in events if e.cancels_id is not None}
    standing = [e for e in events if e.id not in gone]
    passes = sum(1 for e in standing if e.kind == "pass")
    read = [e.true_c for e in standing if e.kind == "temperature" and e.true_c is not None]
    found = {"hand": work.done_by, "instrument": str(work.thermometer.get("kind", ""))}
    if passes:
        found["passes"] = str(passes)
    if read:
        found["surface_c"] = _rounded(sum(read) / len(read), 5)
    if work.tool:
        found["tool"] = work.tool
    if work.air_c is not None:
        found["air_c"] = _rounded(work.air_c, 5)
    if work.air_rh_pct is not None:
        found["humidity_pct"] = _rounded(work.air_rh_pct, 10)
    return found


def _rounded(value: float, step: int) -> str:
    return str(step * round(value / step))


def _of_batch(session: Session, batch: BatchTable, work: WorkTable | None) -> dict[str, str]:
    lots, kinds, assays, strengths = [], [], [], []
    for weighed, lot in materials_of(session, batch.id):
        if weighed.unit == "g" and batch.volume_ml > 0:
            strengths.append(f"{1000 * weighed.amount / batch.volume_ml:.3g}")
        if lot is not None:
            lots.append(lot.lot_number or lot.public_id)
            kinds.append(lot.name)
            assays += [f"{lot.assay_pct:g} %"] if lot.assay_pct is not None else []
    found = {
        "chemical_lot": ", ".join(lots),
        "hydrate": ", ".join(kinds),
        "assay": ", ".join(assays),
        "water": batch.water,
        "strength_g_per_l": " + ".join(strengths),
    }
    if work is not None and work.started_at >= batch.made_at:
        hours = (work.started_at - batch.made_at).total_seconds() / 3600
        found["batch_age_h"] = f"{hours:.0f}" if hours < 12 else _rounded(hours, 12)
    return found


def made_like(session: Session, recipe_id: int) -> list[tuple[Made, Any]]:
    """Every tile and cast made by any revision of a recipe, each with its row."""
    revisions = select(RevisionTable.id).where(RevisionTable.recipe_id == recipe_id)
    noted = facts_of(session)
    # held, so that the session does not read them again for each tile
    held = [
        *session.scalars(select(RevisionTable).where(RevisionTable.recipe_id == recipe_id)),
        session.get(RecipeTable, recipe_id),
    ]
    tiles = session.scalars(select(TileTable).where(TileTable.revision_id.in_(revisions)).order_by(TileTable.id))
    found: list[tuple[Made, Any]] = [(made_tile(session, row, noted[0].get(row.id, {})), row) for row in tiles]
    treated = select(TreatmentTable.cast_id).where(TreatmentTable.revision_id.in_(revisions))
    worked = select(WorkTable.cast_id).where(WorkTable.revision_id.in_(revisions), WorkTable.cast_id.is_not(None))
    casts = session.scalars(
        select(CastTable).where(CastTable.id.in_(treated) | CastTable.id.in_(worked)).order_by(CastTable.id)
    )
    found += [(made_cast(session, row, row.public_id, noted[1].get(row.id, {})), row) for row in casts]
    del held
    return found


def readings_of_recipe(session: Session, recipe_id: int | None) -> tuple[ReadingRow, ...]:
    """All readings of tiles of a recipe, whatever its revision; of every tile for None."""
    if recipe_id is None:
        return readings_of(session, ReadingTable.tile_id.is_not(None))
    revisions = select(RevisionTable.id).where(RevisionTable.recipe_id == recipe_id)
    tiles = select(TileTable.id).where(TileTable.revision_id.in_(revisions))
    return readings_of(session, ReadingTable.tile_id.in_(tiles))
