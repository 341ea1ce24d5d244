"""Deeds on tiles, readings and photographs."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PIL import Image

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import comparing, tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.chemistry.strength import parse_strength
from patina.entries import NewBatch, NewCast, NewMaster, NewPiece, NewReading, NewTile
from patina.errors import BadPhotograph, BadQuantity, Changed, Damaged, Incomplete, NotFound, Refused
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.sheets import Lab

BROWN = Recipe(
    "Harbour brown",
    "even dark brown",
    ("C87300",),
    "own tiles",
    (Solution("wash", "distilled_water", (Ingredient("liver_of_sulphur", parse_strength("5 g/L")),)),),
    (Step("apply", solution="wash", method="torch", passes=4, coverage_ml_per_m2=40.0),),
)


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of such a studio, to be copied for each test."""
    folder = tmp_path_factory.mktemp("filled") / "studio"
    with open_studio(folder) as opened:
        finishes.save_recipe(opened, BROWN)
        finishes.revise_recipe(opened, "R1", replace(BROWN, texture=1.2), reason="rougher")
        tiles.start_tile(
            opened, NewTile("A1", "95-4-1", recipe="harbour brown", revision=1, as_done=("hot", " ", "wet"))
        )
        casts.add_piece(opened, NewPiece("Grey seal"))
        casts.add_cast(opened, NewCast("W1", "1/9"))
    return folder


@pytest.fixture
def studio(filled: Path, tmp_path: Path) -> Iterator[Studio]:
    """A studio with a recipe in two revisions, a tile and a cast."""
    shutil.copytree(filled, tmp_path / "studio")
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def picture(folder: Path, name: str = "tile.png", tone: int = 90) -> Path:
    """A photograph file of its own."""
    Image.new("RGB", (240, 200), (tone, 60, 30)).save(folder / name)
    return folder / name


def test_a_tile_keeps_the_revision_it_was_made_by(studio: Studio) -> None:
    """The revision named, or the latest; an alloy by any of its names; steps as done without blanks."""
    sheet = tiles.tile_sheet(studio, "T1")
    assert (sheet.row.recipe_id, sheet.row.revision, sheet.row.alloy) == ("R1", 1, "C87300")
    assert sheet.as_done == ("hot", "wet")
    latest = tiles.start_tile(studio, NewTile("A2", "own alloy", recipe="R1"))
    assert (latest.row.id, latest.row.revision, latest.row.alloy) == ("T2", 2, "own alloy")
    assert [row.id for row in finishes.recipe_sheet(studio, "R1").tiles] == ["T2", "T1"]
    assert tiles.start_tile(studio, NewTile("A3", "C87300")).row.recipe_id is None


def test_a_tile_of_a_batch_has_the_batchs_revision(studio: Studio) -> None:
    """Where only the batch is named its revision counts; another revision beside it is refused."""
    batches.mix_batch(studio, NewBatch("R1", 1, "wash", 500.0))
    sheet = tiles.start_tile(studio, NewTile("A4", "C87300", batch="B1"))
    assert (sheet.row.revision, sheet.batch) == (1, "B1")
    with pytest.raises(Refused, match="another recipe or revision"):
        tiles.start_tile(studio, NewTile("A5", "C87300", recipe="R1", revision=2, batch="B1"))


@pytest.mark.parametrize(
    ("entry", "fields"),
    [
        (NewTile("", ""), {"engraved", "alloy"}),
        (NewTile("x", "C87300", wall_mm=-1.0, wax_state="greasy"), {"wall_mm", "wax_state"}),
        (NewTile("x", "C87300", wall_mm=float("nan")), {"wall_mm"}),
        (NewTile("x" * 201, "C87300", revision=1), {"engraved", "recipe"}),
    ],
)
def test_all_that_is_wrong_with_a_tile_is_said_at_once(studio: Studio, entry: NewTile, fields: set[str]) -> None:
    """Each trouble names its field, and nothing is kept."""
    with pytest.raises(Incomplete) as told:
        tiles.start_tile(studio, entry)
    assert {trouble.field for trouble in told.value.troubles} == fields
    assert len(tiles.list_tiles(studio)) == 1


@pytest.mark.parametrize(
    "entry", [NewTile("x", "a", recipe="R9"), NewTile("x", "a", recipe="R1", revision=9), NewTile("x", "a", batch="B9")]
)
def test_a_tile_of_something_that_is_not_there(studio: Studio, entry: NewTile) -> None:
    """An unknown recipe, revision or batch is told."""
    with pytest.raises(NotFound):
        tiles.start_tile(studio, entry)


def test_a_tile_is_corrected_and_the_second_editor_is_told(studio: Studio) -> None:
    """The version seen must be the version there is."""
    entry = NewTile("A1b", "C87300", recipe="R1", revision=1)
    assert tiles.change_tile(studio, "T1", entry, version=1).version == 2
    with pytest.raises(Changed):
        tiles.change_tile(studio, "T1", entry, version=1)
    assert tiles.tile_sheet(studio, "A1b").row.id == "T1"


def test_a_tile_is_called_by_what_is_engraved_on_it(studio: Studio) -> None:
    """Only where one tile bears it."""
    assert tiles.tile_sheet(studio, "A1").row.id == "T1"
    tiles.start_tile(studio, NewTile("A1", "C87300"))
    with pytest.raises(NotFound, match=r"T1, T2|T2, T1"):
        tiles.tile_sheet(studio, "A1")


def test_the_latest_reading_is_the_newest_by_its_own_time(studio: Studio) -> None:
    """A reading of last week that is typed in today does not become the tile's colour."""
    today = datetime.now(UTC)
    tiles.add_reading(studio, "T1", NewReading(30.0, 1.0, 1.0, read_at=today))
    tiles.add_reading(studio, "T1", NewReading(40.0, 1.0, 1.0, read_at=today - timedelta(days=7)))
    (row,) = tiles.list_tiles(studio)
    assert row.lab == Lab(30.0, 1.0, 1.0) and row.readings == 2
    assert [r.id for r in tiles.tile_sheet(studio, "T1").readings] == ["D1", "D2"]


def test_a_moment_without_a_zone_is_local(studio: Studio) -> None:
    """It is kept in UTC."""
    local = datetime(2026, 3, 14, 9, 30)
    row = tiles.add_reading(studio, "T1", NewReading(30.0, 1.0, 1.0, read_at=local))
    assert row.read_at == local.astimezone(UTC) and row.read_at.tzinfo is not None


def test_a_reading_comes_back_whole(studio: Studio) -> None:
    """Every figure and word, with the parts of an uneven surface."""
    entry = NewReading(
        31.25, -4.5, 12.125, source="instrument", area="left", illuminant="D65", observer="10", geometry="d:8 SCI",
        instrument="own", sd=(0.5, 0.25, 0.125), n=5, uncertainty_de00=0.75, wax_state="waxed", warmth="cold",
        read_by="Ada", note="é", parts=((30.0, 1.0, 2.0, 0.75), (40.0, 1.0, 2.0, 0.25)),
    )  # fmt: skip
    kept = tiles.add_reading(studio, "C1", entry)
    assert kept == casts.cast_sheet(studio, "C1").readings[0] == tiles.reading_of(studio, kept.id)
    assert kept.lab == Lab(31.25, -4.5, 12.125, "D65", "10") and kept.cast == "C1" and kept.tile is None
    assert [(p.lab.L, p.share) for p in kept.parts] == [(30.0, 0.75), (40.0, 0.25)]
    shared = ("source", "area", "geometry", "instrument", "sd", "n", "uncertainty_de00", "wax_state", "warmth", "note")
    assert [getattr(kept, f) for f in shared] == [getattr(entry, f) for f in shared]


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        (NewReading(101.0, 0.0, 0.0), "L"),
        (NewReading(50.0, 300.0, 0.0), "a"),
        (NewReading(50.0, 0.0, float("inf")), "b"),
        (NewReading(50.0, 0.0, 0.0, observer="3"), "observer"),
        (NewReading(50.0, 0.0, 0.0, n=0), "n"),
        (NewReading(50.0, 0.0, 0.0, read_at=datetime(2999, 1, 1)), "read_at"),
        (NewReading(50.0, 0.0, 0.0, source="guess"), "source"),
    ],
)
def test_a_reading_that_cannot_be(studio: Studio, entry: NewReading, field: str) -> None:
    """Outside CIELAB, an observer that CIE does not define, the future: refused by field."""
    with pytest.raises(Incomplete) as told:
        tiles.add_reading(studio, "T1", entry)
    assert [t.field for t in told.value.troubles] == [field]


def test_colours_are_named_by_any_id(studio: Studio) -> None:
    """A reading, the latest of a tile or a cast, an agreed finish; what has none says so."""
    with pytest.raises(NotFound, match="no reading"):
        tiles.colour_record(studio, "T1")
    tiles.add_reading(studio, "T1", NewReading(50.0, 2.6772, -79.7751, wax_state="waxed"))
    tiles.add_reading(studio, "C1", NewReading(50.0, 0.0, -82.7485))
    casts.agree_master(studio, NewMaster("agreed", (50.0, 2.6772, -79.7751), 2.0))
    # pair 1 of Sharma, Wu, Dalal 2005: CIEDE2000 2.0425
    for reference in ("T1", "D1", "M1", "50,2.6772,-79.7751"):
        sheet = comparing.compare(studio, reference, "C1")
        assert sheet.difference.delta_e == pytest.approx(2.0425, abs=5e-5)
    assert tiles.colour_record(studio, "t1").wax_state == "waxed"
    for which in ("D9", "T9", "C9", "M9", "X1", ""):
        with pytest.raises(NotFound):
            tiles.colour_record(studio, which)


def test_a_photograph_is_stored_untouched(studio: Studio, tmp_path: Path) -> None:
    """Its bytes are those of the file, under their SHA-256; what it says of itself is on record."""
    file = picture(tmp_path)
    row = tiles.add_photograph(studio, "T1", file, state="before wax", note="north light")
    stored = tiles.photograph_path(studio, row.sha256)
    assert stored.read_bytes() == file.read_bytes()
    assert stored.name == row.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
    assert stored.parent.name == row.sha256[:2]
    assert (row.width_px, row.height_px, row.format, row.bits, row.name) == (240, 200, "PNG", 8, "tile.png")
    assert tiles.tile_sheet(studio, "T1").photographs == (row,)
    assert tiles.photograph_path(studio, row.sha256[:12].upper()) == stored


def test_one_photograph_of_two_tiles(studio: Studio, tmp_path: Path) -> None:
    """It is stored once and belongs to both; twice to the same tile is refused."""
    tiles.start_tile(studio, NewTile("A2", "C87300"))
    file = picture(tmp_path)
    one = tiles.add_photograph(studio, "T1", file)
    assert tiles.add_photograph(studio, "T2", file).sha256 == one.sha256
    with pytest.raises(Refused, match="already with T1"):
        tiles.add_photograph(studio, "T1", file)
    assert sum(1 for p in Path(studio.store.files.where).rglob("*") if p.is_file()) == 1


def test_a_reading_from_a_photograph_that_is_not_the_tiles(studio: Studio, tmp_path: Path) -> None:
    """The photograph must belong to the tile that is read."""
    tiles.start_tile(studio, NewTile("A2", "C87300"))
    row = tiles.add_photograph(studio, "T2", picture(tmp_path))
    entry = NewReading(30.0, 1.0, 1.0, source="photograph", photograph=row.sha256)
    with pytest.raises(Refused, match="does not belong to T1"):
        tiles.add_reading(studio, "T1", entry)
    assert tiles.add_reading(studio, "T2", entry).photograph == row.sha256


@pytest.mark.parametrize("content", [b"", b"no picture", b"\x89PNG\r\n\x1a\n cut off"])
def test_what_is_no_photograph_is_not_stored(studio: Studio, tmp_path: Path, content: bytes) -> None:
    """Nothing lies in the folder of photographs afterwards."""
    (tmp_path / "x.png").write_bytes(content)
    with pytest.raises(BadPhotograph):
        tiles.add_photograph(studio, "T1", tmp_path / "x.png")
    with pytest.raises(NotFound):
        tiles.add_photograph(studio, "T99", picture(tmp_path))
    assert not (Path(studio.where) / "photographs").exists()


def test_a_photograph_that_is_gone(studio: Studio, tmp_path: Path) -> None:
    """A missing file is told as damage; an unknown hash as not found."""
    sha256 = tiles.add_photograph(studio, "T1", picture(tmp_path)).sha256
    tiles.photograph_path(studio, sha256).unlink()
    with pytest.raises(Damaged, match="missing"):
        tiles.photograph_path(studio, sha256)
    for wrong in ("a" * 64, "abc", "../../etc/passwd", ""):
        with pytest.raises(NotFound):
            tiles.photograph_path(studio, wrong)


def test_the_file_store_names_by_sha_256(tmp_path: Path) -> None:
    """The name of "abc" is the example of FIPS 180-4 (the digest as in its published test vector)."""
    from patina.records.photographs.files import PhotographFiles

    (tmp_path / "abc").write_bytes(b"abc")
    files = PhotographFiles(tmp_path / "store")
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert files.keep(tmp_path / "abc") == files.keep(tmp_path / "abc") == expected
    assert [p.name for p in files.all()] == [expected]


CSV = (
    "L*;a*;b*;tile;n;sd_L;sd_a;sd_b;read_at;instrument\n"
    "31,5;1,25;\N{MINUS SIGN}2;T1;5;0,1;0,2;0,3;2026-03-14 09:30;own\n"
    "40;1;2;;;;;;;\n"
)


def test_an_instruments_file_is_taken_in(studio: Studio, tmp_path: Path) -> None:
    """Semicolons, decimal commas and true minus signs; a row that names no tile takes the default."""
    (tmp_path / "r.csv").write_text(CSV, encoding="utf-8-sig")
    rows = tiles.import_readings_csv(studio, tmp_path / "r.csv", default="C1")
    assert [(r.tile, r.cast, r.lab, r.n) for r in rows] == [
        ("T1", None, Lab(31.5, 1.25, -2.0), 5),
        (None, "C1", Lab(40.0, 1.0, 2.0), 1),
    ]
    assert rows[0].sd == (0.1, 0.2, 0.3) and rows[0].source == "instrument"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("L,a\n1,2\n", "no column b"),
        ("L,a,b,X,Y,Z\n1,2,3,4,5,6\n", "not known: X, Y, Z"),
        ("L,a,b\n", "no reading"),
        ("L,a,b,tile\n1,2,3\n", "row 2: 3 cells"),
        ("L,a,b,tile\n1,x,3,T1\n1,,3,T1\n", r"row 2, column a: 'x'.*row 3, column a: is empty"),
        ("L,a,b\n1,2,3\n", "names no tile"),
        ("L,a,b,tile,cast\n1,2,3,T1,C1\n", "not to both"),
        ("L,a,b,tile,sd_L\n1,2,3,T1,0.1\n", "some of L, a, b"),
        ("L,a,b,tile,n\n1,2,3,T1,2.5\n", "no whole number"),
        ("L,a,b,tile,read_at\n1,2,3,T1,yesterday\n", "no date"),
        ("L,a,b,tile\n1,2,3,T99\n", "T99"),
        ("L,a,b,tile\n500,2,3,T1\n", "500"),
        ("L,L,a,b\n1,2,3,4\n", "twice"),
        ('L,a,b,tile\n1,2,3,"T1\n', "no|not"),
    ],
)  # fmt: skip
def test_a_bad_file_of_readings_keeps_nothing(studio: Studio, tmp_path: Path, text: str, says: str) -> None:
    """Row and column are named, all of them at once; not even the good rows are kept."""
    (tmp_path / "r.csv").write_text(text, encoding="utf-8")
    with pytest.raises((BadQuantity, Incomplete, NotFound), match=says):
        tiles.import_readings_csv(studio, tmp_path / "r.csv")
    assert tiles.tile_sheet(studio, "T1").readings == ()


def test_a_file_of_readings_that_is_none(studio: Studio, tmp_path: Path) -> None:
    """A missing file and bytes that are no text are told."""
    (tmp_path / "r.csv").write_bytes(b"\xff\xfe\x00L")
    for name in ("r.csv", "not there.csv"):
        with pytest.raises(NotFound):
            tiles.import_readings_csv(studio, tmp_path / name)


def test_a_colour_keeps_the_state_it_was_read_in(studio: Studio) -> None:
    """A tile made unwaxed and read again when waxed: its colour in lists is that of the waxed surface, and says so."""
    tile = tiles.start_tile(studio, NewTile("WAX-1", "C87300", wax_state="unwaxed"))
    assert tile.row.read_wax == "not stated"
    tiles.add_reading(studio, tile.row.id, NewReading(27.4, 6.3, 9.2, wax_state="unwaxed"))
    tiles.add_reading(studio, tile.row.id, NewReading(24.1, 6.9, 9.6, wax_state="waxed"))
    listed = next(t for t in tiles.list_tiles(studio) if t.id == tile.row.id)
    assert (listed.wax_state, listed.read_wax) == ("unwaxed", "waxed")
    assert listed.lab is not None and listed.lab.L == 24.1
