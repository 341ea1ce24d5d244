"""How coarse a mottle is: read in pixels, brought to millimetres, kept, compared; unknown is said."""

from __future__ import annotations

import json
import math
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import swatches
from patina.bench import upkeep
from patina.bench.matched import agreed, matching, mottle
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.readings.reading import read
from patina.bench.readings.shoot import file_shoot, placard
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.colour.scale import scale_px_per_mm
from patina.entries import NewMaster, NewReading, NewTile, NewZone
from patina.errors import BadQuantity, Incomplete
from tui.screens.comparing import mottle_words
from tui.screens.record_words import grain_words

NAME = "amber-by-lamplight.jpg"  # its two-tone tile: 6.6 px/mm, so 50 mm are marked, with a mottle of 4 mm
RECT = swatches.truth()[NAME]["tiles"][1]["rect"]
AREA = "face={},{},{},{}".format(*RECT)
TONES = ((22.0, 7.0, 10.0, 0.5), (38.0, 7.0, 10.0, 0.5))
MEAN = (30.0, 7.0, 10.0)


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    with open_studio(tmp_path / "studio") as opened:
        for n in range(4):
            tiles.start_tile(opened, NewTile(f"QT-{n}", "C87300", wax_state="waxed"))
        yield opened


def two_tone(studio: Studio, target: str, **said: Any) -> Any:
    """A two-tone surface from a photograph: 8 either way between the tones, 1.5 within them."""
    more: dict[str, Any] = {
        "sd": (8.14, 1.5, 1.5),
        "area": "whole",
        "uncertainty_de00": 0.8,
        "doubt_de00": (0.3, 0.7),
    } | said
    return tiles.add_reading(
        studio,
        target,
        NewReading(*MEAN, source="photograph", parts=TONES, wax_state="waxed", warmth="cold", **more),
    )


def run(studio: Studio, *words: str) -> Any:
    result = CliRunner().invoke(patina, ["--studio", studio.where, *words, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


@pytest.mark.parametrize("text", ["5 px per mm", "5,0 px/mm", "face = 20x10 mm", "20 × 10 mm", "2x1 cm"])
def test_a_scale_is_typed_or_measured(text: str) -> None:
    """Pixels to the millimetre, or what the area measures; an area of 100 by 50 pixels has five to the millimetre."""
    photo = read(swatches.photograph(NAME), chart="none", areas=["face=300,700,100,50"])
    assert scale_px_per_mm(text, photo.areas) == pytest.approx(5.0, rel=0.03)


@pytest.mark.parametrize("text", ["20x10", "about 5", "back=20x10 mm", "0x10 mm", "0.0001 px/mm"])
def test_a_scale_without_unit_or_area_is_refused(text: str) -> None:
    """A size without its unit, an area nobody read, or a scale no photograph has."""
    photo = read(swatches.photograph(NAME), chart="none", areas=["face=300,700,100,50"])
    with pytest.raises(BadQuantity) as told:
        scale_px_per_mm(text, photo.areas)
    assert told.value.remedy


@pytest.mark.one_engine("sqlite", why="a backup file is of a folder")
def test_the_command_keeps_the_grain_in_millimetres(studio: Studio, tmp_path: Path) -> None:
    """`patina read --keep` files photograph and reading; the mottle's size is that of the rendered one within a
    factor of 1.6; it lives through a backup, and the check proves it."""
    photo = str(swatches.photograph(NAME))
    words = ("read", photo, "--area", AREA, "--keep", "T1", "--state", "waxed,cold")
    said = run(studio, *words, "--scale", f"face=50x{50 * RECT[3] / RECT[2]:.2f} mm")
    (kept,) = tiles.tile_sheet(studio, "T1").readings
    area = said["areas"][0]
    assert kept.grain_mm == pytest.approx(area["grain_px"] * 50 / RECT[2], rel=0.02)
    assert 4.0 / 1.6 < (kept.grain_mm or 0) < 4.0 * 1.6
    assert (kept.grain_px, kept.scale_from[:5]) == (area["grain_px"], "typed")
    assert run(studio, *words)["kept"] == ["D2"]  # the same photograph again: filed once, read twice
    upkeep.backup(studio, tmp_path / "copy.zip")
    assert upkeep.check(studio).ok
    assert upkeep.restore(tmp_path / "again", tmp_path / "copy.zip").ok
    with open_studio(tmp_path / "again") as again:
        second, first = tiles.tile_sheet(again, "T1").readings
    assert (first.grain_mm, first.scale_from) == (kept.grain_mm, kept.scale_from)
    assert (second.grain_mm, second.scale_from) == (None, "")
    assert "grain" in grain_words(first) and "not known in mm" in grain_words(second)


def test_a_placard_gives_the_scale_where_the_tile_lies(studio: Studio, tmp_path: Path) -> None:
    """A photograph filed by its placard has its grain in mm; the rendered mottle is of 5 mm."""
    from patina.colour.placard_reading import read_placard_photo

    found = read_placard_photo(swatches.photograph("placard.jpg"))
    assert found is not None
    (area,) = found.reading.areas
    assert 5.0 / 1.6 < (area.grain_mm or 0) < 5.0 * 1.6 and area.scale_from == "placard"
    assert area.grain_px == pytest.approx((area.grain_mm or 0) * found.placard.px_per_mm, rel=0.15)
    assert placard(studio, "T1", tmp_path / "placard.pdf").exists() and file_shoot(studio, tmp_path).filed == ()


@pytest.mark.one_engine("sqlite", why="no studio is asked")
def test_a_single_photograph_takes_the_scale_of_its_placard() -> None:
    """An area drawn by hand on the placard's sheet has its grain in mm, by the scale at its own place: within a
    hundredth of that across and down its middle. Beside the sheet the scale does not hold, which is said; a
    scale that was typed goes before it; a picture without a placard stays without."""
    from patina.colour.placard_reading import read_placard_photo

    photo = swatches.photograph("placard.jpg")
    x, y, w, h = swatches.truth()["placard.jpg"]["tiles"][0]["rect"]
    areas = [f"tile={x},{y},{w},{h}", "bench=20,20,60,60"]
    found = read(photo, areas=areas)
    tile, bench = found.areas
    sheet = read_placard_photo(photo)
    assert sheet is not None
    middle = ((x, y + h / 2), (x + w, y + h / 2), (x + w / 2, y), (x + w / 2, y + h))
    left, right, top, bottom = sheet.placard.to_sheet(middle)
    across, down = w / math.dist(left, right), h / math.dist(top, bottom)  # pixels to the mm, both ways
    assert tile.grain_px is not None and tile.grain_mm is not None and tile.scale_from == "placard"
    assert tile.grain_px / tile.grain_mm == pytest.approx((across * down) ** 0.5, rel=0.01)
    assert 5.0 / 1.6 < tile.grain_mm < 5.0 * 1.6  # rendered with a mottle of 5 mm
    assert bench.grain_mm is None
    said = [warning.text for warning in found.warnings if warning.code == "beside-placard"]
    assert len(said) == (bench.grain_px is not None)
    typed = read(photo, areas=areas[:1], scale="5 px/mm").areas[0]
    assert typed.grain_mm == pytest.approx((typed.grain_px or 0) / 5.0) and typed.scale_from.startswith("typed")
    assert read(swatches.photograph(NAME), areas=[AREA]).areas[0].grain_mm is None


def test_the_same_tones_in_another_grain_cannot_be_told_to_pass(studio: Studio) -> None:
    """Tones and shares agree: with a like grain it passes, three times coarser it does not, and of one nobody
    knows in mm it is said so."""
    two_tone(studio, "T1", grain_px=40.0, grain_mm=4.0, scale_from="placard")
    two_tone(studio, "T2", grain_px=44.0, grain_mm=4.4, scale_from="placard")
    two_tone(studio, "T3", grain_px=120.0, grain_mm=12.0, scale_from="placard")
    two_tone(studio, "T4")
    casts.agree_master(
        studio, NewMaster("Mottled", MEAN, 3.0, uncertainty_de00=0.5, tile="T1", wax_state="waxed", warmth="cold")
    )
    agreed.agree_zone(studio, NewZone("M1", "base", ("T1",)))
    assert [z.grain_mm for z in agreed.agreed_sheet(studio, "M1").zones] == [4.0, 4.0]
    for sample, ratio, outcome, says in (
        ("T2", 1.1, "pass", "Tones differ by 0.0"),
        ("T3", 3.0, "cannot be told", "3.0 times coarser"),
        ("T4", None, "pass", "that of the piece is not known"),
    ):
        (row,) = matching.judge(studio, "M1", sample).mottle
        assert (row.outcome, row.grain_ratio) == (outcome, pytest.approx(ratio) if ratio else None), sample
        assert says in row.words
    said = run(studio, "judge", "M1", "T3")["mottle"][0]
    assert (said["agreed_grain_mm"], said["sample_grain_mm"]) == (4.0, 12.0)


def test_a_finish_far_more_uneven_within_its_tones_does_not_pass_unseen(studio: Studio) -> None:
    """Spread within the tones is taken out of the surface's spread; where it is over twice the agreed, it is told."""
    two_tone(studio, "T1", grain_mm=4.0)
    two_tone(studio, "T2", sd=(8.9, 4.0, 4.0), grain_mm=4.0)
    found = mottle.compare_surfaces(studio, "T1", "T2")
    assert found.spread_ratio is not None and found.spread_ratio > 2
    assert "more uneven in themselves" in found.words and found.grain_ratio == pytest.approx(1.0)


def test_two_areas_of_one_photograph_need_no_scale(studio: Studio) -> None:
    """In one picture pixels are one size: the grain of two areas is compared without mm."""
    photograph = tiles.add_photograph(studio, "T1", swatches.photograph(NAME)).sha256
    rows = [two_tone(studio, "T1", grain_px=g, photograph=photograph) for g in (20.0, 60.0)]
    found = mottle.compare_surfaces(studio, rows[0].id, rows[1].id)
    assert found.grain_ratio == pytest.approx(3.0) and not found.cautions
    assert found.reference_grain_mm is None


def test_the_picture_and_the_words_know_the_grain(studio: Studio, tmp_path: Path) -> None:
    """Patches are drawn in their size; unknown is said, on the screen and in the picture."""
    two_tone(studio, "T1", grain_mm=4.0)
    two_tone(studio, "T2")
    sheet = mottle.mottle_picture(studio, "T1", "T2", tmp_path / "both.svg")
    drawn = (tmp_path / "both.svg").read_text("utf-8")
    assert "grain 4.0 mm" in drawn and "grain not known" in drawn and "Grain was not compared" in drawn
    words = mottle_words(sheet).plain
    assert "grain 4.0 mm" in words and "sample, grain not known" in words


def test_a_grain_of_nothing_is_refused(studio: Studio) -> None:
    """0 is no grain: unknown is left out, never written as 0; nothing is kept."""
    with pytest.raises(Incomplete):
        two_tone(studio, "T1", grain_mm=0.0)
    assert tiles.tile_sheet(studio, "T1").readings == ()


def test_instrument_files_may_bring_a_grain(studio: Studio, tmp_path: Path) -> None:
    """A column grain_mm is taken in; an empty cell stays unknown."""
    (tmp_path / "r.csv").write_text("tile,L,a,b,grain_mm\nT1,30,7,10,2.5\nT2,30,7,10,\n", "utf-8")
    rows = tiles.import_readings_csv(studio, tmp_path / "r.csv")
    assert [r.grain_mm for r in rows] == [2.5, None]


@pytest.mark.one_engine("sqlite", why="it alters the file behind the program's back")
def test_a_kept_grain_is_never_altered(studio: Studio) -> None:
    """The row is guarded in the database, and a change behind its back is found."""
    two_tone(studio, "T1", grain_mm=4.0)
    with closing(sqlite3.connect(Path(studio.where) / "studio.db")) as database, database:
        with pytest.raises(sqlite3.IntegrityError):
            database.execute("UPDATE reading_grain SET grain_mm = 5")
        database.execute("DROP TRIGGER frozen_reading_grain_update")
        database.execute("UPDATE reading_grain SET grain_mm = 5")
    assert any("grain" in problem.casefold() for problem in upkeep.check(studio).problems)
