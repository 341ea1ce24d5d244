"""A recipe in lines of plain words: for the owner's sheet and for laying two texts side by side."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.recipe import Recipe, Solution, Step
from patina.records.access.withheld import BASIS

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue


def recipe_lines(recipe: Recipe, known: Catalogue) -> tuple[str, ...]:
    """Solutions and steps in order; without figures where they are withheld."""
    solutions = tuple(solution_words(s, known) for s in recipe.solutions)
    return (*solutions, *(f"{n}. {step_words(step)}" for n, step in enumerate(recipe.steps, 1)))


def solution_words(solution: Solution, known: Catalogue) -> str:
    """What stands in one pot, in a line."""
    parts = []
    for item in solution.ingredients:
        strength = "" if item.strength.basis == BASIS else f" {item.strength.as_written}"
        parts.append(f"{known.get(item.substance).name}{strength}")
    keeps = f"; use within {solution.use_within_h:g} h" if solution.use_within_h is not None else ""
    solvent = known.get(solution.solvent).name
    inside = ", ".join(parts) or "nothing added"
    return f"{solution.name}: {inside}; in {solvent}, {solution.volume_is} the volume{keeps}"


def step_words(step: Step) -> str:
    """One step of the work, in a line."""
    words = [" ".join(w for w in (step.do, step.solution or "") if w)]
    how = " ".join(
        w for w in (f"by {step.method}" if step.method else "", f"with {step.tool}" if step.tool else "") if w
    )
    if how:
        words.append(how)
    if step.do == "apply":
        words.append("1 pass" if step.passes == 1 else f"{step.passes} passes")
    if step.coverage_ml_per_m2 is not None:
        words.append(f"{step.coverage_ml_per_m2:g} mL/m2 a pass, {100 * step.transfer:g} % of it lands")
    if step.surface_temperature_c is not None:
        low, high = step.surface_temperature_c
        words.append(f"metal {low:g} to {high:g} °C")
    return ", ".join(words) + (f". {step.note}" if step.note else "")


def recipe_fields(recipe: Recipe, known: Catalogue) -> dict[str, str]:
    """Every field of a recipe in words, by the place it stands at; what two texts are compared by."""
    found = {
        "name": recipe.name,
        "finish": recipe.finish,
        "alloys": ", ".join(recipe.alloys),
        "provenance": recipe.provenance,
        "texture": f"{recipe.texture:g}",
        "reserve": f"{100 * recipe.reserve:g} %",
        "dead volume": f"{recipe.dead_volume_ml:g} mL",
    }
    for solution in recipe.solutions:
        place = f"solution '{solution.name}'"
        keeps = "" if solution.use_within_h is None else f"; use within {solution.use_within_h:g} h"
        found[place] = f"{known.get(solution.solvent).name}, {solution.volume_is}{keeps}"
        seen: dict[str, int] = {}
        for item in solution.ingredients:
            seen[item.substance] = seen.get(item.substance, 0) + 1
            again = "" if seen[item.substance] == 1 else f" ({seen[item.substance]})"
            found[f"{place}, {known.get(item.substance).name}{again}"] = item.strength.as_written
    for number, step in enumerate(recipe.steps, 1):
        found[f"step {number}"] = step_words(step)
    return found
