"""Safety notes of a recipe, computed at the strength in the pot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from patina.bench.access import is_withheld, safety_seen
from patina.bench.pots.mixing import FoundRecipe, find_recipe
from patina.errors import BadQuantity
from patina.recipe import Recipe
from patina.sheets import SafetySheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def safety(
    studio: Studio | None,
    recipe: str,
    *,
    ph: Mapping[str, str | float] | None = None,
    density: Mapping[str, str | float] | None = None,
    regime: str = "CLP",
    revision: int | None = None,
) -> SafetySheet:
    """The safety notes of a recipe in the studio or of a recipe file.

    Where its quantities are withheld from whoever is at work, every class, warning and gas is there all the same.

    ph: measured pH (0-14) by solution. density: measured g/mL (0.5-3) by solution. regime: CLP or
    HCS. Raises BadQuantity, NotFound, BadRecipeFile.
    """
    from patina.safety.notes import safety_of

    found, known = find_recipe(studio, recipe, revision)
    if studio is not None and found.id is not None and is_withheld(found.recipe):
        return _open_notes(studio, found, ph or {}, density or {}, regime)
    return safety_of(
        found.recipe,
        known,
        ph=_measured(found.recipe, ph or {}, "pH", -1.0, 15.0),
        density=_measured(found.recipe, density or {}, "density (g/mL)", 0.5, 3.0),
        regime=regime,
    )


def _open_notes(
    studio: Studio,
    found: FoundRecipe,
    ph: Mapping[str, str | float],
    density: Mapping[str, str | float],
    regime: str,
) -> SafetySheet:
    """The notes of a recipe whose quantities are withheld: all but the figures of how strong it is."""
    from patina.records.recipes.recipes import find_recipe as row_of
    from patina.records.recipes.recipes import find_revision

    with studio.store.view() as session:
        frozen = find_revision(session, row_of(session, found.id or ""), found.revision)
        return safety_seen(
            session,
            studio.catalogue(),
            frozen,
            regime=regime,
            ph=_measured(found.recipe, ph, "pH", -1.0, 15.0),
            density=_measured(found.recipe, density, "density (g/mL)", 0.5, 3.0),
        )


def _measured(recipe: Recipe, given: Mapping[str, str | float], what: str, low: float, high: float) -> dict[str, float]:
    from patina.units import number

    measured: dict[str, float] = {}
    for name, value in given.items():
        solution = recipe.solution(name)
        figure = number(value, field=what) if isinstance(value, str) else float(value)
        if not low <= figure <= high:
            raise BadQuantity(
                f"A {what} of {figure:g} cannot be.", f"Give a value between {low:g} and {high:g}.", field=what
            )
        measured[solution.name] = figure
    return measured
