"""Two uneven finishes side by side: the drawn shares, the words, and the command that writes the picture."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from patina.bench.matched import mottle
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.cli import patina
from patina.entries import NewMaster, NewReading, NewTile
from patina.errors import NotFound, Refused, StudioTrouble
from patina.reports.mottle_picture import CELL, COLUMNS, ROWS, PictureSide, PictureTone, mottle_picture
from tui.screens.comparing import mottle_words

SVG = "{http://www.w3.org/2000/svg}"
MEAN = (35.0, 10.0, 15.0)
LIGHT, DARK = (50.0, 10.0, 15.0), (25.0, 10.0, 15.0)  # 40 % and 60 % of these have the mean above


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """T1 a smooth brown, T2 two-tone with the same mean, T3 read by an instrument without its tones."""
    with open_studio(tmp_path / "studio") as opened:
        for name in ("SMOOTH", "TWO TONE", "UNREAD"):
            tiles.start_tile(opened, NewTile(name, "C87300", wax_state="waxed"))
        for tile, parts in (("T1", ((*MEAN, 1.0),)), ("T2", ((*DARK, 0.6), (*LIGHT, 0.4))), ("T3", ())):
            source = "photograph" if parts else "instrument"
            tiles.add_reading(opened, tile, NewReading(*MEAN, source=source, parts=parts, wax_state="waxed"))
        yield opened


def drawn_shares(svg: str, side: str) -> dict[str, float]:
    """The share of each colour, from the areas of the runs that are drawn."""
    group = next(g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("id") == side)
    areas = {}
    for path in group.iter(f"{SVG}path"):
        runs = re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-(\d+)z", path.get("d") or "")
        areas[path.get("fill") or ""] = sum(int(w) * int(h) for _, _, w, h, _ in runs)
    assert sum(areas.values()) == COLUMNS * ROWS * CELL * CELL  # nothing twice, nothing left bare
    return {shade: area / sum(areas.values()) for shade, area in areas.items()}


def side(role: str, *shares: float, grain_mm: float | None = None) -> PictureSide:
    """A finish of greys."""
    tones = [PictureTone(f"#{40 + 30 * n:02x}0000", 20.0 + 10 * n, 0.0, 0.0, s) for n, s in enumerate(shares)]
    return PictureSide(role, f"tile of {len(shares)}", tuple(tones), grain_mm=grain_mm)


@pytest.mark.parametrize("shares", [(1.0,), (0.7, 0.3), (0.05, 0.95), (0.5, 0.33, 0.17), (0.4, 0.3, 0.2, 0.1)])
@pytest.mark.parametrize("grain_mm", [None, 0.5, 6.0, 500.0])
def test_every_tone_covers_its_share(shares: tuple[float, ...], grain_mm: float | None) -> None:
    """The area drawn in each tone is its share within 2 %, whatever the grain."""
    svg = mottle_picture(side("reference", *shares, grain_mm=grain_mm), side("sample", 1.0), "", distance=0.0)
    drawn = drawn_shares(svg, "reference")
    assert list(drawn.values()) == pytest.approx(list(shares), abs=0.02)


def test_a_coarser_grain_draws_fewer_larger_patches() -> None:
    """Patches follow the grain: a mottle of 12 mm has far fewer edges along a row than one of 2 mm."""
    fine, coarse = (
        mottle_picture(side("reference", 0.5, 0.5, grain_mm=g), side("sample", 1.0), "", distance=0.0) for g in (2, 12)
    )
    assert fine.count("M") > 3 * coarse.count("M")
    assert "grain 12.0 mm" in coarse


def test_the_picture_stands_alone_and_is_the_same_each_time() -> None:
    """Well-formed, nothing fetched from outside, generic fonts only, names escaped, the same twice."""
    odd = PictureSide("reference", '<Lark> & "Co"', side("reference", 0.6, 0.4).tones)
    svg = mottle_picture(odd, side("sample", 1.0), "a < b & c", distance=3.21, cautions=["Not read."])
    assert svg == mottle_picture(odd, side("sample", 1.0), "a < b & c", distance=3.21, cautions=["Not read."])
    root = ElementTree.fromstring(svg)
    assert not re.search(r"href|url\(|@import|<style|<script|<image", svg)
    assert {t.get("font-family") for t in root.iter(f"{SVG}text")} == {"sans-serif"}
    text = " ".join(t.text or "" for t in root.iter(f"{SVG}text"))
    for said in ('<Lark> & "Co"', "a < b & c", "3.2", "60 %  L* 20.0", "grain not known", "! Not read.", "Screens and"):
        assert said in text


def test_a_smooth_brown_and_a_two_tone_one_of_equal_mean_differ(studio: Studio, tmp_path: Path) -> None:
    """Equal means, yet 15 L* up on 40 % and 10 L* down on 60 % of the surface: said, and drawn so."""
    sheet = mottle.mottle_picture(studio, "T1", "T2", tmp_path / "two.svg")
    assert sheet.mean_difference == pytest.approx(0.0, abs=1e-6)
    assert sheet.distance > 8
    assert sheet.uneven
    assert "The master has one tone, the sample 2 tones (60 %, 40 %)." in sheet.words
    assert "lighter" in sheet.words
    assert "darker" in sheet.words
    svg = (tmp_path / "two.svg").read_text(encoding="utf-8")
    text = " ".join(t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text"))
    assert sheet.words in text.replace("\N{NO-BREAK SPACE}", " ")
    assert sorted(drawn_shares(svg, "sample").values()) == pytest.approx([0.4, 0.6], abs=0.02)
    assert len(drawn_shares(svg, "reference")) == 1


def test_tones_that_were_not_read_are_said_not_supposed(studio: Studio) -> None:
    """A tile read by an instrument stands as one tone with a caution; one read as even carries none."""
    assert mottle.compare_surfaces(studio, "T1", "T2").cautions == ()
    [caution] = mottle.compare_surfaces(studio, "T2", "T3").cautions
    assert "were not read" in caution
    assert not mottle.compare_surfaces(studio, "T1", "T3").uneven


def test_colours_alone_need_no_studio() -> None:
    """Triples are one part each, and their distance is the plain difference."""
    sheet = mottle.compare_surfaces(None, "50,2.6772,-79.7751", "50,0,-82.7485")
    assert sheet.distance == pytest.approx(2.0425, abs=5e-5)  # Sharma, Wu, Dalal 2005, table 1, pair 1
    assert not sheet.uneven
    with pytest.raises(NotFound):
        mottle.compare_surfaces(None, "T1", "50,0,0")


def test_other_endings_and_folders_that_are_not_there(studio: Studio, tmp_path: Path) -> None:
    """A refusal names what to do and leaves no file."""
    with pytest.raises(Refused, match=r"two\.png") as refused:
        mottle.mottle_picture(studio, "T1", "T2", tmp_path / "two.png")
    assert ".svg" in refused.value.remedy
    with pytest.raises(StudioTrouble):
        mottle.mottle_picture(studio, "T1", "T2", tmp_path / "nowhere" / "two.svg")
    assert not list(tmp_path.glob("*.*g"))


def test_the_command_adds_the_tones_and_writes_the_picture(studio: Studio, tmp_path: Path) -> None:
    """compare keeps its fields, adds "mottle" where either is in parts, and writes the file that was named."""
    at, file = ["--studio", str(tmp_path / "studio"), "--json"], tmp_path / "two.svg"
    studio.close()
    ran = CliRunner().invoke(patina, ["compare", "T1", "T2", "--picture", str(file), *at])
    assert ran.exit_code == 0, ran.output
    said = json.loads(ran.stdout)
    assert {"formula", "delta_e", "words", "uncertainty_de00", "warnings", "mottle"} <= set(said)
    assert said["mottle"]["distance"] > 8
    assert "2 tones" in said["mottle"]["words"]
    assert ElementTree.parse(file).getroot().tag == f"{SVG}svg"
    assert "mottle" not in json.loads(CliRunner().invoke(patina, ["compare", "T1", "T3", *at]).stdout)
    wrong = CliRunner().invoke(patina, ["compare", "T1", "T2", "--picture", "two.png", *at])
    assert isinstance(wrong.exception, Refused)


def test_the_screen_shows_two_bars_with_the_shares(studio: Studio) -> None:
    """Both finishes as bars of one length, each tone as long as its share, and the words of the comparison."""
    said = [body for _, _, body in mottle_words(mottle.compare_surfaces(studio, "T1", "T2")).pieces]
    bars = [[s.end - s.start for s in body.spans] for body in said if body.plain == " " * 40]
    assert bars == [[40], [24, 16]]
    text = "\n".join(body.plain for body in said)
    assert "the sample 2 tones (60 %, 40 %)" in text
    assert "100 %" in text
    assert mottle_words(mottle.compare_surfaces(studio, "T1", "T3")).pieces == []


def test_an_agreed_finish_has_the_tones_of_its_tile(studio: Studio) -> None:
    """A finish agreed by a two-tone tile is that tile's distribution: no distance to the tile, one to a smooth one."""
    casts.agree_master(studio, NewMaster("Gannet brown", MEAN, 2.0, tile="T2", wax_state="waxed"))
    assert mottle.compare_surfaces(studio, "M1", "T2").distance == pytest.approx(0.0, abs=1e-9)
    assert mottle.compare_surfaces(studio, "M1", "T1").distance > 8
