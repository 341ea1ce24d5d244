"""A revision of a recipe on paper, as the archive keeps it."""

from __future__ import annotations

from collections.abc import Sequence

from patina.reports import figures
from patina.reports.document import Block, Caution, Document, Heading, Items
from patina.sheets import RecipeSheet

CAUTION = (
    "A record of how it was done, not a permission to do it. Hazards of the solutions stand on the safety sheet and on "
    "the data sheets of their substances; those, local codes and licensed practice come first."
)


def recipe_document(sheet: RecipeSheet, lines: Sequence[str], *, studio: str = "") -> Document:
    """A recipe as a revision says it. lines: its solutions and steps in words."""
    recipe = sheet.recipe
    blocks: list[Block] = [Caution(CAUTION, level="caution"), Heading("How it is done"), Items(tuple(lines))]
    history = tuple(
        f"{r.number}: {r.reason} ({', '.join(w for w in (r.by, figures.day(r.made_at.date())) if w)})"
        for r in sheet.revisions
        if r.number <= sheet.revision
    )
    blocks += [Heading("Revisions"), Items(history)]
    facts = (
        ("finish", recipe.finish),
        ("alloys", ", ".join(recipe.alloys)),
        ("provenance", recipe.provenance),
        ("texture", f"{recipe.texture:g}"),
        ("kept back", f"{100 * recipe.reserve:g} %"),
        ("swallowed by tools", f"{recipe.dead_volume_ml:g} mL"),
    )
    return Document(
        kind="Recipe",
        title=recipe.name,
        subtitle=f"revision {sheet.revision}",
        record=sheet.id,
        made_on=sheet.made_at.date(),
        facts=tuple((name, value or "not written down") for name, value in facts),
        blocks=tuple(blocks),
        footer=", ".join(w for w in (studio, sheet.id, f"revision {sheet.revision}") if w),
    )
