"""Old photographs are put with their records by placard or file name; each is taken or listed with its reason."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from patina.bench.bringing.bring_photographs import bring_photographs, pattern_of
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.readings.reading import keep_read, read, read_into
from patina.bench.readings.shoot import placard
from patina.bench.studio import Studio, open_studio
from patina.bench.upkeep import check
from patina.cli import main
from patina.entries import NewCast, NewPiece, NewReading, NewTile
from patina.errors import BadQuantity, NotFound, Refused


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """Two tiles and a cast."""
    with open_studio(tmp_path_factory.mktemp("old pictures") / "studio") as opened:
        tiles.start_tile(opened, NewTile("HM-01", "C87300"))
        tiles.start_tile(opened, NewTile("HM-02", "C87300"))
        casts.add_piece(opened, NewPiece("Heron turning"))
        casts.add_cast(opened, NewCast("W1", "1/9"))
        yield opened


def _picture(path: Path, shade: int, taken: str = "") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken  # DateTimeOriginal of the Exif standard
    Image.new("RGB", (640, 480), (shade, 90, 40)).save(path, exif=exif)
    return path


@pytest.fixture(scope="module")
def folder(studio: Studio, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as it lies on an old disk."""
    where = tmp_path_factory.mktemp("photographs")
    first = _picture(where / "HM-01_before wax.jpg", 10, "2014:05:06 10:11:12")
    (where / "copy of it.jpg").write_bytes(first.read_bytes())
    _picture(where / "2016" / "hm-02_20160304.jpg", 20)
    _picture(where / "heron_turning 1-9.png", 30)
    _picture(where / "IMG_0001.jpg", 40)
    (where / "HM-02_broken.jpg").write_bytes(b"\xff\xd8\xff\xe0 broken")
    (where / "notes.txt").write_text("not a picture")
    (where / ".hidden.jpg").write_bytes(b"x")
    placard(studio, "T2", where / "IMG_0002.png")
    return where


def test_a_preview_says_where_each_would_go(studio: Studio, folder: Path) -> None:
    """Placards count before file names; duplicates, pictures that cannot be read and other files are listed."""
    came = bring_photographs(studio, folder, "{mark}_{state}", dry_run=True)
    rows = {p.file: p for p in came.pictures}
    assert len(rows) == 8
    assert (rows["IMG_0002.png"].target, rows["IMG_0002.png"].how) == ("T2", "placard")
    assert (rows["HM-01_before wax.jpg"].target, rows["HM-01_before wax.jpg"].state) == ("T1", "before wax")
    assert rows["HM-01_before wax.jpg"].taken.startswith("2014-05-06")
    assert rows["HM-01_before wax.jpg"].measurable is False
    assert "same file" in rows["copy of it.jpg"].reason, "the one whose name says something is taken"
    assert "pattern" in rows["IMG_0001.jpg"].reason or "no tile" in rows["IMG_0001.jpg"].reason
    assert rows["HM-02_broken.jpg"].reason
    assert "no photograph" in rows["notes.txt"].reason
    assert not tiles.tile_sheet(studio, "T1").photographs


def test_they_are_kept_as_pictures_once(studio: Studio, folder: Path) -> None:
    """Without a chart they are marked not to be measured; a second run adds nothing; `check` proves every one."""
    came = bring_photographs(studio, folder, "{mark}_{state}", search=True)
    assert {(p.file, p.target) for p in came.taken} >= {("HM-01_before wax.jpg", "T1"), ("IMG_0002.png", "T2")}
    kept = tiles.tile_sheet(studio, "T1").photographs
    assert ["not to be measured" in p.note for p in kept] == [True]
    assert kept[0].taken_at.startswith("2014-05-06")
    again = bring_photographs(studio, folder, "{mark}_{state}")
    assert not again.taken
    assert any("already" in p.reason for p in again.left)
    assert check(studio).ok


def test_a_picture_without_a_chart_is_not_measured(studio: Studio, folder: Path) -> None:
    """A reading of it is refused and nothing is kept; one by a chart in another photograph would have its doubt."""
    bring_photographs(studio, folder, "{mark}_{state}")
    (kept,) = tiles.tile_sheet(studio, "T1").photographs
    with pytest.raises(Refused, match="not to be measured"):
        read_into(studio, "T1", kept.sha256, areas=["face=10,10,100,100"], chart="none", wax_state="unwaxed")
    with pytest.raises(Refused, match="not to be measured"):
        keep_read(
            studio,
            "T1",
            folder / "HM-01_before wax.jpg",
            read(folder / "HM-01_before wax.jpg", chart="none", areas=["face=10,10,100,100"], wax_state="unwaxed"),
            wax_state="unwaxed",
            warmth="not stated",
        )
    assert tiles.tile_sheet(studio, "T1").readings == ()
    read_by_a_chart = NewReading(
        30,
        5,
        6,
        source="photograph",
        instrument="camera, 24-patch chart (unknown), in another photograph, found",
        photograph=kept.sha256,
        uncertainty_de00=2.1,
        wax_state="unwaxed",
    )
    assert tiles.add_reading(studio, "T1", read_by_a_chart).uncertainty_de00 == 2.1
    assert check(studio).ok


def test_a_cast_by_title_and_number_and_a_date_in_the_name(studio: Studio, folder: Path) -> None:
    """Underscores are blanks of a title, 1-9 is 1/9; a date in the name counts where the camera wrote none."""
    came = bring_photographs(studio, folder, "{piece} {number}", dry_run=True, search=False)
    assert {p.file: p.target for p in came.pictures if "1-9" in p.file} == {"heron_turning 1-9.png": "C1"}, (
        came.pictures
    )
    came = bring_photographs(studio, folder / "2016", "{id}_{date}", dry_run=True, search=False)
    assert "pattern" in came.pictures[0].reason
    came = bring_photographs(studio, folder / "2016", "*-02_{mark}", dry_run=True, search=False)
    assert "no tile '20160304'" in came.pictures[0].reason


@pytest.mark.parametrize("words", ["{what}", "{mark}{mark}", "{state}", "*"])
def test_a_pattern_that_does_not_serve_is_refused(words: str) -> None:
    """It must say where a photograph belongs, by parts that are known, each once."""
    with pytest.raises(BadQuantity) as trouble:
        pattern_of(words)
    assert trouble.value.field == "pattern"


def test_a_stop_keeps_nothing_and_a_missing_folder_is_told(studio: Studio, folder: Path) -> None:
    """What progress raises stops the work before anything is kept."""

    def stop(done: int, _of: int, _name: str) -> None:
        if done == 2:
            raise Refused("Stopped.", "Begin again.")

    before = len(tiles.tile_sheet(studio, "T2").photographs)
    with pytest.raises(Refused, match="Stopped"):
        bring_photographs(studio, folder, "{mark}_*", search=False, progress=stop)
    assert len(tiles.tile_sheet(studio, "T2").photographs) == before
    with pytest.raises(NotFound):
        bring_photographs(studio, folder / "nowhere", "{mark}")


def test_the_command_prints_the_same(studio: Studio, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON document, each file in it."""
    words = ["bring-photographs", str(folder), "--pattern", "{mark}_{state}", "--dry-run", "--no-search", "--json"]
    with pytest.raises(SystemExit) as left:
        main(["--studio", studio.where, *words])
    assert left.value.code == 0
    document = json.loads(capsys.readouterr().out)
    assert len(document["photographs"]) == 8
    assert document["stored"] is False
