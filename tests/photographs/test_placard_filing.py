"""From the printed placard to the tile's sheet: a folder of photographs filed in a studio with no click."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path

import pytest

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.readings.shoot import file_shoot
from patina.bench.studio import Studio, open_studio
from patina.colour.difference import compare
from patina.colour.photo_facts import sha256_of
from patina.colour.values import Lab
from patina.sheets import ShootSheet
from swatches.render import jpeg_bytes, render_scene
from swatches.scenes import demo_scenes

PLAIN = dataclasses.replace(next(scene for scene in demo_scenes() if scene.placard), size_px=(1200, 900))


@pytest.fixture(scope="module")
def studio(demo_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Studio:
    """The invented studio, opened."""
    with open_studio(shutil.copytree(demo_made, tmp_path_factory.mktemp("filing") / "studio")) as opened:
        yield opened


def uid_in(studio: Studio, which: str) -> str:
    with studio.store.view() as session:
        return tiles.target_of(session, which).uid


@pytest.fixture(scope="module")
def shoot(studio: Studio, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two photographs of tile T3, one of cast C1 whose window is empty, one of another studio's T3."""
    folder = tmp_path_factory.mktemp("shoot")
    tile, cast = uid_in(studio, "T3"), uid_in(studio, "C1")
    wanted = {
        "first.jpg": dataclasses.replace(PLAIN, placard=f"T3:{tile}", seed=31),
        "second.jpg": dataclasses.replace(PLAIN, placard=f"T3:{tile}", seed=32, roll_deg=-4.0),
        "cast.jpg": dataclasses.replace(PLAIN, placard=f"C1:{cast}", tiles=(), seed=33),
        "stranger.jpg": dataclasses.replace(PLAIN, placard="T3", seed=34),
    }
    for name, scene in wanted.items():
        (folder / name).write_bytes(jpeg_bytes(render_scene(scene)[0], scene))
    return folder


@pytest.fixture(scope="module")
def filed(studio: Studio, shoot: Path) -> ShootSheet:
    """The folder filed, on two cores."""
    return file_shoot(studio, shoot, edition="before-2014", workers=2)


def test_each_photograph_goes_to_its_record(filed: ShootSheet) -> None:
    """Both of the tile, the cast's without a reading; the stranger is listed with its reason."""
    assert sorted((one.file, one.target, len(one.readings)) for one in filed.filed) == [
        ("cast.jpg", "C1", 0),
        ("first.jpg", "T3", 1),
        ("second.jpg", "T3", 1),
    ]
    assert [(one.file, one.code) for one in filed.unfiled] == [("stranger.jpg", "trouble")]
    assert "another studio" in filed.unfiled[0].what


def test_the_tile_has_its_photographs_and_true_readings(studio: Studio, shoot: Path, filed: ShootSheet) -> None:
    """The tile's sheet holds both photographs, untouched, and readings within 4.5 CIEDE2000 of the truth."""
    sheet = tiles.tile_sheet(studio, "T3")
    hashes = {sha256_of(shoot / name) for name in ("first.jpg", "second.jpg")}
    assert hashes <= {photograph.sha256 for photograph in sheet.photographs}
    for sha256 in hashes:
        assert sha256_of(tiles.photograph_path(studio, sha256)) == sha256
    true = Lab(*render_scene(PLAIN)[1]["tiles"][0]["lab"])
    for one in filed.filed:
        for row in one.readings:
            assert row.id in {reading.id for reading in sheet.readings}
            assert compare(true, row.lab).delta_e < 4.5


def test_two_photographs_of_one_tile_agree(filed: ShootSheet) -> None:
    """From two angles the same tile reads the same within 2 CIEDE2000."""
    one, other = (one.readings[0].lab for one in filed.filed if one.target == "T3")
    assert compare(one, other).delta_e < 2.0


def test_a_second_run_changes_nothing(studio: Studio, shoot: Path, filed: ShootSheet) -> None:
    """Run again: nothing filed, the filed ones known, and tile and cast as they were."""
    before = tiles.tile_sheet(studio, "T3"), casts.cast_sheet(studio, "C1")
    again = file_shoot(studio, shoot, edition="before-2014", workers=1)
    assert again.filed == ()
    assert {one.file: one.code for one in again.unfiled} == {
        "cast.jpg": "known",
        "first.jpg": "known",
        "second.jpg": "known",
        "stranger.jpg": "trouble",
    }
    assert (tiles.tile_sheet(studio, "T3"), casts.cast_sheet(studio, "C1")) == before
