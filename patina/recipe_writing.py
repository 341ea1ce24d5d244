"""Writing a recipe as a file that a person can read and edit."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from patina.chemistry.substances import Catalogue
from patina.recipe import FORMAT_VERSION, Recipe, Solution, Step


def _plain(value: float) -> str:
    """The shortest decimal that reads back as the same float, without an exponent."""
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _percent(share: float) -> str:
    return f"{_plain(float(Decimal(repr(share)) * 100))} %"


def write_recipe(recipe: Recipe, catalogue: Catalogue) -> str:
    """The recipe as a file's text; reading it again gives an equal recipe."""
    import tomlkit

    document = tomlkit.document()
    document["patina_recipe"] = FORMAT_VERSION
    document["name"] = recipe.name
    document["finish"] = recipe.finish
    document["alloys"] = list(recipe.alloys)
    document["provenance"] = recipe.provenance
    document["texture"] = recipe.texture
    document["reserve"] = _percent(recipe.reserve)
    if recipe.dead_volume_ml:
        document["dead_volume"] = f"{_plain(recipe.dead_volume_ml)} mL"
    if recipe.solutions:
        document["solution"] = tomlkit.aot()
        for solution in recipe.solutions:
            document["solution"].append(_solution_table(solution, catalogue))
    if recipe.steps:
        document["step"] = tomlkit.aot()
        for step in recipe.steps:
            document["step"].append(_step_table(step))
    return tomlkit.dumps(document)


def _solution_table(solution: Solution, catalogue: Catalogue) -> Any:
    import tomlkit

    table = tomlkit.table()
    table["name"] = solution.name
    table["solvent"] = catalogue.get(solution.solvent).name
    table["volume_is"] = solution.volume_is
    if solution.use_within_h is not None:
        table["use_within"] = f"{_plain(solution.use_within_h)} h"
    ingredients = tomlkit.aot()
    for item in solution.ingredients:
        row = tomlkit.table()
        row["substance"] = catalogue.get(item.substance).name
        row["strength"] = item.strength.as_written
        ingredients.append(row)
    table["ingredient"] = ingredients
    return table


def _step_table(step: Step) -> Any:
    import tomlkit

    table = tomlkit.table()
    table["do"] = step.do
    for key, text in (("solution", step.solution), ("method", step.method), ("tool", step.tool)):
        if text:
            table[key] = text
    if step.do == "apply" or step.passes != 1:
        table["passes"] = step.passes
    if step.coverage_ml_per_m2 is not None:
        table["coverage"] = f"{_plain(step.coverage_ml_per_m2)} mL/m2"
    if step.transfer != 1.0:
        table["transfer"] = _percent(step.transfer)
    if step.surface_temperature_c is not None:
        table["surface_temperature"] = [f"{_plain(t)} degC" for t in step.surface_temperature_c]
    if step.note:
        table["note"] = step.note
    return table
