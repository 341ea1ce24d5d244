"""The recipe file: read whole or refused whole, and written so that it reads back equal."""

from __future__ import annotations

from pathlib import Path

import pytest

from patina.chemistry.substances import catalogue
from patina.errors import BadRecipeFile
from patina.recipe_file import read_recipe, read_recipe_text, write_recipe

GOOD = """\
patina_recipe = 1
name = "Harbour brown"
finish = "even dark brown, satin"
alloys = ["C87300"]
provenance = "own tiles"
texture = 1.1
reserve = "25 %"
dead_volume = "100 mL"

[[solution]]
name = "sulphide wash"
solvent = "distilled water"
volume_is = "made up to"
use_within = "12 h"
[[solution.ingredient]]
substance = "liver of sulphur"
strength = "5 g/L"

[[step]]
do = "prepare"
note = "glass bead 100-170 mesh, degrease with isopropanol"
[[step]]
do = "apply"
solution = "sulphide wash"
method = "torch"
tool = "brush"
passes = 4
coverage = "40 mL/m2"
transfer = "50 %"
surface_temperature = ["80 degC", "95 degC"]
"""


def test_every_key_of_the_format_is_read() -> None:
    """Each key of the format arrives in the recipe with its unit."""
    recipe = read_recipe_text(GOOD, catalogue())
    assert (recipe.name, recipe.texture, recipe.reserve, recipe.dead_volume_ml) == ("Harbour brown", 1.1, 0.25, 100.0)
    wash = recipe.solution("sulphide wash")
    assert (wash.volume_is, wash.use_within_h, wash.ingredients[0].strength.value) == ("made up to", 12.0, 5.0)
    step = recipe.steps[1]
    assert (step.passes, step.coverage_ml_per_m2, step.transfer) == (4, 40.0, 0.5)
    assert step.surface_temperature_c == pytest.approx((80.0, 95.0))


def test_written_and_read_again_is_equal() -> None:
    """A recipe that is written reads back as the same value."""
    recipe = read_recipe_text(GOOD, catalogue())
    again = read_recipe_text(write_recipe(recipe, catalogue()), catalogue())
    assert again == recipe


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('substance = "liver of sulphur"', 'substance = "dragon salt"', "line 16, solution[1].ingredient[1].substance"),
        ('strength = "5 g/L"', 'strength = "5 %"', "line 17, solution[1].ingredient[1].strength"),
        ('strength = "5 g/L"', 'strength = "1:20"', "4.76 %"),
        ('strength = "5 g/L"', 'strength = "-5 g/L"', "strength"),
        ('strength = "5 g/L"', 'strength = "5 g/L 3 %"', "strength"),
        ('strength = "5 g/L"', 'strength = "1,234 g/L"', "strength"),
        ('strength = "5 g/L"', "strength = 5", "must be text in quotation marks, with its unit"),
        ('do = "apply"', 'do = "pour"', "line 23, step[2].do"),
        ('tool = "brush"', 'brush = "hog"', "line 26, step[2].brush: this key has no meaning"),
        ('solution = "sulphide wash"', 'solution = "other wash"', "there is no solution 'other wash'"),
        ("passes = 4", "passes = 0", "whole number from 1 to 1000"),
        ("passes = 4", "passes = true", "whole number from 1 to 1000"),
        ('transfer = "50 %"', 'transfer = "150 %"', "transfer"),
        ('["80 degC", "95 degC"]', '["95 degC", "80 degC"]', "the first temperature is above the second"),
        ('["80 degC", "95 degC"]', '["80", "95"]', "surface_temperature"),
        ('volume_is = "made up to"\n', "", "it is not said whether the volume"),
        ('volume_is = "made up to"', 'volume_is = "about"', "'about' is not known here"),
        ("texture = 1.1", "texture = 0.5", "number from 1 to 5"),
        ("patina_recipe = 1", "patina_recipe = 2", "version 2 is not known"),
        ("patina_recipe = 1\n", "", "does not say that it is a recipe"),
        ('alloys = ["C87300"]', "alloys = []", "alloys"),
        ('name = "Harbour brown"', 'name = ""', "name"),
        ('name = "Harbour brown"', "name = Harbour", "is not TOML"),
        ('dead_volume = "100 mL"', 'dead_volume = "100"', "dead_volume"),
    ],
)
def test_what_is_unknown_or_contradictory_refuses_the_file(old: str, new: str, said: str) -> None:
    """Each mistake is named by line and key, and nothing is read."""
    assert old in GOOD
    with pytest.raises(BadRecipeFile) as trouble:
        read_recipe_text(GOOD.replace(old, new), catalogue())
    assert said in trouble.value.what
    assert trouble.value.remedy


def test_all_mistakes_are_said_at_once() -> None:
    """A file with three mistakes is refused with all three."""
    bad = GOOD.replace('"5 g/L"', '"5 %"').replace('"apply"', '"pour"').replace("passes = 4", "passes = 0")
    with pytest.raises(BadRecipeFile) as trouble:
        read_recipe_text(bad, catalogue())
    for part in ("strength", "step[2].do", "step[2].passes"):
        assert part in trouble.value.what


@pytest.mark.parametrize(
    "content",
    [b"\xff\xfe\x00", b"a = [" * 10_000, b"", b"\x00", b"[[solution]]\n" * 50],
    ids=["not text", "deeply nested", "empty", "a null byte", "empty tables"],
)
def test_a_file_that_is_no_recipe_is_refused_politely(tmp_path: Path, content: bytes) -> None:
    """Bytes that are no recipe get a sentence, not a traceback."""
    file = tmp_path / "not-a-recipe.toml"
    file.write_bytes(content)
    with pytest.raises(BadRecipeFile):
        read_recipe(file, catalogue())


def test_a_missing_file_is_said_so(tmp_path: Path) -> None:
    """A path that leads nowhere is named."""
    with pytest.raises(BadRecipeFile, match="cannot be read"):
        read_recipe(tmp_path / "gone.toml", catalogue())
