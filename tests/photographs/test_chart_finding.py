"""Finding the chart in real photographs and in changed copies; refusing what must not be measured."""

from __future__ import annotations

import numpy as np
import pytest
from photographs import (
    FOLDER,
    TOLERANCE_STEPS,
    changed_copies,
    corners_by_eye,
    needs_photographs,
    off_by,
    opened,
    painted,
    shuffled,
    smaller,
)
from PIL import Image

from patina.colour.chart_geometry import pitch_px
from patina.colour.photograph import open_photo
from patina.colour.reading import read_photo
from patina.errors import BadChart, BadPhotograph, NoChart

pytestmark = needs_photographs
NAMES = sorted(corners_by_eye())
LEAF, PAPER, DARK = (90, 110, 60), (220, 215, 205), (70, 50, 40)
# What stands for a chart that must not be measured: (what was done, covered box, colour).
COVERS = [
    ("left half under a leaf", (-0.6, -0.6, 2.5, 3.6), LEAF),
    ("upper half under paper", (-0.6, -0.6, 5.6, 1.5), PAPER),
    ("a third under something dark", (3.6, -0.6, 5.6, 3.6), DARK),
    ("a corner under a leaf", (3.6, -0.6, 5.6, 2.5), LEAF),
    ("the greys under paper", (-0.6, 2.5, 5.6, 3.6), PAPER),
]


@pytest.mark.parametrize("name", NAMES)
def test_chart_is_found(name):
    """In each real photograph the chart is found where a person sees it, the right way round."""
    reading = read_photo(FOLDER / name)
    assert reading.chart.found and not reading.chart.mirrored
    assert off_by(reading.chart.corners, corners_by_eye()[name]) < TOLERANCE_STEPS


@pytest.mark.parametrize("name", NAMES[::2])
def test_chart_is_found_in_changed_copies(name, tmp_path):
    """Turned, mirrored, shrunk, blurred, dark, warm or noisy, at most one copy in nine is refused, none is read wrong;
    a mirrored picture is said to be one."""
    refused = []
    for done, picture, corners in changed_copies(*smaller(opened(name), corners_by_eye()[name])):
        path = tmp_path / "copy.png"
        picture.save(path, compress_level=1)
        try:
            chart = read_photo(path).chart
        except BadPhotograph:
            refused.append(done)
            continue
        assert off_by(chart.corners, corners) < TOLERANCE_STEPS, done
        assert chart.mirrored == (done == "mirrored"), done
    assert len(refused) <= 1, refused


@pytest.mark.parametrize(("done", "box", "colour"), COVERS, ids=[cover[0] for cover in COVERS])
@pytest.mark.parametrize("name", NAMES[::4])
def test_half_covered_chart_is_refused(name, done, box, colour, tmp_path):
    """A chart of which a corner, a third or a half is covered is refused, never read as if it were whole."""
    path = tmp_path / "covered.png"
    painted(*smaller(opened(name), corners_by_eye()[name]), box, colour).save(path, compress_level=1)
    with pytest.raises((BadChart, NoChart)):
        read_photo(path)


@pytest.mark.parametrize("name", NAMES[1::3])
def test_covered_patch_is_left_out_and_named(name, tmp_path):
    """One covered patch is left out of the correction and named; the rest is read."""
    path = tmp_path / "covered.png"
    painted(*smaller(opened(name), corners_by_eye()[name]), (1.5, 0.5, 2.5, 1.5), PAPER).save(path, compress_level=1)
    reading = read_photo(path)
    assert 9 in [number for number, why in reading.chart.rejected if why == "covered or uneven"]
    assert reading.chart.loo_de00[8] is None
    assert "covered" in [caution.code for caution in reading.warnings]


@pytest.mark.parametrize("name", NAMES[1::3])
def test_picture_without_chart(name, tmp_path):
    """Where the chart is painted over, or its patches have changed places, no chart is reported."""
    whole = painted(*smaller(opened(name), corners_by_eye()[name]), (-1.1, -1.1, 6.1, 4.1), (120, 110, 100))
    for picture in (whole, shuffled(*smaller(opened(name), corners_by_eye()[name]))):
        path = tmp_path / "none.png"
        picture.save(path, compress_level=1)
        with pytest.raises(BadPhotograph):
            read_photo(path)


def test_leaf_over_the_chart_is_refused():
    """A real photograph with a leaf over a third of its chart is refused, and the sentence says why."""
    with pytest.raises(BadChart) as trouble:
        read_photo(FOLDER / "plantcv_partial.png")
    assert "covered" in trouble.value.what and trouble.value.remedy


@pytest.mark.parametrize("name", NAMES[::2])
def test_corners_given_by_hand(name):
    """Corners a person gives are moved to the patches' centres; in another order they are refused."""
    by_eye = corners_by_eye()[name]
    found = np.array(read_photo(FOLDER / name).chart.corners)
    given = read_photo(FOLDER / name, corners=[tuple(c) for c in by_eye]).chart
    assert np.linalg.norm(np.array(given.corners) - found, axis=1).max() < 0.08 * pitch_px(by_eye)
    for order in ([2, 3, 0, 1], [1, 0, 3, 2], [3, 2, 1, 0]):
        with pytest.raises(BadChart):
            read_photo(FOLDER / name, corners=[tuple(c) for c in by_eye[order]])


def test_impossible_corners_are_refused():
    """Corners outside the frame, on one point, crossed, or beside the chart are refused with a sentence."""
    name = NAMES[0]
    photo = open_photo(FOLDER / name)
    right = corners_by_eye()[name]
    far = [(0.0, 0.0), (photo.width + 5.0, 0.0), (photo.width + 5.0, 400.0), (0.0, 400.0)]
    for corners in (far, [(9.0, 9.0)] * 4, right[[0, 2, 1, 3]], [(5, 5), (130, 5), (130, 85), (5, 85)], right[:3]):
        with pytest.raises(BadChart):
            read_photo(FOLDER / name, corners=[tuple(map(float, c)) for c in corners])


def test_two_charts_are_said(tmp_path):
    """Two charts in one picture: one is used, and that there are two is said."""
    image = opened("plantcv_mini_displayp3.jpg")
    both = Image.new("RGB", (2 * image.width, image.height))
    both.paste(image, (0, 0))
    both.paste(image, (image.width, 0))
    path = tmp_path / "both.png"
    both.save(path)
    codes = [caution.code for caution in read_photo(path).warnings]
    assert "chart-twice" in codes
