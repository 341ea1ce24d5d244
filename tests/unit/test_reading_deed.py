"""Reading a photograph by deed and command: state, card, chart in another frame, what the studio remembers."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

import swatches
from patina.bench.readings import tiles
from patina.bench.readings.comparing import compare
from patina.bench.readings.reading import as_readings, parse_area, parse_state, read, read_into
from patina.bench.readings.shoot import file_shoot
from patina.bench.settings import change_setting, chart_edition, list_settings
from patina.bench.studio import Studio, open_studio
from patina.bench.upkeep import check
from patina.cli import main
from patina.colour.delta_e import de2000_pairs
from patina.colour.difference import compare as difference_of
from patina.entries import NewTile
from patina.errors import BadChart, BadPhotograph, BadQuantity, NotFound

NAME = "brown-and-chestnut.jpg"
AREA = "face={},{},{},{}".format(*swatches.truth()[NAME]["tiles"][0]["rect"])
TRUE = np.array([swatches.truth()[NAME]["tiles"][0]["lab"]])


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    with open_studio(tmp_path / "studio") as opened:
        yield opened


@pytest.fixture
def stored(studio: Studio) -> tuple[str, str]:
    """A tile and the SHA-256 of its photograph."""
    tile = tiles.start_tile(studio, NewTile("QT-1", "C87300")).row.id
    return tile, tiles.add_photograph(studio, tile, swatches.photograph(NAME)).sha256


def codes(reading: Any) -> set[str]:
    return {one.code for one in reading.warnings}


def run(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    """The document a command prints, or the trouble it names."""
    with pytest.raises(SystemExit) as left:
        main([*words, "--json"])
    said = capsys.readouterr()
    return json.loads(said.out if left.value.code == 0 else said.err)


def test_the_edition_is_asked_once_and_remembered(studio: Studio, stored: tuple[str, str]) -> None:
    """An edition set in the studio is used where a reading states none; what a reading states comes first."""
    tile, photograph = stored
    _, before = read_into(studio, tile, photograph, areas=[AREA])
    assert before.chart.edition == "unknown"
    assert "edition-unknown" in codes(before)
    change_setting(studio, "chart-edition", "before-2014")
    rows, after = read_into(studio, tile, photograph, areas=[AREA])
    assert after.chart.edition == "before-2014"
    assert "edition-unknown" not in codes(after)
    assert "before-2014" in rows[0].instrument
    _, stated = read_into(studio, tile, photograph, areas=[AREA], edition="after-2014")
    assert stated.chart.edition == "after-2014"
    assert chart_edition(studio) == "before-2014"


def test_settings_are_listed_and_checked(studio: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    """What can be set is listed with its choices; another name or value is refused and changes nothing."""
    where = ("--studio", studio.where)
    assert run(capsys, "setting", "chart-edition", "after-2014", *where)["value"] == "after-2014"
    listed = {one["name"]: one for one in run(capsys, "setting", *where)["settings"]}
    assert listed["chart-edition"]["value"] == "after-2014"
    assert "before-2014" in listed["chart-edition"]["choices"]
    assert run(capsys, "setting", "chart-edition", "2015", *where)["what"] == "'2015' is no chart-edition."
    assert run(capsys, "setting", "chart-edition", *where)["value"] == "after-2014"
    with pytest.raises(NotFound):
        change_setting(studio, "colour of the door", "green")
    with pytest.raises(BadQuantity):
        change_setting(studio, "who", "a\nb")
    assert {one.name for one in list_settings(studio)} >= {"chart-edition", "who"}


def test_the_command_takes_the_studios_edition_where_one_is_named(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    """`patina read` without --studio opens no studio and knows no edition; with it, the studio's counts."""
    change_setting(studio, "chart-edition", "before-2014")
    photo = str(swatches.photograph(NAME))
    assert run(capsys, "read", photo, "--area", AREA)["chart"]["edition"] == "unknown"
    assert run(capsys, "read", photo, "--area", AREA, "--studio", studio.where)["chart"]["edition"] == "before-2014"


def test_a_state_that_is_stated_is_not_warned_of(
    studio: Studio, stored: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """Wax and warmth both stated: no warning, on the command, in the deed and in the note that is kept."""
    tile, photograph = stored
    half, _ = read_into(studio, tile, photograph, areas=[AREA], wax_state="waxed")
    whole, found = read_into(studio, tile, photograph, areas=[AREA], wax_state="waxed", warmth="cold")
    assert "not stated" in half[0].note
    assert "not stated" not in whole[0].note
    assert "state-not-stated" not in codes(found)
    late = as_readings(
        read(swatches.photograph(NAME), areas=[AREA]), photograph, wax_state="waxed", warmth="cold", by=""
    )
    assert "not stated" not in late[0].note
    photo = str(swatches.photograph(NAME))
    for state, warned in (("waxed", True), ("cold,waxed", False)):
        document = run(capsys, "read", photo, "--area", AREA, "--state", state)
        assert ("state-not-stated" in {w["code"] for w in document["warnings"]}) == warned
    for wrong in ("damp", "waxed,wet", ""):
        with pytest.raises(BadQuantity):
            parse_state(wrong)


def test_a_chart_in_another_frame_serves_with_more_doubt(
    studio: Studio, stored: tuple[str, str], tmp_path: Path
) -> None:
    """The chart photographed alone, then the tile: as near as with the chart beside it, and doubted more; frames
    exposed differently are said to be, far apart refused."""
    whole = swatches.photograph(NAME)
    here = read(whole, areas=[AREA], edition="before-2014")
    with Image.open(whole) as opened:
        exif, profile = opened.getexif(), opened.info.get("icc_profile")
        picture = opened.convert("RGB")
        (x, y), _, (right, low), _ = swatches.truth()[NAME]["chart"]["corners"]
        bare = picture.copy()  # the chart hidden in the tile's frame
        bare.paste((200, 200, 200), (int(min(x, right)) - 60, int(min(y, low)) - 60, int(right) + 60, int(low) + 60))
    path = tmp_path / "tile.jpg"

    def frame(seconds: float) -> Path:
        exif.get_ifd(0x8769)[0x829A] = seconds
        bare.save(path, quality=95, exif=exif, icc_profile=profile)
        return path

    seconds = float(here.facts.exif["exposure_s"]) if here.facts else 0.0
    there = read(frame(seconds), areas=[AREA], edition="before-2014", chart_photo=whole)
    assert "chart-elsewhere" in codes(there)
    assert "exposure-differs" not in codes(there)
    one, other = (np.array([r.areas[0].lab.as_list()]) for r in (here, there))
    assert de2000_pairs(one, other)[0] < 2.5
    assert de2000_pairs(TRUE, other)[0] < there.areas[0].uncertainty_de00
    assert there.areas[0].uncertainty_de00 > here.areas[0].uncertainty_de00
    tile, chart = stored
    kept = tiles.add_photograph(studio, tile, path).sha256
    rows, _ = read_into(studio, tile, kept, areas=[AREA], chart_photograph=chart)
    assert "in another photograph" in rows[0].instrument
    brighter = read(frame(1.25 * seconds), areas=[AREA], edition="before-2014", chart_photo=whole)
    assert "exposure-differs" in codes(brighter)
    assert brighter.areas[0].uncertainty_de00 > there.areas[0].uncertainty_de00 + 1.0
    with pytest.raises(BadPhotograph):
        read(frame(16 * seconds), areas=[AREA], chart_photo=whole)


def test_a_flat_frame_is_named_in_the_reading(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`--flat`: a photograph of plain card; one of another size is refused."""
    size = swatches.truth()[NAME]["width_px"], swatches.truth()[NAME]["height_px"]
    card = tmp_path / "card.png"
    Image.new("RGB", size, (180, 180, 180)).save(card)
    document = run(capsys, "read", str(swatches.photograph(NAME)), "--area", AREA, "--flat", str(card))
    assert document["chart"]["flat_field"] == "flat frame"
    Image.new("RGB", (640, 480), (180, 180, 180)).save(card)
    refused = run(capsys, "read", str(swatches.photograph(NAME)), "--area", AREA, "--flat", str(card))
    assert "640" in refused["what"]


def test_a_charts_grey_row_serves_as_a_step_card(
    studio: Studio, stored: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The six greys of the chart, by the published L* of before November 2014: found as a row of six steps, kept
    with a reading that names them. Reference: the chart's maker, 2016 (as chart_24_before_2014.csv)."""
    path = tmp_path / "greys.csv"
    path.write_text(
        "L,a,b\n96.539,-0.425,1.186\n81.257,-0.638,-0.335\n66.766,-0.734,-0.504\n50.867,-0.153,-0.270\n"
        "35.656,-0.421,-1.231\n20.461,-0.079,-0.973\n"
    )
    document = run(
        capsys, "read", str(swatches.photograph(NAME)), "--area", AREA, "--chart", "step-card", "--card", str(path)
    )
    chart, area = document["chart"], document["areas"][0]
    assert chart["found"]
    assert chart["kind"] == "step card"
    assert chart["loo_de00"] == [None] * 24
    assert "no-chart-colours" in {w["code"] for w in document["warnings"]}
    assert de2000_pairs(TRUE, np.array([area["lab"]]))[0] < area["uncertainty_de00"]
    tile, photograph = stored
    rows, _ = read_into(studio, tile, photograph, areas=[AREA], chart="step-card", card=path)
    assert rows[0].instrument == "camera, step card, grey balance and tone curve by 6 neutral steps"


def test_cards_where_none_is_wanted_are_refused(studio: Studio, tmp_path: Path) -> None:
    """Reflectances without a card, a card without reflectances, a whole shoot by a card, a device without
    an end in place of a file."""
    photo = swatches.photograph(NAME)
    with pytest.raises(BadQuantity):
        read(photo, card="90 %")
    with pytest.raises(BadChart):
        read(photo, chart="white-card")
    for endless in (path for path in (Path("/dev/zero"),) if path.exists()):
        with pytest.raises(BadChart):
            read(photo, chart="step-card", card=endless)
        with pytest.raises(BadChart):
            read(photo, chart=str(endless))
    shutil.copy(photo, tmp_path / "one.jpg")
    with pytest.raises(BadQuantity):
        file_shoot(studio, tmp_path, chart="white-card", workers=1)


def test_two_tiles_of_one_photograph_differ_more_surely_than_they_are_known(
    studio: Studio, stored: tuple[str, str], tmp_path: Path
) -> None:
    """The difference of two areas of one photograph has the smaller uncertainty, says why, and holds the true
    difference of the rendered tiles; of two photographs, or two ways of reading, it is joined as usual (GUM)."""
    tile, photograph = stored
    rects = ["face{}={},{},{},{}".format(n, *t["rect"]) for n, t in enumerate(swatches.truth()[NAME]["tiles"])]
    (one, other), _ = read_into(studio, tile, photograph, areas=rects, edition="before-2014")
    near = compare(studio, one.id, other.id)
    joined = float(np.hypot(one.uncertainty_de00 or 0.0, other.uncertainty_de00 or 0.0))
    assert near.uncertainty_de00 is not None
    assert near.uncertainty_de00 < 0.8 * joined
    assert "one-photograph" in {w.code for w in near.warnings}
    labs = np.array([t["lab"] for t in swatches.truth()[NAME]["tiles"]])
    true = float(de2000_pairs(labs[:1], labs[1:2])[0])
    assert abs(near.difference.delta_e - true) < near.uncertainty_de00
    (another,), _ = read_into(studio, tile, photograph, areas=[rects[1]], edition="after-2014")
    (copy,) = tiles.add_readings(
        studio,
        tile,
        as_readings(
            read(swatches.photograph(NAME), areas=[rects[1]], edition="before-2014"),
            None,  # type: ignore[arg-type]
            wax_state="not stated",
            warmth="not stated",
            by="",
        ),
    )
    for apart in (another, copy):
        far = compare(studio, one.id, apart.id)
        assert "one-photograph" not in {w.code for w in far.warnings}
        assert far.uncertainty_de00 == pytest.approx(
            np.hypot(one.uncertainty_de00 or 0.0, apart.uncertainty_de00 or 0.0)
        )
    assert check(studio).ok


def test_an_area_is_a_box_a_polygon_or_the_whole_tile() -> None:
    """The three ways to write an area, and what is none."""
    assert parse_area("face=10,20,30,40").rect == (10.0, 20.0, 30.0, 40.0)
    assert parse_area("fold=1,2;30,4;20,50").polygon == ((1.0, 2.0), (30.0, 4.0), (20.0, 50.0))
    assert parse_area("all=tile").whole_tile
    near = parse_area("all=tile:10,20,30,40")
    assert near.whole_tile and near.rect == (10.0, 20.0, 30.0, 40.0)
    for text in ("face", "face=", "face=1,2,3", "face=1,2;3", "=1,2,3,4", "face=tile:1,2", "face=1,2,0,4"):
        with pytest.raises(BadQuantity):
            parse_area(text)


def test_a_whole_tile_and_a_polygon_read_like_its_middle() -> None:
    """On an even tile, found by its outline or drawn by hand, the colour is that of its middle (1.5 CIEDE2000)."""
    tile = swatches.truth()["brown-and-chestnut.jpg"]["tiles"][0]
    x, y, w, h = tile["rect"]
    corners = ";".join(f"{px + 0.2 * (x + w / 2 - px)},{py + 0.2 * (y + h / 2 - py)}" for px, py in tile["polygon"])
    found = read(
        swatches.photograph("brown-and-chestnut.jpg"),
        edition="before-2014",
        areas=[f"middle={x},{y},{w},{h}", f"drawn={corners}", f"whole=tile:{x},{y},{w},{h}"],
    )
    middle, *others = (a.lab for a in found.areas)
    for lab in others:
        assert difference_of(middle, lab).delta_e < 1.5
