"""Recipe texts that met another revision: kept until somebody has settled them."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused
from patina.recipe import Recipe
from patina.records.people.people import long_id
from patina.records.tables.first import RecipeTable
from patina.records.tables.people import RecipeDraftTable
from patina.records.tables.recipe_json import recipe_document
from patina.sheets.people import DraftRow


def add_draft(
    session: Session, row: RecipeTable, recipe: Recipe, *, based_on: int, reason: str, by: str
) -> RecipeDraftTable:
    """Keep a recipe text that could not become the next revision."""
    draft = RecipeDraftTable(
        recipe_id=row.id,
        based_on=based_on,
        met=row.revision,
        document=recipe_document(recipe),
        reason=reason,
        by=by,
        resolved="",
        saved_as=None,
    )
    session.add(draft)
    session.flush()
    return draft


def draft_rows(session: Session) -> tuple[DraftRow, ...]:
    """The texts that wait, oldest first."""
    query = (
        select(RecipeDraftTable, RecipeTable.name)
        .join(RecipeTable, RecipeTable.id == RecipeDraftTable.recipe_id)
        .where(RecipeDraftTable.resolved == "")
        .order_by(RecipeDraftTable.id)
    )
    return tuple(
        DraftRow(
            id=row.public_id,
            recipe_id=f"R{row.recipe_id}",
            recipe=name,
            based_on=row.based_on,
            met=row.met,
            by=row.by,
            at=row.created_at,
            reason=row.reason,
        )
        for row, name in session.execute(query)
    )


def find_draft(session: Session, which: str) -> RecipeDraftTable:
    """The text of that id, settled or not. Raises NotFound."""
    number = long_id(which, "RD")
    row = None if number is None else session.get(RecipeDraftTable, number)
    if row is None:
        raise NotFound(f"No recipe text that waits is called '{which}'.", "patina drafts list shows them (RD1 …).")
    return row


def waiting(row: RecipeDraftTable) -> RecipeDraftTable:
    """The text itself. Raises Refused where it was settled."""
    if row.resolved:
        as_what = f"as revision {row.saved_as}" if row.saved_as else "in favour of the other"
        raise Refused(f"{row.public_id} was settled already, {as_what}.", "Nothing is to be done.")
    return row
