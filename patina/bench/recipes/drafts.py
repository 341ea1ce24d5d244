"""A recipe while it is being written: the text of its file, checked before anything is kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.recipe import Recipe

if TYPE_CHECKING:
    from patina.bench.studio import Studio

FIRST_TEXT = """\
patina_recipe = 1
name = "New finish"
finish = "the look aimed at, in words"
alloys = ["C87300"]
provenance = "own tiles"
texture = 1.0
reserve = "25 %"

[[solution]]
name = "first wash"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "liver of sulphur"
strength = "5 g/L"

[[step]]
do = "prepare"
note = "blast, degrease"

[[step]]
do = "apply"
solution = "first wash"
method = "torch"
tool = "brush"
passes = 4
coverage = "40 mL/m2"
transfer = "50 %"
surface_temperature = ["80 degC", "95 degC"]
"""


def recipe_of_text(studio: Studio, text: str) -> Recipe:
    """The recipe that the text says. Raises BadRecipeFile naming lines and keys."""
    from patina.recipe_file import read_recipe_text

    return read_recipe_text(text, studio.catalogue())


def text_of_recipe(studio: Studio, recipe: Recipe) -> str:
    """The recipe as the text of its file. Raises Withheld where the studio holds its quantities."""
    from patina.bench.access import require_open
    from patina.recipe_file import write_recipe

    return write_recipe(require_open(recipe), studio.catalogue())
