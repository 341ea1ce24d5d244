"""Which records hang together: a tile with its recipe and its pot, a cast with its finish, and so on both ways."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sqlalchemy import ColumnElement, Select, exists, func, or_, select, union
from sqlalchemy.orm import Session

from patina.errors import NotFound
from patina.records.finding.everything import kinds
from patina.records.tables.first import RecipeTable, RevisionSubstance, RevisionTable, TileTable
from patina.records.tables.ids import fetch
from patina.records.tables.matching import MasterZoneTable
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable, TreatmentTable
from patina.records.tables.shelf import BatchTable, BatchWeighed, LotTable
from patina.records.tables.treatments import ConservationTable
from patina.records.tables.treatments_more import LayerTable, MaterialTable
from patina.sheets import Found

Ids = Any  # a list of numbers, or the question that gives them
NEWEST = 2000  # so many recipes are asked whether they use what is in a lot
_TREATMENTS = ("treatment", ConservationTable, lambda row: row[1], select(ConservationTable.id, ConservationTable.name))


def related(session: Session, which: str, limit: int) -> tuple[Found, ...]:
    """Records that the record names or that name it: at most ``limit`` of each kind, newest first.

    which: id of a recipe, tile, batch, agreed finish, piece, cast, lot or treatment. Raises NotFound.
    """
    plain = which.strip().upper().replace(" ", "")
    letter = plain.rstrip("0123456789")
    if letter not in _WHERE:
        raise NotFound(
            f"'{which}' is no record that others hang together with.", "Give the id of a recipe, tile, batch or cast."
        )
    table, conditions = _WHERE[letter]
    wanted = conditions(_treatment(session, plain) if letter == "CT" else fetch(session, table, which))
    found: list[Found] = []
    for kind, table, name, query in (*kinds(), _TREATMENTS):
        if table.LETTER in wanted:
            rows = session.execute(query.where(wanted[table.LETTER]).order_by(table.id.desc()).limit(limit))
            found += [Found(kind, f"{table.LETTER}{row[0]}", name(row)) for row in rows]
    order = list(wanted)
    return tuple(sorted(found, key=lambda f: order.index(f.id.rstrip("0123456789"))))


def _treatment(session: Session, which: str) -> ConservationTable:
    row = session.get(ConservationTable, int(which[2:])) if which[2:].isdecimal() and len(which) < 12 else None
    if row is None:
        raise NotFound(f"There is no treatment '{which}'.", "patina treatment list shows them.")
    return row


# -- questions that give numbers -----------------------------------------------------------------------------------


def _revisions(recipes: Ids) -> Select[Any]:
    return select(RevisionTable.id).where(RevisionTable.recipe_id.in_(recipes))


def _recipes(revisions: Ids) -> Select[Any]:
    return select(RevisionTable.recipe_id).where(RevisionTable.id.in_(revisions))


def _casts(condition: ColumnElement[bool]) -> Select[Any]:
    """Casts that something was done to."""
    return select(TreatmentTable.cast_id).where(condition)


def _pots(condition: ColumnElement[bool]) -> Select[Any]:
    """Pots that something was done with."""
    return select(TreatmentTable.batch_id).where(condition, TreatmentTable.batch_id.is_not(None))


def _lots(pots: Ids) -> Select[Any]:
    return select(BatchWeighed.lot_id).where(BatchWeighed.batch_id.in_(pots), BatchWeighed.lot_id.is_not(None))


def _finishes(tiles: Ids) -> ColumnElement[bool]:
    """Agreed finishes that rest on these tiles, as a whole or in a zone."""
    zones = select(MasterZoneTable.master_id).where(
        or_(*(column.in_(tiles) for column in _zone_tiles()), MasterZoneTable.tile_id.in_(tiles))
    )
    return or_(MasterTable.tile_id.in_(tiles), MasterTable.id.in_(zones))


def _zone_tiles() -> tuple[Any, ...]:
    return MasterZoneTable.light_tile_id, MasterZoneTable.dark_tile_id


def _tiles_of_finishes(finishes: Ids) -> Ids:
    whole = select(MasterTable.tile_id).where(MasterTable.id.in_(finishes), MasterTable.tile_id.is_not(None))
    zones = [
        select(column).where(MasterZoneTable.master_id.in_(finishes), column.is_not(None))
        for column in (MasterZoneTable.tile_id, *_zone_tiles())
    ]
    return select(union(whole, *zones).subquery())


def _treatments(casts: Ids) -> ColumnElement[bool]:
    return ConservationTable.cast_id.in_(casts)


# -- what hangs together with each kind ----------------------------------------------------------------------------


def _of_recipe(row: RecipeTable) -> dict[str, Any]:
    revisions = _revisions([row.id])
    casts = _casts(TreatmentTable.revision_id.in_(revisions))
    tiles = select(TileTable.id).where(TileTable.revision_id.in_(revisions))
    used = select(RevisionSubstance.substance).where(RevisionSubstance.revision_id.in_(revisions))
    return {
        "T": TileTable.revision_id.in_(revisions),
        "M": or_(MasterTable.recipe_id == row.id, _finishes(tiles)),
        "C": CastTable.id.in_(casts),
        "B": BatchTable.revision_id.in_(revisions),
        "L": LotTable.substance.in_(used),
        "CT": _treatments(casts),
    }


def _of_tile(row: TileTable) -> dict[str, Any]:
    finishes = select(MasterTable.id).where(_finishes([row.id]))
    of_pot = _casts(TreatmentTable.batch_id.in_([row.batch_id]))  # none where the tile has no pot
    casts = or_(CastTable.master_id.in_(finishes), CastTable.id.in_(of_pot))
    return {
        "R": RecipeTable.id.in_(_recipes([row.revision_id])),
        "B": BatchTable.id == row.batch_id,
        "M": _finishes([row.id]),
        "C": casts,
        "L": LotTable.id.in_(_lots([row.batch_id])),
        "CT": _treatments(select(CastTable.id).where(casts)),
    }


def _of_batch(row: BatchTable) -> dict[str, Any]:
    casts = _casts(TreatmentTable.batch_id == row.id)
    tiles = select(TileTable.id).where(TileTable.batch_id == row.id)
    return {
        "R": RecipeTable.id.in_(_recipes([row.revision_id])),
        "T": TileTable.batch_id == row.id,
        "C": CastTable.id.in_(casts),
        "L": LotTable.id.in_(_lots([row.id])),
        "M": or_(_finishes(tiles), MasterTable.id.in_(select(CastTable.master_id).where(CastTable.id.in_(casts)))),
        "CT": _treatments(casts),
    }


def _of_cast(row: CastTable) -> dict[str, Any]:
    done = TreatmentTable.cast_id == row.id
    pots = _pots(done)
    return {
        "M": MasterTable.id == row.master_id,
        "R": RecipeTable.id.in_(_recipes(select(TreatmentTable.revision_id).where(done))),
        "B": BatchTable.id.in_(pots),
        "W": PieceTable.id == row.piece_id,
        "CT": _treatments([row.id]),
        "T": or_(TileTable.id.in_(_tiles_of_finishes([row.master_id])), TileTable.batch_id.in_(pots)),
        "L": LotTable.id.in_(_lots(pots)),
    }


def _of_piece(row: PieceTable) -> dict[str, Any]:
    casts = select(CastTable.id).where(CastTable.piece_id == row.id)
    finishes = select(CastTable.master_id).where(CastTable.piece_id == row.id)
    return {"C": CastTable.piece_id == row.id, "M": MasterTable.id.in_(finishes), "CT": _treatments(casts)}


def _of_master(row: MasterTable) -> dict[str, Any]:
    casts = select(CastTable.id).where(CastTable.master_id == row.id)
    tiles = _tiles_of_finishes([row.id])
    pots = union(
        _pots(TreatmentTable.cast_id.in_(casts)),
        select(TileTable.batch_id).where(TileTable.id.in_(tiles), TileTable.batch_id.is_not(None)),
    )
    of_tiles = _recipes(select(TileTable.revision_id).where(TileTable.id.in_(tiles)))
    return {
        "T": TileTable.id.in_(tiles),
        "R": or_(RecipeTable.id == row.recipe_id, RecipeTable.id.in_(of_tiles)),
        "C": CastTable.master_id == row.id,
        "W": PieceTable.id.in_(select(CastTable.piece_id).where(CastTable.master_id == row.id)),
        "B": BatchTable.id.in_(pots),
        "L": LotTable.id.in_(_lots(pots)),
        "CT": _treatments(casts),
    }


def _of_lot(row: LotTable) -> dict[str, Any]:
    pots = select(BatchWeighed.batch_id).where(BatchWeighed.lot_id == row.id)
    casts = _casts(TreatmentTable.batch_id.in_(pots))
    tiles = select(TileTable.id).where(TileTable.batch_id.in_(pots))
    newest = select(func.max(RecipeTable.id) - NEWEST).scalar_subquery()
    uses = exists().where(
        RevisionTable.recipe_id == RecipeTable.id,
        RevisionSubstance.revision_id == RevisionTable.id,
        RevisionSubstance.substance == row.substance,
    )
    weighed = _recipes(select(BatchTable.revision_id).where(BatchTable.id.in_(pots)))
    given = union(*(select(t.conservation_id).where(t.lot_id == row.id) for t in (MaterialTable, LayerTable)))
    finishes = select(CastTable.master_id).where(CastTable.id.in_(casts))
    return {
        "B": BatchTable.id.in_(pots),
        "R": or_(RecipeTable.id.in_(weighed), (RecipeTable.id > newest) & uses),
        "T": TileTable.batch_id.in_(pots),
        "C": CastTable.id.in_(casts),
        "M": or_(_finishes(tiles), MasterTable.id.in_(finishes)),
        "CT": or_(ConservationTable.id.in_(given), _treatments(casts)),
    }


def _of_treatment(row: ConservationTable) -> dict[str, Any]:
    done = TreatmentTable.cast_id == row.cast_id
    pots, finish = _pots(done), select(CastTable.master_id).where(CastTable.id == row.cast_id)
    given = union(*(select(t.lot_id).where(t.conservation_id == row.id) for t in (MaterialTable, LayerTable)))
    return {
        "C": CastTable.id == row.cast_id,
        "W": PieceTable.id.in_(select(CastTable.piece_id).where(CastTable.id == row.cast_id)),
        "M": MasterTable.id.in_(finish),
        "R": RecipeTable.id.in_(_recipes(select(TreatmentTable.revision_id).where(done))),
        "B": BatchTable.id.in_(pots),
        "T": or_(TileTable.id.in_(_tiles_of_finishes(finish)), TileTable.batch_id.in_(pots)),
        "L": or_(LotTable.id.in_(given), LotTable.id.in_(_lots(pots))),
    }


_WHERE: dict[str, tuple[Any, Callable[[Any], dict[str, Any]]]] = {
    "R": (RecipeTable, _of_recipe),
    "T": (TileTable, _of_tile),
    "B": (BatchTable, _of_batch),
    "C": (CastTable, _of_cast),
    "W": (PieceTable, _of_piece),
    "M": (MasterTable, _of_master),
    "L": (LotTable, _of_lot),
    "CT": (ConservationTable, _of_treatment),
}
