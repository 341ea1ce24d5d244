"""Two people at one recipe: the second is told and shown the difference, and settles it; no text is lost."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.recipes.conflicts_merge import differences, merged
from patina.bench.studio import Studio
from patina.errors import Conflict, Refused
from patina.records.recipes import drafts as recipe_drafts
from patina.records.recipes import recipes
from patina.records.studio.unit import unit
from patina.records.tables.recipe_json import recipe_from
from patina.sheets.people import ConflictSheet, DraftRow

if TYPE_CHECKING:
    from patina.recipe import Recipe
    from patina.sheets import RecipeSheet

WAYS = ("theirs", "mine", "merged")


def keep_draft(studio: Studio, which: str, recipe: Recipe, *, based_on: int, reason: str, by: str = "") -> Conflict:
    """Keep a recipe text that met another revision, and the trouble to raise about it. Raises NotFound."""
    with unit(studio.store, "keep draft", by=studio.who(by), why=reason[:400]) as work:
        row = recipes.find_recipe(work.session, which)
        draft = recipe_drafts.add_draft(work.session, row, recipe, based_on=based_on, reason=reason, by=work.by)
        theirs = recipes.find_revision(work.session, row, None)
        who, name, number = theirs.by or "Somebody", row.name, row.revision
        id = draft.public_id
        work.commit()
    return Conflict(
        f"{who} revised '{name}' while you wrote: it is at revision {number} now, and yours began at {based_on}.",
        f"Your text is kept as {id}. See both side by side and settle it: patina drafts show {id}.",
        draft=id,
    )


def list_drafts(studio: Studio) -> tuple[DraftRow, ...]:
    """The recipe texts that wait to be settled, oldest first."""
    with studio.store.view() as session:
        return recipe_drafts.draft_rows(session)


def conflict_sheet(studio: Studio, draft: str) -> ConflictSheet:
    """A text that waits beside the recipe as it stands now and as both began. Raises NotFound, Refused, Withheld."""
    from patina.bench.access import require_open

    known = studio.catalogue()
    with studio.store.view() as session:
        row = recipe_drafts.waiting(recipe_drafts.find_draft(session, draft))
        recipe = recipes.find_recipe(session, f"R{row.recipe_id}")
        before = recipes.find_revision(session, recipe, row.based_on)
        theirs = recipes.find_revision(session, recipe, None)
        was, their = (require_open(recipe_from(r.document)) for r in (before, theirs))
        mine = recipe_from(row.document)
        return ConflictSheet(
            draft=row.public_id,
            recipe_id=recipe.public_id,
            recipe=recipe.name,
            based_on=row.based_on,
            met=theirs.number,
            by=theirs.by,
            at=theirs.made_at,
            reason=theirs.reason,
            my_reason=row.reason,
            mine=mine,
            theirs=their,
            merged=merged(was, mine, their),
            differences=differences(was, mine, their, known),
        )


def settle(
    studio: Studio,
    draft: str,
    way: str,
    *,
    reason: str = "",
    recipe: Recipe | None = None,
    met: int | None = None,
    by: str = "",
) -> RecipeSheet:
    """Settle a text that waits, and the recipe as it stands then.

    way: "theirs" leaves the recipe as it is; "mine" puts my text on top as the next revision; "merged" both changes.
    recipe: another text, written after both were seen, instead of either. met: the newest revision that was looked
    at; where one more has come since, nothing is done and Changed says so. Raises Changed, NotFound, Refused.
    """
    from patina.bench.recipes.finishes import recipe_sheet, revise_recipe

    sheet = conflict_sheet(studio, draft)
    if met is not None and met != sheet.met:
        from patina.errors import Changed

        raise Changed(
            f"'{sheet.recipe}' was revised once more ({sheet.by or 'somebody'}, revision {sheet.met}).",
            f"Look at the difference again: patina drafts show {draft}.",
        )
    if way == "theirs" and recipe is None:
        _done(studio, draft, "dropped", None, by)
        return recipe_sheet(studio, sheet.recipe_id)
    chosen = recipe or _chosen(sheet, way)
    now = recipe_sheet(studio, sheet.recipe_id)
    made = revise_recipe(
        studio,
        sheet.recipe_id,
        chosen,
        reason=reason.strip() or sheet.my_reason,
        by=by,
        version=now.version,
        based_on=now.revision,
    )
    _done(studio, draft, "kept", made.revision, by)
    return made


def _chosen(sheet: ConflictSheet, way: str) -> Recipe:
    if way == "mine":
        return sheet.mine
    if way != "merged":
        raise Refused(f"'{way}' does not settle it.", f"Use one of: {', '.join(WAYS)}.", field="way")
    if sheet.merged is None:
        clashes = ", ".join(d.field for d in sheet.differences if d.clash) or "the steps"
        raise Refused(
            f"Both changed the same thing to something else: {clashes}.",
            "Take theirs, keep yours, or write one text out of both.",
        )
    return sheet.merged


def _done(studio: Studio, draft: str, how: str, revision: int | None, by: str) -> None:
    with unit(studio.store, "resolve draft", by=studio.who(by)) as work:
        row = recipe_drafts.waiting(recipe_drafts.find_draft(work.session, draft))
        row.resolved, row.saved_as = how, revision
        work.commit()


def settle_with_file(studio: Studio, draft: str, way: str, file: Path | None, *, reason: str = "") -> RecipeSheet:
    """The same; file: a recipe file written out of both texts, instead of a way. Raises BadRecipeFile as well."""
    if file is None:
        return settle(studio, draft, way, reason=reason)
    from patina.recipe_file import read_recipe

    return settle(studio, draft, "mine", reason=reason, recipe=read_recipe(file, studio.catalogue()))
