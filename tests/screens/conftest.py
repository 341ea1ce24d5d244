"""A small studio for the screens: two recipes, two tiles, a cast, a lot; copied for each test."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from screens_driver import Running
from screens_recipes import BROWN, GREEN
from snapshots import invented_studio

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewLot, NewMaster, NewPiece, NewReading, NewTile


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


@pytest.fixture(scope="session")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented studio of one day, as the pictures of the screens show it."""
    return invented_studio(tmp_path_factory.mktemp("invented") / "demo")


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


@pytest.fixture(autouse=True)
def own_data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drafts and journals of a test lie in a folder of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
