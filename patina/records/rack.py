"""The readings of the rack as columns, for searching by colour."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables import ReadingTable, RecipeTable, RevisionTable, TileTable


@dataclass(frozen=True, slots=True)
class RackEntry:
    """The latest reading of a tile, with what a search filters on and shows."""

    tile: str
    engraved: str
    alloy: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    L: float
    a: float
    b: float


def rack_entries(session: Session, illuminant: str, observer: str) -> tuple[RackEntry, ...]:
    """The latest reading of every tile that is stated for this illuminant and observer, in one query."""
    query = (
        select(
            TileTable.id,
            TileTable.engraved,
            TileTable.alloy,
            RevisionTable.recipe_id,
            RecipeTable.name,
            RevisionTable.number,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
        )
        .join(ReadingTable, (ReadingTable.tile_id == TileTable.id) & ReadingTable.latest.is_(True))
        .outerjoin(RevisionTable, RevisionTable.id == TileTable.revision_id)
        .outerjoin(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
        .where(ReadingTable.illuminant == illuminant, ReadingTable.observer == observer)
        .order_by(TileTable.id)
    )
    return tuple(
        RackEntry(
            f"T{tile}",
            engraved,
            alloy,
            None if recipe_id is None else f"R{recipe_id}",
            recipe or "",
            revision,
            *lab,
        )
        for tile, engraved, alloy, recipe_id, recipe, revision, *lab in session.execute(query)
    )
