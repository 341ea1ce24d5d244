"""A studio with a cast, a pot and a recipe, and a work begun in it."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewWork, Thermometer, Weighed
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.sheets import WorkSheet

ZONES = (("front", 0.5), ("back", 0.3), ("base", 0.2))


def _recipe(name: str = "Slip brown", substance: str = "liver_of_sulphur") -> Recipe:
    wash = Solution("wash", "distilled_water", (Ingredient(substance, parse_strength("5 g/L")),))
    steps = (
        Step("apply", solution="wash", method="torch", tool="brush", passes=4, coverage_ml_per_m2=40.0, transfer=0.5,
             surface_temperature_c=(80.0, 95.0)),
        Step("rinse"),
    )  # fmt: skip
    return Recipe(name, "brown", ("C87300",), "own tiles", (wash,), steps, texture=1.1)


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A studio with a recipe, a cast of 5 mm wall, a lot with a price, and a pot of 2000 mL; to be copied."""
    folder = tmp_path_factory.mktemp("work") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, _recipe())
        casts.add_piece(opened, NewPiece("=Heron"))
        casts.add_cast(opened, NewCast("W1", "1/9", "C87300", wall_mm=5.0, area_m2=1.0))
        shelf.add_lot(opened, NewLot("liver of sulphur", 500, price=Decimal("14.50"), currency="EUR"))
        weighed = (Weighed("liver of sulphur", 10, 10, "g", "L1"),)
        batches.mix_batch(opened, NewBatch("R1", 1, "wash", 2000, weighed))
    return folder


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of the studio, open."""
    shutil.copytree(template, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def _begin(studio: Studio, *, thermometer: Thermometer | None = None, air_c: float | None = 20.0) -> WorkSheet:
    entry = NewWork("C1", "R1", zones=ZONES, batch="B1", done_by="Maren", air_c=air_c,
                    thermometer=thermometer or Thermometer("infrared", high_c=550))  # fmt: skip
    return work.start_work(studio, entry)
