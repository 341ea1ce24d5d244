"""Safety notes of a recipe, computed at the strength in the pot."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from patina.bench.mixing import find_recipe
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

    ph: measured pH (0-14) by solution. density: measured g/mL (0.5-3) by solution. regime: CLP or
    HCS. Raises BadQuantity, NotFound, BadRecipeFile.
    """
    from patina.safety.notes import safety_of

    found, known = find_recipe(studio, recipe, revision)
    return safety_of(
        found.recipe,
        known,
        ph=_measured(found.recipe, ph or {}, "pH", -1.0, 15.0),
        density=_measured(found.recipe, density or {}, "density (g/mL)", 0.5, 3.0),
        regime=regime,
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
