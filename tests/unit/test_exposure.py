"""The exposure log: what is kept, for how long, and how it leaves the studio.

Forty years: Directive 2004/37/EC, article 15 (from memory). Formula cells: OWASP's list of first characters.
"""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from behind_its_back import REFUSED, database

from patina.bench import upkeep
from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.bench.safe import exposure
from patina.bench.safe.exposure_csv import COLUMNS, export_exposures, exposure_csv, safe_cell
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewExposure
from patina.errors import BadQuantity, Incomplete, NotFound, PatinaError, Refused, UnknownSubstance
from patina.recipe import Ingredient, Recipe, Solution, Step

WASH = Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),))
BROWN = Recipe("Brown", "brown", ("C87300",), "own", (WASH,), (Step("apply", solution="wash", method="torch"),))


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with one recipe and one pot of it."""
    where = tmp_path_factory.mktemp("exposure") / "studio"
    with open_studio(where) as opened:
        opened.set_setting("who", "Ada Ness")
        finishes.save_recipe(opened, BROWN)
        batches.mix_batch(opened, NewBatch("R1", 1, "wash", 500.0))
    return where


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of it, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def test_an_exposure_says_who_what_and_how_long(studio: Studio) -> None:
    """From a pot follow the recipe, its revision and what was in it; water is no exposure."""
    entry = NewExposure(
        person="Ben  Orr", minutes=40.0, batch="B1", shift="morning", task="torch", extraction="hood 2",
        flow_m3_h=600.0, respirator="half mask, ABEK P3",
    )  # fmt: skip
    row = exposure.add_exposure(studio, entry)
    assert (row.id, row.person, row.on, row.by) == ("H1", "Ben Orr", date.today(), "Ada Ness")
    assert (row.recipe, row.revision, row.batch, row.substances) == ("Brown", 1, "B1", ("liver of sulphur",))
    assert (row.minutes, row.flow_m3_h, row.respirator) == (40.0, 600.0, "half mask, ABEK P3")
    assert upkeep.check(studio).ok


@pytest.mark.parametrize(
    ("entry", "used"),
    [
        (NewExposure("Ben", 5, recipe="brown"), ["liver_of_sulphur"]),
        (NewExposure("Ben", 5, substances=("AgNO3", "ammonia")), ["silver_nitrate", "ammonia_solution"]),
        (NewExposure("Ben", 5, recipe="R1", substances=("beeswax",)), ["beeswax", "liver_of_sulphur"]),
    ],
)
def test_what_was_used(studio: Studio, entry: NewExposure, used: list[str]) -> None:
    """A recipe stands for its ingredients; substances are found by any of their names."""
    names = tuple(studio.catalogue().get(key).name for key in used)
    assert exposure.add_exposure(studio, entry).substances == names


@pytest.mark.parametrize(
    ("entry", "trouble"),
    [
        (NewExposure("", 5, recipe="R1"), Incomplete),
        (NewExposure("Ben", 0, recipe="R1"), Incomplete),
        (NewExposure("Ben", -5, recipe="R1"), Incomplete),
        (NewExposure("Ben", float("nan"), recipe="R1"), Incomplete),
        (NewExposure("Ben", 1441, recipe="R1"), Incomplete),
        (NewExposure("Ben", 5), Incomplete),
        (NewExposure("Ben", 5, recipe="R1", on=date.today() + timedelta(days=9)), Incomplete),
        (NewExposure("Ben", 5, revision=1, substances=("AgNO3",)), Incomplete),
        (NewExposure("Ben", 5, recipe="R9"), NotFound),
        (NewExposure("Ben", 5, batch="B9"), NotFound),
        (NewExposure("Ben", 5, recipe="R1", revision=7), NotFound),
        (NewExposure("Ben", 5, substances=("kryptonite",)), UnknownSubstance),
        (NewExposure("Ben", 5, recipe="R1", corrects="H9"), NotFound),
    ],
)
def test_what_is_no_exposure(studio: Studio, entry: NewExposure, trouble: type[PatinaError]) -> None:
    """It is refused in words, and nothing is kept."""
    with pytest.raises(trouble):
        exposure.add_exposure(studio, entry)
    assert exposure.list_exposures(studio) == ()


def test_a_mistake_is_corrected_by_another_row(studio: Studio) -> None:
    """Both rows stay; the first says which one stands in its place, and cannot be corrected twice."""
    exposure.add_exposure(studio, NewExposure("Ben", 400, recipe="R1"))
    exposure.add_exposure(studio, NewExposure("Ben", 40, recipe="R1", corrects="H1"))
    first, second = exposure.list_exposures(studio, person="ben")
    assert (first.corrected_by, second.corrects) == ("H2", "H1")
    with pytest.raises(Refused, match="already corrected by H2"):
        exposure.add_exposure(studio, NewExposure("Ben", 45, recipe="R1", corrects="H1"))


def test_the_log_of_one_person_and_of_some_days(studio: Studio) -> None:
    """Names are compared whole, whatever their case; days are counted in."""
    day = date(2026, 3, 2)
    for person, on in (("Ben", day), ("Benno", day), ("ben", day + timedelta(days=3))):
        exposure.add_exposure(studio, NewExposure(person, 5, recipe="R1", on=on))
    assert [r.id for r in exposure.list_exposures(studio, person="BEN")] == ["H1", "H3"]
    assert [r.id for r in exposure.list_exposures(studio, since=day + timedelta(days=1))] == ["H3"]
    assert [r.id for r in exposure.list_exposures(studio, until=day)] == ["H1", "H2"]


def test_it_is_kept_forty_years_unless_the_studio_decides(studio: Studio) -> None:
    """The day until which it is kept is written with it; a shorter rule made later does not shorten it."""
    day = date(2026, 3, 2)
    row = exposure.add_exposure(studio, NewExposure("Ben", 5, recipe="R1", on=day))
    assert row.keep_until == date(2066, 3, 2)
    exposure.set_keep_years(studio, 60)
    assert exposure.add_exposure(studio, NewExposure("Ben", 5, recipe="R1", on=day)).keep_until == date(2086, 3, 2)
    exposure.set_keep_years(studio, 1)
    assert exposure.take_out_old(studio) == 0
    for years in (0, -1, 201):
        with pytest.raises(BadQuantity):
            exposure.set_keep_years(studio, years)
    with pytest.raises(Refused):
        exposure.take_out_old(studio, today=date.today() + timedelta(days=20_000))


def test_only_what_is_over_is_taken_out(studio: Studio) -> None:
    """Forty years after the work, and not a day before; the longer of two rules counts. The studio stays sound."""
    today = date.today()
    exposure.add_exposure(studio, NewExposure("Ben", 5, recipe="R1", on=exposure.years_on(today, -41)))
    exposure.add_exposure(studio, NewExposure("Ben", 5, recipe="R1", on=exposure.years_on(today, -39)))
    exposure.set_keep_years(studio, 50)
    assert exposure.take_out_old(studio) == 0
    exposure.set_keep_years(studio, 40)
    assert exposure.take_out_old(studio) == 1
    assert [r.id for r in exposure.list_exposures(studio)] == ["H2"]
    assert upkeep.check(studio).ok


def test_no_other_program_takes_a_row_out_or_alters_it(studio: Studio) -> None:
    """The database itself refuses, while the row's time runs."""
    exposure.add_exposure(studio, NewExposure("Ben", 5, recipe="R1"))
    for statement in ("DELETE FROM exposure", "UPDATE exposure SET minutes = 1"):
        with pytest.raises(REFUSED), database(studio) as connection:
            connection.execute(statement)


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", " =", "  @"])
def test_no_cell_is_a_formula(start: str) -> None:
    """What a spreadsheet would run gets an apostrophe in front; plain words stay as they are."""
    assert safe_cell(f"{start}cmd|'/c calc'!A0").startswith("'")
    assert safe_cell("gloves = nitrile, 5-6 pairs") == "gloves = nitrile, 5-6 pairs"


def test_the_file_holds_every_row(studio: Studio, tmp_path: Path) -> None:
    """One line each under the header, safe in every cell, with the numbers as numbers."""
    evil = '=HYPERLINK("http://x","y")'
    exposure.add_exposure(
        studio,
        NewExposure(evil, 12.5, recipe="R1", task="+1", note='-2\nlines, and "marks"', respirator="@mask"),
    )
    path, count = export_exposures(studio, tmp_path / "log.csv")
    text = path.read_bytes().decode("utf-8-sig")
    (row,) = csv.DictReader(io.StringIO(text, newline=""))
    assert count == 1 and tuple(row) == COLUMNS
    assert row["minutes"] == "12.5" and row["person"] == f"'{evil}" and row["note"].startswith("'-2\nlines")
    assert not [v for v in row.values() if v.startswith(("=", "+", "-", "@"))]
    with pytest.raises(Refused, match="no exposure"):
        export_exposures(studio, tmp_path / "none.csv", person="Nobody")
    assert not (tmp_path / "none.csv").exists()
    assert exposure_csv(()).strip() == ",".join(COLUMNS)


def test_the_form_reads_what_people_write() -> None:
    """Minutes or hours, a flow with its unit, substances parted by semicolons; all that is wrong is said at once."""
    entry = exposure.exposure_form(
        {"person": "Ben", "minutes": "1.5 h", "flow": "0.5 m3/s", "substances": "AgNO3; ammonia", "on": "2026-03-02"}
    )
    assert (entry.minutes, entry.flow_m3_h, entry.substances) == (90.0, 1800.0, ("AgNO3", "ammonia"))
    with pytest.raises(Incomplete) as trouble:
        exposure.exposure_form({"minutes": "long", "flow": "strong", "on": "someday"})
    assert {t.field for t in trouble.value.troubles} >= {"person", "minutes", "flow", "on", "substances"}
