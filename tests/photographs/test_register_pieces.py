"""Two photographs of one piece laid over each other, and what is said of their being comparable."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest

from patina.colour.chart_data import published
from patina.colour.comparable import Circumstances, cautions, fall_change, light_cue
from patina.colour.patches import measure_patches
from patina.colour.photograph import facts_of, open_photo
from patina.colour.register import Registration, chart_hole, register
from patina.colour.values import ChartFinding, PhotoFacts
from patina.errors import NotComparable
from swatches.render import jpeg_bytes, render_scene
from swatches.scene import Tile
from swatches.scenes import demo_scenes

BEFORE = next(scene for scene in demo_scenes() if scene.name == "relief-before.jpg")
AFTER = next(scene for scene in demo_scenes() if scene.name == "relief-after.jpg")
VALUES = published("before-2014")


@cache
def taken(which: str = "before", **changes: Any) -> tuple[Any, dict[str, Any]]:
    scene = dataclasses.replace({"before": BEFORE, "after": AFTER}[which], size_px=(1000, 750), **changes)
    return render_scene(scene)


def laid_over(before: tuple[Any, dict[str, Any]], after: tuple[Any, dict[str, Any]]) -> Registration:
    holes = [[chart_hole(truth["chart"]["corners"])] for _, truth in (before, after)]
    return register(before[0], after[0], leave_out_before=holes[0], leave_out_after=holes[1])


def worst_px(found: Registration, before: dict[str, Any], after: dict[str, Any]) -> float:
    """Largest error, in pixels, of the relief's corners after mapping."""
    mapped = np.array(found.to_after(before["tiles"][0]["polygon"]))
    return float(np.linalg.norm(mapped - after["tiles"][0]["polygon"], axis=1).max())


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"tilt": 0.2, "roll_deg": 9.0},
        {"light": "A", "balance": (1.1, 0.85), "curve": "shoulder"},
        {"lamp_mm": (-300.0, 90.0, 500.0), "exposure": 0.6},
    ],
    ids=["as it was", "tilted", "by lamplight", "lit from the side, dark"],
)
def test_a_piece_whose_colour_has_changed_is_laid_over_itself(changes: dict[str, Any]) -> None:
    """Brown before, half green after, another angle or light: corners agree within 2 of 1000 pixels."""
    before, after = taken(), taken("after", **changes)
    found = laid_over(before, after)
    assert worst_px(found, before[1], after[1]) < 2.0
    assert found.misfit_px < 2.0
    assert found.inliers > 60


@pytest.mark.parametrize("times", [1, 2, 3])
def test_a_camera_on_its_side_is_no_hindrance(times: int) -> None:
    """Turned by quarter turns, the turn is found and stated."""
    picture, _ = taken()
    found = register(picture, np.ascontiguousarray(np.rot90(picture, times)))
    assert (found.turned_deg + 90 * times + 180) % 360 - 180 == pytest.approx(0, abs=0.2)


def test_the_mapping_agrees_with_a_known_one() -> None:
    """A picture warped by a homography made up here gives that homography back within half a pixel."""
    picture, _ = taken()
    high, wide = picture.shape[:2]
    made = np.array([[0.9, 0.12, 30.0], [-0.1, 0.95, 60.0], [5e-5, -4e-5, 1.0]])
    moved = cv2.warpPerspective(picture, made, (wide, high))
    found = register(picture, moved)
    points = np.array([[[200, 300], [800, 300], [800, 600], [200, 600]]], float)
    expected = cv2.perspectiveTransform(points, made)[0]
    assert np.array(found.to_after([(x, y) for x, y in points[0]])) == pytest.approx(expected, abs=0.5)


def test_another_piece_is_refused() -> None:
    """Two different pieces beside the same chart on the same bench are not laid over each other."""
    other = Tile("other", 16.0, 82.0, 200.0, 84.0, BEFORE.tiles[0].labs, (0.6, 0.4), grain_mm=14.0, relief=0.16, seed=5)
    with pytest.raises(NotComparable, match="features agree"):
        laid_over(taken(), taken("before", tiles=(other,), seed=77))


@pytest.mark.parametrize("spoil", ["mirrored", "blank", "noise"])
def test_a_useless_picture_is_refused(spoil: str) -> None:
    """A mirror image, an empty picture and noise are refused by name, none raises anything else."""
    picture, _ = taken()
    spoiled = {
        "mirrored": np.ascontiguousarray(picture[:, ::-1]),
        "blank": np.full_like(picture, 128),
        "noise": np.random.default_rng(1).integers(0, 255, picture.shape, dtype=np.uint8),
    }[spoil]
    with pytest.raises(NotComparable):
        register(picture, spoiled)


def circumstances(which: str, folder: Path, exif: dict[str, Any] | None = None, **changes: Any) -> Circumstances:
    picture, truth = taken(which, **changes)
    scene = dataclasses.replace({"before": BEFORE, "after": AFTER}[which], size_px=(1000, 750), **changes)
    path = folder / "one.jpg"
    path.write_bytes(jpeg_bytes(picture, scene))
    corners = truth["chart"]["corners"]
    cue = light_cue(measure_patches(open_photo(path), np.array(corners)), VALUES)
    chart = ChartFinding(True, tuple(map(tuple, corners)), "before-2014", loo_mean_de00=1.0)  # type: ignore[arg-type]
    facts = facts_of(path)
    return Circumstances(dataclasses.replace(facts, exif={**facts.exif, **(exif or {})}), chart, cue)


STILL = Registration((1.0, 0, 0, 0, 1.0, 0, 0, 0, 1.0), 500, 400, 0.5, (), 0.0, 1.0, 1.0)


def codes(before: Circumstances, after: Circumstances, registration: Registration = STILL) -> set[str]:
    return {one.code for one in cautions(before, after, registration)}


def test_photographs_taken_alike_bring_no_caution(tmp_path: Path) -> None:
    """Same camera, light and place, two years apart: nothing to say."""
    assert codes(circumstances("before", tmp_path), circumstances("before", tmp_path, seed=99)) == set()


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"light": "A", "balance": (1.12, 0.86)}, {"light-colour", "light-kind"}),
        ({"light": "LED"}, {"light-kind"}),
        ({"lamp_mm": (120.0, 300.0, 700.0)}, {"light-side"}),
        ({"camera": "phone", "curve": "shoulder"}, {"camera"}),
        ({"exposure": 0.6}, {"exposure"}),
    ],
    ids=["tungsten", "LED, white balanced away", "lamp on the other side", "other camera", "darker"],
)
def test_what_differs_is_named(tmp_path: Path, changes: dict[str, Any], expected: set[str]) -> None:
    """Each change of light, lamp or camera is found in the picture or its file."""
    found = codes(circumstances("before", tmp_path), circumstances("before", tmp_path, **changes))
    assert expected <= found
    if expected == {"light-side"}:
        assert found == expected


def test_a_lamp_that_was_moved_is_measured(tmp_path: Path) -> None:
    """The stated change of fall-off agrees with the one rendered: 0.18 in the logarithm per chart width."""
    before = circumstances("before", tmp_path).light
    after = circumstances("before", tmp_path, lamp_mm=(120.0, 300.0, 700.0)).light
    assert before is not None
    assert after is not None
    assert fall_change(before, after) == pytest.approx(0.18, abs=0.03)


def test_a_turned_chart_leaves_the_lamps_side_open(tmp_path: Path) -> None:
    """Where the chart lies another way the side of the light is not claimed to be the same."""
    assert BEFORE.chart is not None
    turned = dataclasses.replace(BEFORE.chart, turned=180)
    found = codes(circumstances("before", tmp_path), circumstances("before", tmp_path, chart=turned))
    assert "light-side-unknown" in found
    assert "light-side" not in found


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"turned_deg": 40.0}, "camera-turned"),
        ({"tilt_pct": 30.0}, "angle"),
        ({"scale": 2.0}, "distance"),
        ({"misfit_px": 6.0}, "not-flat"),
    ],
)
def test_another_place_of_the_camera_is_named(tmp_path: Path, change: dict[str, float], code: str) -> None:
    """Turn, angle, distance and a surface that is no plane each have their own caution."""
    before, after = circumstances("before", tmp_path), circumstances("before", tmp_path, seed=99)
    assert code in codes(before, after, dataclasses.replace(STILL, **change))


def test_settings_are_compared_by_their_exposure() -> None:
    """f/8, 1/50 s, ISO 100 against f/5.6, 1/50 s, ISO 100 is one stop (2 log2(8/5.6) = 1.03 EV)."""
    one = PhotoFacts("a", 1, 1, "JPEG", 8, None, None, "c", "l", {"exposure_s": "0.02", "f_number": "8", "iso": "100"})
    other = dataclasses.replace(one, exif={**one.exif, "f_number": "5.6"})
    chart = ChartFinding(True, edition="before-2014")
    found = cautions(Circumstances(one, chart), Circumstances(other, chart), STILL)
    assert [(c.code, round(c.size or 0, 2)) for c in found] == [("exposure", 1.03)]


def test_without_a_chart_no_colour_is_compared() -> None:
    """A missing chart is the first thing said."""
    facts = PhotoFacts("a", 1, 1, "JPEG", 8, camera="c", lens="l")
    found = cautions(Circumstances(facts, ChartFinding(True)), Circumstances(facts, ChartFinding(False)), STILL)
    assert [one.code for one in found] == ["chart-missing"]
    assert "later" in found[0].text
