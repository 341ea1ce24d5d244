"""The words by which a record is found, worked out from its own fields and from what it belongs to."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import NotFound
from patina.records.tables.base import Edited, searchable
from patina.records.tables.first import RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import BatchTable, LotTable
from patina.records.tables.work import WorkTable

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue
    from patina.recipe import Recipe


def recipe_words(known: Catalogue, recipe: Recipe) -> list[str]:
    """Further names by which a recipe is found: of its substances and alloys."""
    from patina.surface.alloys import find_alloy

    words: list[str] = []
    for key in dict.fromkeys(i.substance for s in recipe.solutions for i in s.ingredients):
        substance = known.get(key)
        words += [substance.name, *substance.other_names, substance.cas or ""]
    for key in recipe.alloys:
        try:
            alloy = find_alloy(key)
        except NotFound:
            continue
        words += [alloy.name, *alloy.other_names]
    return words


def search_text(session: Session, row: Edited, known: Catalogue) -> str:
    """The text that a search for a record looks through, worked out anew."""
    words: list[str] = []
    if isinstance(row, RecipeTable):
        words = recipe_words(known, _recipe(session, row))
    elif isinstance(row, LotTable):
        substance = known.get(row.substance)
        words = [*substance.other_names, substance.cas or "", substance.formula]
    return searchable(*own_words(session, row), *words)


@cache
def kinds_with_words() -> dict[type[Edited], Callable[[Session, Any], list[str | None]]]:
    """The kinds of record that are found by words, each with what tells its own words."""
    return {
        RecipeTable: _of_recipe,
        TileTable: _of_tile,
        MasterTable: lambda _, r: [r.name, r.zone, r.agreed_by, r.holders, r.note],
        PieceTable: lambda _, r: [r.title, r.maker, r.note],
        CastTable: _of_cast,
        LotTable: lambda _, r: [r.name, r.supplier, r.grade, r.lot_number, r.place, r.note],
        BatchTable: lambda s, r: [_recipe_name(s, r.revision_id), r.solution, r.made_by, r.note],
        WorkTable: lambda s, r: [_recipe_name(s, r.revision_id), r.done_by, r.place, r.tool, r.note],
    }


def own_words(session: Session, row: Edited) -> list[str | None]:
    """The words of a record itself, without those that the catalogues add; none for a kind that is not known."""
    tell = kinds_with_words().get(type(row))
    return [] if tell is None else tell(session, row)


def _recipe(session: Session, row: RecipeTable) -> Recipe:
    latest = (RevisionTable.recipe_id == row.id) & (RevisionTable.number == row.revision)
    return recipe_from(session.scalars(select(RevisionTable.document).where(latest)).one())


def _of_recipe(session: Session, row: RecipeTable) -> list[str | None]:
    recipe = _recipe(session, row)
    keys = [i.substance.replace("_", " ") for s in recipe.solutions for i in s.ingredients]
    solutions = [s.name for s in recipe.solutions]
    return [recipe.name, recipe.finish, recipe.provenance, *recipe.alloys, *recipe.methods, *solutions, *keys]


def _of_tile(session: Session, row: TileTable) -> list[str | None]:
    own = [row.engraved, row.alloy, row.preparation, row.size, row.made_by, row.note, *row.as_done]
    return [*own, *revision_words(session, row.revision_id)]


def _of_cast(session: Session, row: CastTable) -> list[str | None]:
    piece = session.get_one(PieceTable, row.piece_id)
    return [piece.title, piece.maker, row.number, row.alloy, row.owner, row.place, row.note]


def _recipe_name(session: Session, revision_id: int) -> str:
    return str(session.get_one(RevisionTable, revision_id).document["name"])


def revision_words(session: Session, revision_id: int | None) -> tuple[str, ...]:
    """The name and the look of a recipe as that revision says them; none where there is no revision."""
    row = None if revision_id is None else session.get(RevisionTable, revision_id)
    return () if row is None else (row.document["name"], row.finish)
