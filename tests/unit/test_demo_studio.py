"""The invented studio is built by the deeds of the program, is sound, and shows the whole job."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

import swatches
from patina.bench import access, sealing
from patina.bench.finding.related import related
from patina.bench.matched import matching
from patina.bench.paper import owner
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.readings.comparing import compare
from patina.bench.readings.shoot import file_shoot, placard
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.treating import treat
from patina.bench.upkeep import check
from patina.cli import main
from patina.colour.values import Lab
from patina.demo.studio import make_demo
from patina.errors import Refused


@pytest.fixture(scope="module")
def where(demo_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo studio, for all tests of this file."""
    return Path(shutil.copytree(demo_made, tmp_path_factory.mktemp("demo") / "studio"))


@pytest.fixture
def studio(where: Path) -> Studio:
    """The demo studio, opened."""
    with open_studio(str(where)) as opened:
        yield opened


def test_it_is_sound(studio: Studio) -> None:
    """Every record and photograph is what it was."""
    found = check(studio)
    assert found.ok, found.problems
    assert found.photographs >= 6


def test_it_shows_every_part_of_the_job(studio: Studio) -> None:
    """Recipes with revisions, tiles with readings, an agreed finish, casts, lots and a batch."""
    assert len(finishes.list_recipes(studio)) >= 12
    assert finishes.recipe_sheet(studio, "Torch sulphide brown").revision == 2
    assert all(row.lab is not None for row in tiles.list_tiles(studio))
    assert casts.list_masters(studio)
    assert len(casts.list_casts(studio, "Heron, turning")) == 4
    assert treat.treatment_sheet(studio, "CT1").complete_for("log").complete
    closed = treat.treatment_sheet(studio, "CT2")
    assert all(found.complete for found in closed.completeness), closed.completeness
    seal = sealing.seal_of(studio, "CT2")
    assert (seal.sealed, seal.sound, len(seal.amendments)) == (True, True, 1)
    with pytest.raises(Refused, match="signed off"):
        treat.change_head(studio, "CT2", {"marks": "none"})
    assert any(row.state == "expired" for row in shelf.list_lots(studio))
    assert batches.list_batches(studio, open_only=False)
    assert {r.kind for r in owner.given(studio)} == {"owner's sheet", "tile on loan"}
    assert [r.recipe for r in access.list_withheld(studio)] == ["Green over brown"]


def test_from_a_pot_to_its_tile_and_back(studio: Studio) -> None:
    """A tile was made out of the pot of the finished job: each leads to the other, and both to the cast."""
    tile = next(row for row in tiles.list_tiles(studio) if row.engraved == "HM-13")
    pot = tiles.tile_sheet(studio, tile.id).batch
    assert pot is not None
    assert {tile.id, "C1"} <= {found.id for found in related(studio, pot)}
    assert {pot, "C1"} <= {found.id for found in related(studio, tile.id)}


def test_what_was_read_is_near_the_true_colours(studio: Studio) -> None:
    """Readings from photographs lie within their stated uncertainty of the rendered truth, save one in ten."""
    by_name = {t["name"]: Lab(*t["lab"]) for p in swatches.truth().values() for t in p["tiles"]}
    from patina.colour.difference import compare as difference
    from patina.demo.studio import _TILES

    outside = 0
    for engraved, *_, name in _TILES:
        row = next(r for r in tiles.list_tiles(studio) if r.engraved == engraved)
        read = next(r for r in tiles.tile_sheet(studio, row.id).readings if r.source == "photograph")
        assert read.uncertainty_de00 is not None
        away = difference(by_name[name], read.lab).delta_e
        assert away < 4.5
        outside += away > read.uncertainty_de00
    assert outside <= 1


def test_the_casts_are_judged_with_their_doubt(studio: Studio) -> None:
    """The first cast passes; the drifting fourth is told apart or said not to be decidable, never passed."""
    master = next(m for m in casts.list_masters(studio) if "Heron" in m.name)
    by_number = {row.number: row.id for row in casts.list_casts(studio)}
    assert matching.judge(studio, master.id, by_number["1/9"]).verdict == "pass"
    assert matching.judge(studio, master.id, by_number["4/9"]).verdict != "pass"


def test_two_tiles_are_compared_and_the_nearest_found(studio: Studio) -> None:
    """The green tile is not the brown one, and the tile nearest to a tile is another tile."""
    assert compare(studio, "T1", "T5").difference.delta_e > 10
    near = matching.nearest(studio, "T7", top=3)
    assert near[0].tile == "T8"
    assert all(m.tile != "T7" for m in near)
    assert [m.delta_e for m in near] == sorted(m.delta_e for m in near)
    assert {m.tile for m in matching.nearest(studio, "30,5,5", alloy="gunmetal LG2", top=50)} <= {"T4", "T6", "T12"}


def test_a_photograph_with_a_placard_of_this_studio_is_filed_once(studio: Studio, tmp_path: Path) -> None:
    """A placard is printed for a tile; a photograph of another studio's placard is refused with its reason."""
    assert placard(studio, "T3", tmp_path / "t3.pdf").read_bytes().startswith(b"%PDF")
    with pytest.raises(Refused):
        placard(studio, "T3", tmp_path / "t3.docx")
    found = file_shoot(studio, [swatches.photograph("placard.jpg"), swatches.photograph("whites.jpg")], workers=1)
    assert not found.filed
    assert {u.file: u.code for u in found.unfiled} == {"placard.jpg": "trouble", "whites.jpg": "known"}
    assert "another studio" in next(u.what for u in found.unfiled if u.file == "placard.jpg")


def test_a_folder_that_holds_something_is_not_touched(tmp_path: Path) -> None:
    """The demo goes into a new folder only."""
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(Refused):
        make_demo(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]


def test_printed_from_the_command_line(where: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Label, wall sheet, first-aid card, tile and finish record come out as PDF files."""
    for words in (["label", "B1"], ["wall"], ["first-aid"], ["tile", "T5"], ["cast", "C1"]):
        file = tmp_path / f"{words[0]}.pdf"
        with pytest.raises(SystemExit) as leaving:
            main(["--studio", str(where), "print", *words, str(file), "--json"])
        assert leaving.value.code == 0
        assert json.loads(capsys.readouterr().out)["files"] == [str(file)]
        assert file.read_bytes().startswith(b"%PDF")


def test_without_a_terminal_it_is_only_made(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina demo` into a pipe makes the studio, says where it is and how to open it, and is done."""
    with pytest.raises(SystemExit) as leaving:
        main(["demo", str(tmp_path / "studio")])
    assert leaving.value.code == 0
    assert f"patina --studio '{tmp_path / 'studio'}'" in capsys.readouterr().out
    with open_studio(tmp_path / "studio") as opened:
        assert check(opened).ok
