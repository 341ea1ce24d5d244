"""Deeds on recipes: saved, found, revised, taken in and written out."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewReading, NewTile
from patina.errors import BadRecipeFile, NotFound, Refused
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.sheets import Lab

BROWN = Recipe(
    "Harbour brown",
    "even dark brown",
    ("C87300",),
    "own tiles",
    (Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),)),),
    (Step("apply", solution="wash", method="torch", passes=4, coverage_ml_per_m2=40.0),),
)
GREEN = Recipe(
    "Fjord green",
    "cold mottled green",
    ("C11000",),
    "common practice",
    (Solution("green", "distilled_water", (Ingredient("cupric_nitrate_3h2o", parse_strength("100 g/L")),)),),
    (Step("apply", solution="green", method="cold brush"),),
)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a studio, to be copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, BROWN)
        finishes.save_recipe(opened, GREEN)
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with two recipes."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


@pytest.mark.parametrize(
    ("search", "found"),
    [
        ("", ["Fjord green", "Harbour brown"]),
        ("BROWN", ["Harbour brown"]),
        ("torch dark", ["Harbour brown"]),
        ("dark torch  harb", ["Harbour brown"]),
        ("liver of", ["Harbour brown"]),
        ("cupric", ["Fjord green"]),
        ("silicon", ["Harbour brown"]),
        ("c11000", ["Fjord green"]),
        ("r1", ["Harbour brown"]),
        ("arbour", ["Harbour brown"]),
        ("brown green", []),
        ("%", []),
        ("_", []),
        ("zebra", []),
    ],
)
def test_recipes_are_found_by_their_words(studio: Studio, search: str, found: list[str]) -> None:
    """Name, look, alloy, method, substance by any of its names, and id; every word must be there."""
    assert [row.name for row in finishes.list_recipes(studio, search)] == found


def test_a_search_follows_the_latest_revision(studio: Studio) -> None:
    """A word that a revision dropped no longer finds the recipe; a new one does."""
    finishes.revise_recipe(studio, "R1", replace(BROWN, name="Cellar brown", finish="light"), reason="paler")
    assert finishes.list_recipes(studio, "harbour") == () and finishes.list_recipes(studio, "dark") == ()
    assert [row.id for row in finishes.list_recipes(studio, "cellar light")] == ["R1"]
    assert [row.name for row in finishes.list_recipes(studio)] == ["Cellar brown", "Fjord green"]


def test_pages_follow_each_other(studio: Studio) -> None:
    """limit and offset cut the same list."""
    whole = finishes.list_recipes(studio)
    assert finishes.list_recipes(studio, limit=1) + finishes.list_recipes(studio, limit=1, offset=1) == whole
    assert finishes.count_recipes(studio) == 2


def test_a_list_shows_the_latest_colour_of_each_tile(studio: Studio) -> None:
    """Newest tile reading first; a tile without a reading counts and has no colour."""
    for engraved in ("A", "B", "C"):
        tiles.start_tile(studio, NewTile(engraved, "C87300", recipe="harbour brown"))
    for tile, L in (("T1", 30.0), ("T2", 40.0), ("T1", 31.0)):
        tiles.add_reading(studio, tile, NewReading(L, 1.0, 2.0))
    (row,) = finishes.list_recipes(studio, "harbour")
    assert (row.tiles, row.colours) == (3, (Lab(31.0, 1.0, 2.0), Lab(40.0, 1.0, 2.0)))


@pytest.mark.parametrize("which", ["R1", "r1", " R 1 ", "harbour BROWN", "  Harbour   brown "])
def test_a_recipe_is_called_by_id_or_name(studio: Studio, which: str) -> None:
    """Case and spaces do not matter."""
    assert finishes.recipe_sheet(studio, which).recipe == BROWN


def test_a_wrong_name_is_told_with_what_comes_near(studio: Studio) -> None:
    """A misspelt name is not guessed, it is asked about."""
    with pytest.raises(NotFound) as told:
        finishes.recipe_sheet(studio, "Harbor brown")
    assert "'Harbour brown'" in told.value.remedy
    with pytest.raises(NotFound, match="no revision 7"):
        finishes.recipe_sheet(studio, "R1", 7)
    for number in (10**30, -1):
        with pytest.raises((NotFound, Refused)):
            finishes.recipe_sheet(studio, "R1", number)
    for which in ("R99", "", "T1", "R" + "9" * 30, "\x00"):
        with pytest.raises(NotFound):
            finishes.recipe_sheet(studio, which)


@pytest.mark.parametrize(
    ("change", "trouble"),
    [
        ({"name": "HARBOUR  brown"}, Refused),
        ({"name": "   "}, Refused),
        ({"name": "R7"}, Refused),
        ({"name": "x" * 401}, Refused),
        ({"name": "half a sign \ud800"}, Refused),
        ({"finish": "half a sign \udcff"}, Refused),
        ({"steps": ()}, Refused),
        ({"solutions": ()}, NotFound),
        ({"name": "x", "solutions": (Solution("wash", "no_such_water", ()),)}, NotFound),
    ],
)
def test_a_recipe_that_cannot_be_kept(studio: Studio, change: dict[str, object], trouble: type[Exception]) -> None:
    """A taken or misleading name, no steps, a step without its solution, an unknown substance."""
    with pytest.raises(trouble):
        finishes.save_recipe(studio, replace(BROWN, **change))  # type: ignore[arg-type]
    assert finishes.count_recipes(studio) == 2


def test_export_and_import_lose_nothing(studio: Studio, tmp_path: Path) -> None:
    """A recipe written out and taken in by another studio is equal."""
    for which in ("R1", "R2"):
        (tmp_path / f"{which}.toml").write_text(finishes.export_recipe(studio, which), encoding="utf-8")
    with open_studio(tmp_path / "other") as other:
        taken = finishes.import_files(other, [tmp_path / "R1.toml", tmp_path / "R2.toml"], by="Ada")
        assert taken == ("Harbour brown", "Fjord green")
        assert finishes.recipe_sheet(other, "Harbour brown").recipe == BROWN
        assert finishes.recipe_sheet(other, "Fjord green").recipe == GREEN
        assert finishes.recipe_sheet(other, "R1").reason == "imported from R1.toml"


def test_importing_again(studio: Studio, tmp_path: Path) -> None:
    """Word for word the same is refused; the same name with other content is the next revision."""
    file = tmp_path / "brown.toml"
    file.write_text(finishes.export_recipe(studio, "R1"), encoding="utf-8")
    with pytest.raises(Refused, match="word for word"):
        finishes.import_files(studio, [file])
    file.write_text(file.read_text("utf-8").replace("passes = 4", "passes = 5"), encoding="utf-8")
    assert finishes.import_files(studio, [file]) == ("Harbour brown",)
    sheet = finishes.recipe_sheet(studio, "R1")
    assert (sheet.revision, sheet.reason, sheet.recipe.steps[0].passes) == (2, "imported from brown.toml", 5)
    assert finishes.recipe_sheet(studio, "R1", 1).recipe == BROWN


def test_a_bad_file_takes_in_nothing(studio: Studio, tmp_path: Path) -> None:
    """Not a recipe, not there, a folder: each is told, and nothing is kept."""
    (tmp_path / "bad.toml").write_text("patina_recipe = 1\n", encoding="utf-8")
    for name in ("bad.toml", "not there.toml", "."):
        with pytest.raises(BadRecipeFile):
            finishes.import_files(studio, [tmp_path / name])
    with pytest.raises(Refused):
        finishes.import_files(studio, [])
    assert finishes.count_recipes(studio) == 2


def test_starters_are_taken_in_once(tmp_path: Path) -> None:
    """The program's own finishes come in with their provenance, and not twice."""
    with open_studio(tmp_path / "new") as studio:
        taken = finishes.add_starters(studio)
        assert len(taken) >= 12 and len(set(taken)) == len(taken)
        assert finishes.add_starters(studio) == ()
        assert all(row.provenance for row in finishes.list_recipes(studio))


def test_substances_of_the_studio(studio: Studio) -> None:
    """An added substance is in the catalogue of this studio, with all its fields, and stays."""
    known = studio.catalogue().get("cupric_nitrate_3h2o")
    own = replace(known, key="own_salt", name="own salt", other_names=("workshop salt",), cas=None, formula="own")
    studio.add_substance(own)
    assert studio.catalogue().find("workshop salt") == own
    with open_studio(studio.where) as again:
        assert again.catalogue().get("own_salt") == own
        mine = replace(
            GREEN,
            name="Own",
            solutions=(replace(GREEN.solutions[0], ingredients=(Ingredient("own_salt", parse_strength("10 g/L")),)),),
        )
        finishes.save_recipe(again, mine)
        assert [row.name for row in finishes.list_recipes(again, "workshop")] == ["Own"]


def test_who_works_here(studio: Studio) -> None:
    """The studio's "who" is put to what nobody signed; a name given counts first."""
    studio.set_setting("who", "Ada")
    assert finishes.revise_recipe(studio, "R1", replace(BROWN, texture=1.2), reason="x").by == "Ada"
    assert finishes.revise_recipe(studio, "R1", replace(BROWN, texture=1.3), reason="x", by="Ben").by == "Ben"
    assert studio.setting("never set") == ""
