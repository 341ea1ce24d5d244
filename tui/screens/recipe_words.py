"""A recipe in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import Recipe, RecipeSheet


def recipe_words(sheet: RecipeSheet, names: dict[str, str]) -> Prose:
    """A recipe's sheet without its safety notes. names: substance names by key."""
    recipe = sheet.recipe
    prose = Prose().title(recipe.name, f"{sheet.id}  revision {sheet.revision} of {len(sheet.revisions)}")
    prose.text(recipe.finish).gap()
    _tiles(prose, sheet)
    prose.fact("alloys", ", ".join(recipe.alloys) or "not said")
    prose.fact("comes from", recipe.provenance or "not said")
    prose.fact("texture", show.plain(recipe.texture))
    if sheet.withheld:
        prose.caution("Its quantities are held by the studio.", "Tiles, colours and safety notes are shown.")
    else:
        prose.fact("kept back", show.percent(recipe.reserve * 100))
    if recipe.dead_volume_ml:
        prose.fact("brush and pot", show.volume(recipe.dead_volume_ml))
    _solutions(prose, recipe, names)
    _steps(prose, recipe)
    return prose


def _tiles(prose: Prose, sheet: RecipeSheet) -> None:
    measured = [t for t in sheet.tiles if t.lab is not None]
    for tile in measured[:3]:
        if tile.lab is not None:
            old = "" if tile.revision == sheet.revision else f", revision {tile.revision}"
            wax = "wax not stated" if tile.read_wax == "not stated" else f"read {tile.read_wax}"
            prose.colour(tile.lab, f"{tile.id} {tile.engraved}", f"{tile.alloy}, {wax}{old}")
    if not measured:
        prose.text("No tile of it has been measured yet. Press t to start one.", "$text-muted")
    elif len(measured) > 3:
        prose.text(f"and {show.times(len(measured) - 3, 'tile')} more in Tiles", "$text-muted")
    prose.gap()


def _solutions(prose: Prose, recipe: Recipe, names: dict[str, str]) -> None:
    for solution in recipe.solutions:
        keeps = f", use within {show.hours(solution.use_within_h)}" if solution.use_within_h is not None else ""
        solvent = names.get(solution.solvent, solution.solvent)
        prose.heading(f"Solution: {solution.name}").text(
            f"in {solvent}, {solution.volume_is} the volume{keeps}", "$text-muted"
        )
        for item in solution.ingredients:
            prose.weighed(item.strength.as_written, names.get(item.substance, item.substance))


def _steps(prose: Prose, recipe: Recipe) -> None:
    prose.heading("Steps")
    lines = []
    for step in recipe.steps:
        words = [step.do + (f" {step.solution}" if step.solution else "")]
        if step.method or step.tool:
            words.append(" ".join(w for w in ("by", step.method or "", f"with {step.tool}" if step.tool else "") if w))
        if step.do == "apply":
            words.append(show.times(step.passes, "pass", "passes"))
        if step.coverage_ml_per_m2 is not None:
            words.append(f"{show.plain(step.coverage_ml_per_m2)} mL/m² each, {show.percent(step.transfer * 100)} lands")
        if step.surface_temperature_c is not None:
            low, high = step.surface_temperature_c
            words.append(f"metal {show.plain(low)} to {show.plain(high)} °C")
        lines.append(", ".join(words) + (f". {step.note}" if step.note else ""))
    prose.numbered(lines)


def history_words(sheet: RecipeSheet) -> Prose:
    """Who changed the recipe, when and why."""
    prose = Prose().heading("Revisions")
    for revision in sorted(sheet.revisions, key=lambda r: -r.number):
        here = " ◂ shown" if revision.number == sheet.revision else ""
        by = f" by {revision.by}" if revision.by else ""
        prose.fact(f"{revision.number}", f"{revision.reason}{by}, {show.moment(revision.made_at)}{here}")
    return prose
