"""A small studio for the screens: two recipes, two tiles, a cast, a lot; copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from screens_driver import Running

from patina.bench import casts, finishes, shelf, tiles
from patina.bench.drafts import recipe_of_text
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewLot, NewMaster, NewPiece, NewReading, NewTile

BROWN = """\
patina_recipe = 1
name = "Slipway brown"
finish = "even dark brown, satin"
alloys = ["C87300"]
provenance = "own tiles"
texture = 1.1
reserve = "25 %"
dead_volume = "250 mL"

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
note = "glass bead, degrease"
[[step]]
do = "apply"
solution = "sulphide wash"
method = "torch"
tool = "brush"
passes = 6
coverage = "40 mL/m2"
transfer = "50 %"
surface_temperature = ["80 degC", "95 degC"]
"""
GREEN = (
    BROWN.replace("Slipway brown", "Quay green")
    .replace("dark brown", "thin green")
    .replace("liver of sulphur", "cupric nitrate trihydrate")
)


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The studio that the tests start from."""
    where = tmp_path_factory.mktemp("screens") / "studio"
    with open_studio(where) as studio:
        studio.set_setting("who", "Ansel Brook")
        for text in (BROWN, GREEN):
            finishes.save_recipe(studio, recipe_of_text(studio, text))
        for engraved, colour in (("QT-1", (27.0, 6.5, 9.0)), ("QT-2", (31.0, 7.5, 11.5))):
            tile = tiles.start_tile(studio, NewTile(engraved, "C87300", recipe="R1", revision=1, wax_state="unwaxed"))
            reading = NewReading(*colour, area="middle", uncertainty_de00=1.0, wax_state="unwaxed", warmth="cold")
            tiles.add_reading(studio, tile.row.id, reading)
        casts.add_piece(studio, NewPiece("Cormorant", edition=3))
        casts.add_cast(studio, NewCast("W1", number="1/3", alloy="C87300"))
        casts.agree_master(
            studio,
            NewMaster(
                "Cormorant brown", (27.0, 6.5, 9.0), 3.0, uncertainty_de00=0.5, wax_state="unwaxed", warmth="cold"
            ),
        )
        shelf.add_lot(studio, NewLot("liver of sulphur", 100.0, "g", use_by=date(2024, 1, 31), place="dry cupboard"))
        shelf.add_lot(studio, NewLot("liver of sulphur", 250.0, "g", place="dry cupboard"))
    return where


@pytest.fixture
def studio(template: Path, tmp_path: Path) -> Iterator[Studio]:
    """A copy of the studio, open."""
    where = tmp_path / "studio"
    shutil.copytree(template, where)
    with open_studio(where) as opened:
        yield opened


@pytest.fixture
def running(studio: Studio) -> Callable[..., Running]:
    """Starts the screens on the studio; size: columns and lines."""
    return lambda size=(120, 36), on=None: Running(on or studio, size)
