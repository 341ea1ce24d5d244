"""Photographs that show a placard: rendered ones, whose truth is known, and their damaged variants."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from patina.colour.delta_e import de2000_pairs
from patina.colour.photograph import open_photo
from patina.colour.placard import Placard, PlacardName, placard_png
from patina.colour.placard_reading import (
    find_placard,
    read_placard_photo,
    straighten,
    tile_outline,
)
from patina.errors import BadPhotograph, NoChart
from swatches.render import jpeg_bytes, render_scene
from swatches.scene import Chart, Scene, Tile
from swatches.scenes import COLOURS, demo_scenes
from swatches.sheet import uid_of

REAL = Path(__file__).resolve().parents[3] / "shared" / "photos"
PLAIN = next(scene for scene in demo_scenes() if scene.placard)


@cache
def rendered(**changes: Any) -> tuple[np.ndarray, dict[str, Any]]:
    return render_scene(dataclasses.replace(PLAIN, **changes))


def small(**changes: Any) -> tuple[np.ndarray, dict[str, Any]]:
    return rendered(size_px=(1000, 750), **changes)


def same(picture: Any) -> Any:
    return picture


def shrunk(picture: Any) -> Any:
    return cv2.resize(picture, None, fx=0.3, fy=0.3, interpolation=cv2.INTER_AREA)


def blurred(picture: Any) -> Any:
    return cv2.GaussianBlur(picture, (0, 0), 2.0)


def darkened(picture: Any) -> Any:
    return (picture * 0.35).astype(np.uint8)


def half_shaded(picture: Any) -> Any:
    shade = np.where(np.arange(picture.shape[1]) < picture.shape[1] // 2, 0.55, 1.0)
    return (picture * shade[None, :, None]).astype(np.uint8)


def turned(times: int) -> Callable[[Any], Any]:
    return lambda picture: np.ascontiguousarray(np.rot90(picture, times))


@pytest.mark.parametrize(
    "change",
    [same, shrunk, blurred, darkened, half_shaded, turned(1), turned(2), turned(3)],
    ids=["as it is", "shrunk", "blurred", "dark", "half in shade", "90", "180", "270"],
)
def test_the_record_is_read_whatever_befalls_the_picture(change: Callable[[Any], Any]) -> None:
    """Turned, shrunk to 480 pixels, blurred, dark or half in shade: the sheet names its record."""
    found = find_placard(change(rendered()[0]))
    assert found is not None
    assert found.name.record == "T4"
    assert found.name.uid == uid_of("T4")
    assert found.markers == (22, 27, 29, 31)


@pytest.mark.parametrize(("tilt", "roll"), [(0.0, 0.0), (0.2, 0.0), (-0.15, 12.0), (0.1, -20.0)])
def test_the_sheet_is_laid_flat_whatever_the_angle(tilt: float, roll: float) -> None:
    """The chart's corner patches come out at their places on the sheet within half a millimetre."""
    chart = Chart(96.0, 115.0)
    picture, truth = small(
        tilt=tilt, roll_deg=roll, field_mm=(440.0, 330.0), placard_mm=(70.0, 60.0), chart=chart, tiles=()
    )
    found = find_placard(picture)
    assert found is not None
    first = 5.0 + 5.5  # frame and half a patch
    x, y = chart.x - 70.0 + first, chart.y - 60.0 + first
    on_sheet = [(x, y), (x + 65, y), (x + 65, y + 39), (x, y + 39)]
    expected = np.array(truth["chart"]["corners"])
    assert np.abs(np.array(found.to_photo(on_sheet)) - expected).max() < 0.5 * found.px_per_mm


def test_the_straightened_sheet_shows_its_code_upright() -> None:
    """Straightened at 4 pixels to the mm, the code stands in its place and is read there."""
    picture, _ = rendered()
    found = find_placard(picture)
    assert found is not None
    sheet = straighten(picture, found, px_per_mm=4.0)
    assert sheet.shape == (840, 1188, 3)
    text, points, _ = cv2.QRCodeDetector().detectAndDecode(sheet)
    assert text == found.name.code()
    assert points.reshape(-1, 2).min(axis=0) / 4 == pytest.approx((40.0, 140.0), abs=1.0)


def test_one_hidden_corner_is_no_matter_two_are() -> None:
    """Three marks are enough; with two the photograph is refused and the remedy says why."""
    picture = rendered()[0].copy()
    found = find_placard(picture)
    assert found is not None
    corners = found.to_photo([(20.0, 20.0), (277.0, 190.0)])
    for shown, (x, y) in enumerate(corners):
        cv2.circle(picture, (round(x), round(y)), 60, (120, 90, 60), -1)
        if shown == 0:
            again = find_placard(picture)
            assert again is not None
            assert again.markers == (27, 29, 31)
            assert again.to_photo([(148.0, 105.0)])[0] == pytest.approx(found.to_photo([(148.0, 105.0)])[0], abs=3)
    with pytest.raises(BadPhotograph, match="Only 2 of the placard's four"):
        find_placard(picture)


def test_a_hidden_code_is_said_so() -> None:
    """A sheet whose code lies under something is refused, not guessed."""
    picture = rendered()[0].copy()
    found = find_placard(picture)
    assert found is not None
    cv2.fillPoly(picture, [np.array(found.window("code"), np.int32)], (90, 70, 50))
    with pytest.raises(BadPhotograph, match="code cannot be read"):
        find_placard(picture)


def test_two_placards_in_one_picture_are_refused() -> None:
    """Two sheets side by side cannot be told apart."""
    picture = rendered()[0]
    with pytest.raises(BadPhotograph, match="Two placards"):
        find_placard(np.hstack([picture, picture]))


def test_a_mirrored_picture_shows_no_placard() -> None:
    """Marks seen in a mirror are no marks: nothing is filed by them."""
    assert find_placard(np.ascontiguousarray(rendered()[0][:, ::-1])) is None


def test_a_bent_sheet_is_refused_or_warned_of() -> None:
    """A corner that is folded over by 12 mm is seen in the misfit."""
    picture = rendered()[0]
    rows, columns = np.mgrid[0:1200, 0:1600].astype(np.float32)
    lifted = 60 * np.clip((rows - 850) / 350, 0, 1) * np.clip((columns - 1150) / 450, 0, 1)
    bent = cv2.remap(picture, columns, rows - lifted, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    found = find_placard(bent)
    assert found is not None
    assert found.misfit_mm > 1.5


@pytest.mark.parametrize("colour", COLOURS)
def test_a_tile_of_any_finish_stands_out_from_the_paper(colour: str) -> None:
    """From black to titanium white, the outline of a tile on white paper is right within 3.5 mm.

    A soft shadow may widen it; the area that is read lies 8 % inside, which is 5 mm here.
    """
    tile = Tile(colour, 198.0, 86.0, 70.0, 76.0, (COLOURS[colour],), seed=3)
    picture, _ = small(tiles=(tile,))
    found = find_placard(picture)
    assert found is not None
    outline = tile_outline(picture, found)
    assert outline is not None
    corners = np.array(outline) + np.array(PLAIN.placard_mm)
    assert corners.min(axis=0) == pytest.approx((198.0, 86.0), abs=3.5)
    assert corners.max(axis=0) == pytest.approx((268.0, 162.0), abs=3.5)


def test_an_empty_window_has_no_outline() -> None:
    """Bare paper is not taken for a white tile."""
    picture, _ = small(tiles=())
    found = find_placard(picture)
    assert found is not None
    assert tile_outline(picture, found) is None


def saved(folder: Path, scene: Scene, name: str = "photograph.jpg") -> tuple[Path, dict[str, Any]]:
    picture, truth = render_scene(scene)
    path = folder / name
    path.write_bytes(jpeg_bytes(picture, scene))
    return path, truth


@pytest.mark.parametrize("size_px", [(1600, 1200), (3200, 2400)])
def test_chart_and_tile_are_read_without_a_click(tmp_path: Path, size_px: tuple[int, int]) -> None:
    """The reading carries the record's name and the tile's colour within the bar for rendered scenes."""
    path, truth = saved(tmp_path, dataclasses.replace(PLAIN, size_px=size_px))
    found = read_placard_photo(path, edition="before-2014")
    assert found is not None
    assert found.name.record == "T4"
    assert found.outlined
    assert np.abs(np.array(found.reading.chart.corners) - truth["chart"]["corners"]).max() < size_px[0] / 400
    area = found.reading.areas[0]
    assert area.name == "tile"
    error = de2000_pairs(np.array([truth["tiles"][0]["lab"]]), np.array([area.lab.as_list()]))[0]
    assert error < 4.5
    assert error < area.uncertainty_de00


def test_a_photograph_without_a_placard_is_none(tmp_path: Path) -> None:
    """No placard is no trouble of this reader's: the caller says what to do."""
    path, _ = saved(tmp_path, demo_scenes()[0])
    assert read_placard_photo(path) is None


def test_a_placard_without_its_chart_is_refused(tmp_path: Path) -> None:
    """The sheet's own print is never taken for a chart."""
    path, _ = saved(tmp_path, dataclasses.replace(PLAIN, chart=None))
    with pytest.raises(NoChart):
        read_placard_photo(path)


def test_an_empty_window_is_refused_for_a_tile_and_no_matter_for_a_cast(tmp_path: Path) -> None:
    """Paper is never filed as a tile's colour; a cast too large for the sheet is filed without an area."""
    path, _ = saved(tmp_path, dataclasses.replace(PLAIN, tiles=()))
    with pytest.raises(BadPhotograph, match="Nothing lies in the tile's window"):
        read_placard_photo(path)
    path, _ = saved(tmp_path, dataclasses.replace(PLAIN, tiles=(), placard="C7"), "cast.jpg")
    found = read_placard_photo(path)
    assert found is not None
    assert (found.name.record, found.reading.areas, found.tile) == ("C7", (), ())
    assert "window-empty" in {one.code for one in found.reading.warnings}


def test_a_tile_larger_than_its_window_is_read_in_the_middle(tmp_path: Path) -> None:
    """Where no paper shows round the tile the middle of the window is read, and that is said."""
    tile = Tile("large", 170.0, 57.0, 138.0, 134.0, (COLOURS["chestnut"],), seed=4)
    path, truth = saved(tmp_path, dataclasses.replace(PLAIN, tiles=(tile,)))
    found = read_placard_photo(path, edition="before-2014")
    assert found is not None
    assert not found.outlined
    assert "tile-not-outlined" in {one.code for one in found.reading.warnings}
    lab = found.reading.areas[0].lab.as_list()
    assert de2000_pairs(np.array([truth["tiles"][0]["lab"]]), np.array([lab]))[0] < 4.5


@pytest.mark.parametrize("paper", ["letter", "a3"])
def test_every_size_of_sheet_is_recognised(paper: str) -> None:
    """The print itself, tilted, is read as the size it is."""
    made = placard_png(Placard(PlacardName("T5", uid_of("T5"), paper), "Test"), 4.0)
    flat = cv2.imdecode(np.frombuffer(made, np.uint8), cv2.IMREAD_COLOR)
    high, wide = flat.shape[:2]
    there = np.array([[200, 150], [1500, 100], [1420, 1050], [120, 980]], np.float32)
    tilt = cv2.getPerspectiveTransform(np.array([[0, 0], [wide, 0], [wide, high], [0, high]], np.float32), there)
    picture = cv2.warpPerspective(flat, tilt, (1600, 1200), flags=cv2.INTER_AREA, borderValue=(70, 90, 120))
    found = find_placard(picture)
    assert found is not None
    assert found.name == PlacardName("T5", uid_of("T5"), paper)
    assert found.misfit_mm < 0.6


def test_marks_that_are_set_otherwise_are_no_placard() -> None:
    """Somebody else's sheet may bear the same numbers: where they do not stand as ours do, it is none of ours."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    picture = np.full((1200, 1600, 3), 235, np.uint8)
    for number, (x, y) in zip((22, 29, 27, 31), ((200, 200), (900, 150), (950, 800), (250, 700)), strict=True):
        mark = cv2.aruco.generateImageMarker(dictionary, number, 120)
        picture[y : y + 120, x : x + 120] = mark[..., None]
    assert find_placard(picture) is None


@pytest.mark.skipif(not REAL.is_dir(), reason="the real photographs lie beside the repository")
def test_no_real_photograph_is_taken_for_one_with_a_placard() -> None:
    """Photographs of charts, some with other people's marks beside them, show no placard."""
    paths = [path for path in sorted(REAL.iterdir()) if path.suffix.lower() in (".jpg", ".png")]
    assert paths
    for path in paths:
        assert find_placard(open_photo(path).reduced(1600)[0]) is None, path.name
