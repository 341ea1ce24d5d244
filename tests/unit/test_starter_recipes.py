"""The starter recipes: each reads, says where it comes from, and carries its window and cautions."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from patina.chemistry.substances import catalogue
from patina.datafile import data_path
from patina.recipe import Recipe, Step
from patina.recipe_file import read_recipe, read_recipe_text
from patina.recipe_writing import write_recipe
from patina.surface.alloys import find_alloy

FILES = sorted(data_path("recipes").glob("*.toml"))
NO_SOURCE = "common practice, no source"
HOT_METHODS = {"torch", "stipple", "oven"}


@pytest.fixture(params=FILES, ids=lambda path: path.stem)
def recipe(request: pytest.FixtureRequest) -> Recipe:
    return read_recipe(request.param, catalogue())


def read(name: str) -> Recipe:
    return read_recipe(data_path("recipes") / f"{name}.toml", catalogue())


def applied(recipe: Recipe) -> list[Step]:
    return [step for step in recipe.steps if step.do == "apply"]


def test_there_are_at_least_twelve() -> None:
    """A new studio starts with a dozen finishes or more, no two of one name."""
    names = [read_recipe(path, catalogue()).name for path in FILES]
    assert len(names) >= 12
    assert len({name.lower() for name in names}) == len(names)


def test_each_says_where_it_comes_from(recipe: Recipe) -> None:
    """A recipe is either common practice, said so, or names who published which figures."""
    if recipe.provenance != NO_SOURCE:
        assert any(word in recipe.provenance for word in ("Published:", "as published", "published text"))
        assert NO_SOURCE in recipe.provenance, "what the source does not give is marked"


def test_alloys_are_known_ones(recipe: Recipe) -> None:
    """Every alloy a starter recipe names is in the alloy table."""
    assert recipe.alloys
    for alloy in recipe.alloys:
        assert find_alloy(alloy).key == alloy


def test_apply_steps_can_be_measured_out(recipe: Recipe) -> None:
    """Method, tool, passes, coverage and transfer stand on each apply step, so a batch can be sized."""
    assert applied(recipe)
    for step in applied(recipe):
        assert step.method and step.tool
        assert step.passes >= 1
        assert step.coverage_ml_per_m2 is not None and 5.0 <= step.coverage_ml_per_m2 <= 300.0
        assert 0.3 <= step.transfer <= 1.0


def test_torch_work_has_a_window(recipe: Recipe) -> None:
    """Where a torch or a hot stipple applies the solution, the surface temperature is a pair below 200 °C."""
    for step in applied(recipe):
        if step.method in HOT_METHODS:
            assert step.surface_temperature_c is not None
            low, high = step.surface_temperature_c
            assert 20.0 <= low < high <= 200.0, "water skates on metal near 200 °C; common practice, no source"


def test_each_apply_step_warns(recipe: Recipe) -> None:
    """No solution goes on without a sentence of caution about fumes, heat, skin, fire or mixing."""
    words = ("extraction", "fume", "gloves", "respirator", "flame", "outdoors", "face", "no acid", "never", "hydrogen")
    for step in applied(recipe):
        note = step.note.lower()
        assert any(word in note for word in words), f"{recipe.name}: {step.solution}"


def test_sulphide_recipes_speak_of_hydrogen_sulphide_and_acid(recipe: Recipe) -> None:
    """A recipe with a sulphide names the gas and keeps acid away."""
    substances = [catalogue().get(i.substance) for s in recipe.solutions for i in s.ingredients]
    if any("sulphide" in substance.tags for substance in substances):
        text = " ".join(step.note for step in recipe.steps).lower()
        assert "hydrogen sulphide" in text
        assert "acid" in text


def test_no_wax_near_a_flame(recipe: Recipe) -> None:
    """A recipe that ends in wax says, at the wax, that no flame may be near."""
    waxing = [step for step in recipe.steps if step.do == "wax"]
    assert waxing, "every starter finish is protected in the end, or says why not"
    text = " ".join(step.note for step in waxing).lower()
    assert "flame" in text or "torch" in text or "lidded metal bin" in text


def test_a_file_and_its_rewriting_say_the_same(recipe: Recipe) -> None:
    """Written out and read again, a starter recipe is unchanged."""
    assert read_recipe_text(write_recipe(recipe, catalogue()), catalogue()) == recipe


def test_the_kinds_a_studio_expects_are_there() -> None:
    """Sulphide brown, ferric and cupric hot, cold green, whites, fumed, immersed, hot and cold wax."""
    brown = read("torch-sulphide-brown")
    assert [i.substance for i in brown.solutions[0].ingredients] == ["liver_of_sulphur"]
    assert "C87300" in brown.alloys and brown.methods == ("torch",)
    assert "torch" in read("hot-ferric-red-brown").methods
    assert "stipple" in read("hot-cupric-green").methods
    assert read("antique-green-cold").methods == ("cold brush",)
    assert {"bismuth_nitrate_5h2o", "titanium_dioxide"} <= {
        i.substance for i in read("titanium-white").solutions[0].ingredients
    }
    assert "fume" in read("chamber-verdigris").methods
    assert read("immersion-sulphide-brown").methods == ("immersion",)
    for name in ("hot-wax", "cold-wax-over-inhibitor"):
        assert any(step.do == "wax" for step in read(name).steps)


def test_published_strengths_are_as_published() -> None:
    """Figures against the publications: GSA procedure 0503002S, Antique Green (40, 40, 40 g in 1 L made
    up) and the Bowman studio page, Apple Green (85 g and 15 g in half a litre of water) and
    liver-of-sulphur black (50 g in 1 L of water)."""
    green = read("antique-green-cold").solutions[0]
    assert green.volume_is == "made up to"
    assert [(i.strength.basis, i.strength.value) for i in green.ingredients] == [("g_per_l", 40.0)] * 3
    apple = read("apple-green-cold").solutions[0]
    assert apple.volume_is == "added to"
    assert [i.strength.value for i in apple.ingredients] == [85.0 / 0.5, 15.0 / 0.5]
    black = read("torch-sulphide-black").solutions[0]
    assert (black.volume_is, black.ingredients[0].strength.value) == ("added to", 50.0)


def test_a_teaspoon_in_a_pint_is_what_the_note_says() -> None:
    """1 US teaspoon (4.929 mL, NIST Handbook 44) of salt at 1.0 to 1.2 g/mL in a US pint (473.2 mL): the
    strength lies within 10.4 to 12.5 g per litre of water."""
    low, high = (4.929 * bulk / 0.4732 for bulk in (1.0, 1.2))
    assert low == pytest.approx(10.4, abs=0.05) and high == pytest.approx(12.5, abs=0.05)
    assert low <= read("thin-hot-green").solutions[0].ingredients[0].strength.value <= high


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_can_be_mixed_and_printed(path: Path, tmp_path: Path) -> None:
    """For 1.8 m² every starter recipe gives amounts, safety notes, a batch sheet and a label for each pot."""
    from patina.bench.pots.mixing import mix
    from patina.reports.batch_sheet import write_batch_sheet
    from patina.reports.label import write_label

    sheet = mix(None, str(path), area="1.8 m2")
    recipe = read_recipe(path, catalogue())
    assert {s.name for s in sheet.solutions} == {s.name for s in recipe.solutions}
    assert all(line.rounded > 0.0 for s in sheet.solutions for line in s.weigh)
    assert sheet.safety.ppe and sheet.safety.waste and sheet.safety.caution
    assert {s.name for s in sheet.safety.solutions} >= {s.name for s in recipe.solutions}
    write_batch_sheet(sheet, tmp_path / "sheet.pdf", made_on=date(2026, 3, 14))
    for solution in sheet.solutions:
        assert write_label(sheet, solution.name, tmp_path / "label.pdf", made_on=date(2026, 3, 14))


def test_only_text_files_lie_there() -> None:
    """The folder holds recipe files and nothing else."""
    assert {path.suffix for path in Path(data_path("recipes")).iterdir()} == {".toml"}
