"""Which records hang together: a tile with its recipe and its pot, a cast with its finish."""

from __future__ import annotations

from typing import Any

from sqlalchemy import false, select
from sqlalchemy.orm import Session

from patina.errors import NotFound
from patina.records.finding import kinds
from patina.records.ids import fetch, letter_of
from patina.records.shelf_tables import BatchTable, BatchWeighed, LotTable
from patina.records.tables import (
    CastTable,
    MasterTable,
    PieceTable,
    RecipeTable,
    RevisionTable,
    TileTable,
    TreatmentTable,
)
from patina.sheets import Found


def related(session: Session, which: str, limit: int) -> tuple[Found, ...]:
    """Records that the record names or that name it: at most ``limit`` of each kind, newest first.

    which: id of a recipe, tile, batch, agreed finish, piece, cast or lot. Raises NotFound.
    """
    letter = letter_of(which) or ""
    if letter not in _WHERE:
        raise NotFound(
            f"'{which}' is no record that others hang together with.", "Give the id of a recipe, tile, batch or cast."
        )
    table, conditions = _WHERE[letter]
    wanted = conditions(fetch(session, table, which))
    found: list[Found] = []
    for kind, table, name, query in kinds():
        if table.LETTER in wanted:
            rows = session.execute(query.where(wanted[table.LETTER]).order_by(table.id.desc()).limit(limit))
            found += [Found(kind, f"{table.LETTER}{row[0]}", name(row)) for row in rows]
    order = list(wanted)
    return tuple(sorted(found, key=lambda f: order.index(f.id[0])))


def _of_recipe(row: RecipeTable) -> dict[str, Any]:
    revisions = select(RevisionTable.id).where(RevisionTable.recipe_id == row.id)
    treated = select(TreatmentTable.cast_id).where(TreatmentTable.revision_id.in_(revisions))
    return {
        "T": TileTable.revision_id.in_(revisions),
        "M": MasterTable.recipe_id == row.id,
        "C": CastTable.id.in_(treated),
        "B": BatchTable.revision_id.in_(revisions),
    }


def _recipes(revisions: Any) -> Any:
    return RecipeTable.id.in_(select(RevisionTable.recipe_id).where(RevisionTable.id.in_(revisions)))


def _of_tile(row: TileTable) -> dict[str, Any]:
    treated = select(TreatmentTable.cast_id).where(TreatmentTable.batch_id == row.batch_id)
    return {
        "R": _recipes([row.revision_id]),
        "B": BatchTable.id == row.batch_id,
        "M": MasterTable.tile_id == row.id,
        "C": CastTable.id.in_(treated) if row.batch_id is not None else false(),
    }


def _of_batch(row: BatchTable) -> dict[str, Any]:
    treated = select(TreatmentTable.cast_id).where(TreatmentTable.batch_id == row.id)
    return {
        "R": _recipes([row.revision_id]),
        "T": TileTable.batch_id == row.id,
        "C": CastTable.id.in_(treated),
        "L": LotTable.id.in_(select(BatchWeighed.lot_id).where(BatchWeighed.batch_id == row.id)),
    }


def _of_cast(row: CastTable) -> dict[str, Any]:
    done = TreatmentTable.cast_id == row.id
    return {
        "M": MasterTable.id == row.master_id,
        "R": _recipes(select(TreatmentTable.revision_id).where(done)),
        "B": BatchTable.id.in_(select(TreatmentTable.batch_id).where(done)),
        "W": PieceTable.id == row.piece_id,
    }


def _of_piece(row: PieceTable) -> dict[str, Any]:
    return {"C": CastTable.piece_id == row.id}


def _of_master(row: MasterTable) -> dict[str, Any]:
    return {
        "T": TileTable.id == row.tile_id,
        "R": RecipeTable.id == row.recipe_id,
        "C": CastTable.master_id == row.id,
    }


def _of_lot(row: LotTable) -> dict[str, Any]:
    return {"B": BatchTable.id.in_(select(BatchWeighed.batch_id).where(BatchWeighed.lot_id == row.id))}


_WHERE: dict[str, tuple[Any, Any]] = {
    "R": (RecipeTable, _of_recipe),
    "T": (TileTable, _of_tile),
    "B": (BatchTable, _of_batch),
    "C": (CastTable, _of_cast),
    "W": (PieceTable, _of_piece),
    "M": (MasterTable, _of_master),
    "L": (LotTable, _of_lot),
}
