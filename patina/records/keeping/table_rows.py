"""Records as rows of a plain table, in the words in which they can be brought in again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.access.safety import is_withheld
from patina.records.recipes.recipes import find_revision
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable, TreatmentTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import LotTable

if TYPE_CHECKING:
    from patina.recipe import Recipe

Row = dict[str, str]


def table_rows(session: Session, kind: str) -> list[Row]:
    """Every record of a kind as texts by field; recipes as they stand, one row for each ingredient and step."""
    return list(_ROWS[kind](session))


def _said(value: Any, unit: str = "") -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.12g}{unit}"
    if isinstance(value, datetime | date):
        return value.isoformat()
    return f"{value}{unit}"


def _pairs(session: Session, id: Any, name: Any) -> dict[int, str]:
    return {row[0]: row[1] for row in session.execute(select(id, name))}


def _made_with(session: Session, revision_id: int | None) -> Row:
    row = None if revision_id is None else session.get(RevisionTable, revision_id)
    recipe = None if row is None else session.get(RecipeTable, row.recipe_id)
    return {} if row is None or recipe is None else {"recipe": recipe.name, "revision": str(row.number)}


def _tiles(session: Session) -> Iterator[Row]:
    for tile in session.scalars(select(TileTable).order_by(TileTable.id)):
        yield {
            "engraved": tile.engraved,
            "alloy": tile.alloy,
            "preparation": tile.preparation,
            "wall": _said(tile.wall_mm, " mm"),
            "size": tile.size,
            **_made_with(session, tile.revision_id),
            "as_done": "\n".join(tile.as_done),
            "made_on": _said(tile.made_on),
            "made_by": tile.made_by,
            "wax_state": tile.wax_state,
            "note": tile.note,
        }


def _readings(session: Session) -> Iterator[Row]:
    marks = _pairs(session, TileTable.id, TileTable.engraved)
    borne = Counter(marks.values())
    for r in session.scalars(select(ReadingTable).order_by(ReadingTable.id)):
        mark = marks.get(r.tile_id or 0, "")
        spread = r.sd or (None, None, None)
        yield {
            "tile": "" if r.tile_id is None else mark if borne[mark] == 1 else f"T{r.tile_id}",
            "cast": "" if r.cast_id is None else f"C{r.cast_id}",
            "L": _said(r.lab_l),
            "a": _said(r.lab_a),
            "b": _said(r.lab_b),
            **{f"sd_{axis}": _said(value) for axis, value in zip("Lab", spread, strict=True)},
            "area": r.area,
            "illuminant": r.illuminant,
            "observer": r.observer,
            "geometry": r.geometry,
            "instrument": r.instrument,
            "n": str(r.n),
            "uncertainty": _said(r.uncertainty_de00),
            "wax_state": r.wax_state,
            "warmth": r.warmth,
            "read_at": _said(r.read_at),
            "read_by": r.read_by,
            "source": r.source,
            "note": r.note,
        }


def _lots(session: Session) -> Iterator[Row]:
    for lot in session.scalars(select(LotTable).order_by(LotTable.id)):
        yield {
            "substance": lot.substance,
            "amount": _said(lot.amount, f" {lot.unit}"),
            "assay": _said(lot.assay_pct, " %"),
            **{f: getattr(lot, f) for f in ("supplier", "grade", "lot_number", "place", "currency", "note")},
            "opened_on": _said(lot.opened_on),
            "use_by": _said(lot.use_by),
            "price": _said(lot.price),
        }


def _pieces(session: Session) -> Iterator[Row]:
    for p in session.scalars(select(PieceTable).order_by(PieceTable.id)):
        height, edition = _said(p.height_mm, " mm"), _said(p.edition)
        yield {"title": p.title, "maker": p.maker, "edition": edition, "height": height, "note": p.note}


def _casts(session: Session) -> Iterator[Row]:
    titles = _pairs(session, PieceTable.id, PieceTable.title)
    masters = _pairs(session, MasterTable.id, MasterTable.name)
    for c in session.scalars(select(CastTable).order_by(CastTable.id)):
        yield {
            "piece": titles[c.piece_id],
            **{f: getattr(c, f) for f in ("number", "alloy", "owner", "place", "note")},
            "mass": _said(c.mass_g, " g"),
            "wall": _said(c.wall_mm, " mm"),
            "area": _said(c.area_m2, " m2"),
            "master": "" if c.master_id is None else masters[c.master_id],
            "cast_on": _said(c.cast_on),
        }


def _treatments(session: Session) -> Iterator[Row]:
    titles = _pairs(session, PieceTable.id, PieceTable.title)
    casts = {c.id: c for c in session.scalars(select(CastTable))}
    for t in session.scalars(select(TreatmentTable).order_by(TreatmentTable.id)):
        cast = casts[t.cast_id]
        yield {
            "cast": titles[cast.piece_id] if cast.number else f"C{cast.id}",
            "number": cast.number,
            "did": t.did,
            "zone": t.zone,
            **_made_with(session, t.revision_id),
            "as_done": "\n".join(t.as_done),
            "area": _said(t.area_m2, " m2"),
            "done_on": _said(t.done_on),
            "done_by": t.done_by,
            "note": t.note,
        }


def _recipes(session: Session) -> Iterator[Row]:
    for row in session.scalars(select(RecipeTable).order_by(RecipeTable.id)):
        yield from recipe_rows_of(recipe_from(find_revision(session, row, None).document))


def recipe_rows_of(recipe: Recipe) -> Iterator[Row]:
    """The rows of one recipe: what holds for all of it in the first, then ingredients, then steps.

    Where quantities are withheld from whoever asks, the strengths say so and the other figures stay empty.
    """
    withheld = is_withheld(recipe)
    first: Row = {
        "finish": recipe.finish,
        "alloys": "; ".join(recipe.alloys) + (";" if len(recipe.alloys) == 1 and "," in recipe.alloys[0] else ""),
        "provenance": recipe.provenance,
        "texture": _said(recipe.texture),
        "reserve": "" if withheld else _said(100 * recipe.reserve, " %"),
        "dead_volume": _said(recipe.dead_volume_ml, " mL") if recipe.dead_volume_ml else "",
    }
    for solution in recipe.solutions:
        of_solution: Row = {
            "solution": solution.name,
            "solvent": solution.solvent,
            "volume_is": solution.volume_is,
            "use_within": _said(solution.use_within_h, " h"),
        }
        for item in solution.ingredients:
            strength = {"substance": item.substance, "strength": item.strength.as_written}
            yield {"name": recipe.name, **first, **of_solution, **strength}
            first, of_solution = {}, {"solution": solution.name}
    for step in recipe.steps:
        window = step.surface_temperature_c
        yield {
            "name": recipe.name,
            **first,
            "do": step.do,
            "note": step.note,
            "solution": step.solution or "",
            "method": step.method or "",
            "tool": step.tool,
            "passes": str(step.passes),
            "coverage": _said(step.coverage_ml_per_m2, " mL/m2"),
            "transfer": "" if withheld else _said(100 * step.transfer, " %"),
            "surface_temperature": "" if window is None else f"{_said(window[0])} °C - {_said(window[1])} °C",
        }
        first = {}


_ROWS: dict[str, Callable[[Session], Iterator[Row]]] = {
    "recipes": _recipes,
    "tiles": _tiles,
    "readings": _readings,
    "lots": _lots,
    "pieces": _pieces,
    "casts": _casts,
    "treatments": _treatments,
}
