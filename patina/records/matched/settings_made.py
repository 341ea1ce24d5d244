"""How every tile was made, as figures and words that colour may depend on; read in bulk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.recipe import Recipe
from patina.records.access.rows import hides
from patina.records.matched.makings import PASSES
from patina.records.matched.masters_more import facts_of, twins
from patina.records.tables.first import ReadingTable, RevisionTable, TileTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.work import WorkEventTable, WorkTable

Values = Mapping[str, float | str]


@dataclass(frozen=True, slots=True)
class TileMade:
    """A tile with its latest colour. values: passes, surface_c, alloy as they were, else as the recipe says; what
    ``of_recipe`` says of its recipe besides."""

    tile: str
    wax_state: str
    lab: Lab
    values: Values
    engraved: str = ""


def tiles_made(
    session: Session, of_recipe: Callable[[Recipe], Values], illuminant: str = "D50", observer: str = "2"
) -> list[TileMade]:
    """Every tile of a recipe that was read for an illuminant and observer, in four queries.

    of_recipe: what colour may depend on, of a recipe; asked once for each revision. Tiles of a recipe whose
    quantities are withheld from whoever is at work are left out.
    """
    noted = facts_of(session)[0]
    worked = _worked(session)
    known: dict[int, Values] = {}
    columns = (RevisionTable.id, RevisionTable.recipe_id, RevisionTable.number, RevisionTable.document)
    for id, recipe_id, number, document in session.execute(select(*columns).join(TileTable).distinct()):
        if not hides(session, recipe_id, number):
            known[id] = of_recipe(recipe_from(document))
    query = (
        select(
            TileTable.id,
            TileTable.engraved,
            TileTable.alloy,
            TileTable.as_done,
            TileTable.revision_id,
            ReadingTable.wax_state,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
        )
        .join(ReadingTable, (ReadingTable.tile_id == TileTable.id) & ReadingTable.latest.is_(True))
        .where(ReadingTable.illuminant == illuminant, ReadingTable.observer == observer)
        .where(TileTable.revision_id.is_not(None))
        .order_by(TileTable.id)
    )
    found = []
    young = _before_ageing(session, illuminant, observer)
    row: Any
    for row in session.execute(query):
        id, engraved, alloy, as_done, revision, wax, L, a, b = row
        if revision not in known:  # its quantities are held by the studio
            continue
        L, a, b = young.get((id, wax), (L, a, b))
        values: dict[str, float | str] = {**known[revision], "alloy": alloy}
        passes = sum(int(m[1]) for line in as_done for m in PASSES.finditer(line))
        if passes:
            values["passes"] = float(passes)
        values |= worked.get(id, {})
        values |= _figures(noted.get(id, {}))
        found.append(TileMade(f"T{id}", wax, Lab(L, a, b, illuminant, observer), values, engraved))
    return found


def _before_ageing(
    session: Session, illuminant: str, observer: str
) -> dict[tuple[int, str], tuple[float, float, float]]:
    """The first reading of each twin in each wax state: what it was before it aged."""
    kept = list(twins(session))
    found: dict[tuple[int, str], tuple[float, float, float]] = {}
    for start in range(0, len(kept), 500):
        query = select(ReadingTable).where(
            ReadingTable.tile_id.in_(kept[start : start + 500]),
            ReadingTable.illuminant == illuminant,
            ReadingTable.observer == observer,
            ReadingTable.warmth != "warm",
        )
        for row in session.scalars(query.order_by(ReadingTable.read_at, ReadingTable.id)):
            found.setdefault((row.tile_id or 0, row.wax_state), (row.lab_l, row.lab_a, row.lab_b))
    return found


def _worked(session: Session) -> dict[int, dict[str, float]]:
    """Passes and mean temperature of the work on each tile, what was taken back left out."""
    gone = select(WorkEventTable.cancels_id).where(WorkEventTable.cancels_id.is_not(None))
    query = (
        select(WorkTable.tile_id, WorkEventTable.kind, WorkEventTable.true_c)
        .join(WorkTable, WorkTable.id == WorkEventTable.work_id)
        .where(WorkTable.tile_id.is_not(None), WorkEventTable.kind.in_(("pass", "temperature")))
        .where(WorkEventTable.id.not_in(gone))
    )
    passes: dict[int, int] = {}
    temperatures: dict[int, list[float]] = {}
    row: Any
    for row in session.execute(query):
        tile, kind, true_c = row
        if kind == "pass":
            passes[tile] = passes.get(tile, 0) + 1
        elif true_c is not None:
            temperatures.setdefault(tile, []).append(true_c)
    found: dict[int, dict[str, float]] = {tile: {"passes": float(n)} for tile, n in passes.items()}
    for tile, read in temperatures.items():
        found.setdefault(tile, {})["surface_c"] = sum(read) / len(read)
    return found


def _figures(noted: Mapping[str, str]) -> dict[str, float]:
    """Circumstances that were noted as plain figures."""
    found = {}
    for key in ("passes", "surface_c", "strength_g_per_l"):
        try:
            value = float(noted.get(key, ""))
        except ValueError:
            continue
        if 0 < value < 1e6:
            found[key] = value
    return found
