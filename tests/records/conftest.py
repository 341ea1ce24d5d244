"""A studio in a new folder, and recipes to keep in it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from patina.bench import sealing
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewCast, NewLot, NewMaster, NewPiece, NewReading, NewTile, NewTreatment, Weighed
from patina.recipe import Ingredient, Recipe, Solution, Step


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a closed, empty studio; to be copied."""
    folder = tmp_path_factory.mktemp("empty") / "studio"
    open_studio(folder).close()
    return folder


@pytest.fixture
def studio(empty_folder: Path, tmp_path: Path) -> Iterator[Studio]:
    """An empty studio."""
    shutil.copytree(empty_folder, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


@pytest.fixture(scope="session")
def brown() -> Recipe:
    """A torch-applied sulphide wash, with every kind of field filled."""
    return Recipe(
        name="Harbour brown",
        finish="even dark brown, satin",
        alloys=("C87300", "own alloy 4"),
        provenance="own tiles",
        solutions=(
            Solution(
                "sulphide wash",
                "distilled_water",
                (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),),
                use_within_h=12.0,
            ),
            Solution(
                "ferric",
                "distilled_water",
                (
                    Ingredient("ferric_nitrate_9h2o", parse_strength("1 part in 20 by weight")),
                    Ingredient("cupric_nitrate_3h2o", parse_strength("2.5 % w/v")),
                ),
                volume_is="added to",
            ),
        ),
        steps=(
            Step("prepare", note="glass bead 100-170 mesh"),
            Step(
                "apply",
                solution="sulphide wash",
                method="torch",
                tool="brush",
                passes=4,
                coverage_ml_per_m2=40.0,
                transfer=0.5,
                surface_temperature_c=(80.0, 95.0),
            ),
            Step("apply", solution="ferric", method="cold brush"),
            Step("wax", note="thin"),
        ),
        texture=1.1,
        dead_volume_ml=100.0,
    )


@pytest.fixture(scope="session")
def full_folder(tmp_path_factory: pytest.TempPathFactory, brown: Recipe) -> Path:
    """The folder of a closed studio with at least one of each kind of record; to be copied."""
    folder = tmp_path_factory.mktemp("full")
    with open_studio(folder / "studio") as opened:
        _fill(opened, brown, folder)
    return folder / "studio"


@pytest.fixture
def full(full_folder: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with at least one of each kind of record."""
    shutil.copytree(full_folder, tmp_path / "full")
    with open_studio(tmp_path / "full") as opened:
        yield opened


def _fill(studio: Studio, brown: Recipe, tmp_path: Path) -> None:
    finishes.save_recipe(studio, brown)
    finishes.revise_recipe(studio, "R1", replace(brown, texture=1.2), reason="rougher")
    tiles.start_tile(studio, NewTile("A1", "C87300", recipe="R1", revision=1, wall_mm=3))
    for L in (30, 31.5, 29):
        tiles.add_reading(studio, "T1", NewReading(L, 5, 6, parts=((L, 5, 6, 1.0),), sd=(1, 2, 3)))
    picture = tmp_path / "tile.png"
    Image.new("RGB", (200, 160), (90, 60, 30)).save(picture)
    tiles.add_photograph(studio, "T1", picture, state="before wax")
    casts.add_piece(studio, NewPiece("Grey seal", edition=9))
    casts.agree_master(studio, NewMaster("client brown", (30, 5, 6), 2, tile="T1", recipe="R1"))
    casts.add_cast(studio, NewCast("W1", "3/9", "C87300", mass_g=96000, master="M1"))
    shelf.add_lot(studio, NewLot("liver of sulphur", 500))
    weighed = (Weighed("liver of sulphur", 7.5, 7.6, "g", "L1"),)
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 1500, weighed))
    batches.use_from_batch(studio, "B1", 300, "tile A1")
    casts.add_treatment(studio, NewTreatment("C1", "patinated", batch="B1"))
    casts.change_cast(studio, "C1", NewCast("W1", "4/9", "C87300"), version=1)


@pytest.fixture(scope="session")
def fill() -> Callable[[Studio, Recipe, Path], None]:
    """The deeds that fill the full studio, to be done in another one."""
    return _fill


@pytest.fixture
def rich(full: Studio, tmp_path: Path) -> Studio:
    """A full studio with a conservator's treatment, formula-like words, a withdrawn reading and a signed record."""
    casts.add_piece(full, NewPiece("=HYPERLINK(1)", "'quoted' +maker", note="line\r\nline\n@x\t1"))
    casts.add_cast(full, NewCast("W2", "1/1", "C87300", owner="-1+1", note="€ ＝ 日本 \U0001f600"))
    casts.add_treatment(full, NewTreatment("C1", "washed", as_done=("=1+1", "")))
    tiles.add_reading(full, "C1", NewReading(31, 5, 6))
    tiles.add_reading(full, "C1", NewReading(32, 5, 6))
    Image.new("RGB", (120, 90), (60, 90, 30)).save(tmp_path / "front.png")
    tiles.add_photograph(full, "C1", tmp_path / "front.png", state="before")
    sha256 = casts.cast_sheet(full, "C1").photographs[0].sha256
    treat.begin_treatment(full, {"cast": "C1", "name": "cleaning", "purpose": "stop it"})
    seen = treat.write_part(full, "CT1", "statement", {"sort": "observation", "topic": "corrosion", "text": "green"})
    rests = {"sort": "interpretation", "topic": "corrosion", "text": "chloride", "rests_on": seen.id}
    treat.write_part(full, "CT1", "statement", rests)
    treat.write_part(full, "CT1", "map", {"visit": "before", "view": "front", "photograph": sha256})
    sealing.seal(full, "M1", by="Ida")
    sealing.amend(full, "M1", "Seen by the owner.", "told by telephone", by="Ida")
    return full


@pytest.fixture
def other(tmp_path: Path) -> Iterator[Studio]:
    """Another studio, empty."""
    with open_studio(tmp_path / "other") as opened:
        yield opened
