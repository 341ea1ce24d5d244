"""A recipe's text from a few answers: read again by the reader of recipe files, nonsense refused field by field."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.recipes.first_recipe import chemicals, text_of_answers
from patina.bench.studio import Studio, open_studio
from patina.errors import Incomplete

GOOD = {
    "name": 'Quay "brown"',
    "finish": "even brown, satin",
    "alloy": "C87300; C83600",
    "prepare": "glass bead, degreased",
    "chemicals": "liver of sulphur 5 g/L; 2 g/L of sodium chloride",
    "solvent": "distilled water",
    "method": "torch",
    "tool": "soft brush",
    "passes": "4",
    "coverage": "40 mL/m2",
    "metal": "80 to 95 °C",
    "wax": "hot, one coat",
}


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """An empty studio."""
    with open_studio(Path(tmp_path_factory.mktemp("first")) / "studio") as opened:
        yield opened


def test_answers_make_a_recipe(studio: Studio) -> None:
    """Every answer stands in the recipe that its text is read as; quotes in a name do no harm."""
    recipe = recipe_of_text(studio, text_of_answers(studio, GOOD))
    assert (recipe.name, recipe.finish, recipe.alloys) == ('Quay "brown"', "even brown, satin", ("C87300", "C83600"))
    (pot,) = recipe.solutions
    assert [(studio.catalogue().get(i.substance).name, str(i.strength)) for i in pot.ingredients] == [
        ("liver of sulphur", "5 g/L"),
        ("sodium chloride", "2 g/L"),
    ]
    assert [s.do for s in recipe.steps] == ["prepare", "apply", "wax"]
    applied = recipe.steps[1]
    assert (applied.method, applied.tool, applied.passes, applied.coverage_ml_per_m2) == ("torch", "soft brush", 4, 40)
    assert applied.surface_temperature_c == (80, 95)


def test_what_is_left_empty_is_not_said(studio: Studio) -> None:
    """Name, look and alloy alone make a text that says nothing of its own accord about pot, passes or heat."""
    text = text_of_answers(studio, {k: GOOD[k] for k in ("name", "finish", "alloy")})
    assert "solution" not in text and "passes" not in text and "surface_temperature" not in text


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        *(
            ("chemicals", t)
            for t in ("livre of sulphur 5 g/L", "liver of sulphur", "5", "2 % sodium chloride", "; 5 g/L")
        ),
        *(("passes", t) for t in ("few", "0", "-1", "2.5", "٣", "1001", "9" * 400)),
        *(("coverage", t) for t in ("40", "plenty", "0 mL/m2", "40 kg")),
        *(("metal", t) for t in ("hot", "95 to 80 °C", "80", "80 to 90 to 95 °C", "80 to 5000 °C", "°C")),
        *(("method", t) for t in ("torched", "?")),
        ("solvent", "unobtainium"),
        ("alloy", ""),
        ("name", "   "),
    ],
)
def test_nonsense_is_refused_in_its_field(studio: Studio, field: str, typed: str) -> None:
    """Nonsense in one field is told of that field, with a remedy, and no other field is blamed."""
    with pytest.raises(Incomplete) as told:
        text_of_answers(studio, {**GOOD, field: typed})
    assert {t.field for t in told.value.troubles} == {field}
    assert all(t.remedy for t in told.value.troubles)


@pytest.mark.parametrize(
    ("typed", "low", "high"),
    [("80-95 °C", 80, 95), ("80 °C bis 95 °C", 80, 95), ("90 °C", 90, 90), ("176 to 203 degF", 80, 95)],
)
def test_a_range_of_temperatures_as_people_write_it(studio: Studio, typed: str, low: float, high: float) -> None:
    """One unit serves both ends; one temperature is both ends; 176 °F are 80 °C and 203 °F 95 °C ((°F - 32) / 1.8)."""
    step = recipe_of_text(studio, text_of_answers(studio, {**GOOD, "metal": typed})).steps[1]
    assert step.surface_temperature_c == pytest.approx((low, high))


def test_a_substance_by_the_name_of_ones_own_language(studio: Studio) -> None:
    """Names of another language are given with what they stand for."""
    assert chemicals(studio, "Natriumchlorid 3 g/L", {"natriumchlorid": "sodium chloride"}) == (
        ("sodium chloride", "3 g/L"),
    )
