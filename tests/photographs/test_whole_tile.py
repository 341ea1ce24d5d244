"""Whole tiles found by their outline, and a faded chart, in rendered and real photographs."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest
from photographs import corners_by_eye, needs_photographs, opened, smaller
from PIL import Image

from patina.colour.chart_geometry import outline
from patina.colour.outline import tile_around
from patina.colour.photograph import open_photo
from patina.colour.reading import read_photo
from patina.colour.values import AreaSpec
from patina.errors import PatinaError, Refused

SWATCHES = Path(__file__).resolve().parents[2] / "swatches"


def spot_in(rect: list[float]) -> tuple[float, float, float, float]:
    """The middle half of a rectangle."""
    x, y, width, height = rect
    return x + width / 4, y + height / 4, width / 2, height / 2


def test_tile_is_found_by_its_outline():
    """From a spot on a tile its outline is found: nothing beside the tile, four fifths of it or more; at most one tile
    of the rendered scenes is refused, and none is found wrong without being refused when it is read."""
    truth = json.loads((SWATCHES / "truth.json").read_text())
    found = refused = 0
    for name, scene in truth.items():
        photo = open_photo(SWATCHES / name)
        for tile in scene["tiles"]:
            x, y, width, height = spot_in(tile["rect"])
            spot = np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])
            spec = AreaSpec(tile["name"], rect=(x, y, width, height), whole_tile=True)
            try:
                quad = tile_around(photo, spec, spot).astype(np.float32)
                if (
                    cv2.intersectConvexConvex(quad, outline(np.array(scene["chart"]["corners"])).astype(np.float32))[0]
                    > 0
                ):
                    with pytest.raises(Refused):
                        read_photo(SWATCHES / name, areas=[spec])
                    raise Refused("lies on the chart", "")
            except PatinaError:
                refused += 1
                continue
            true = np.array(tile["polygon"], dtype=np.float32)
            shared = cv2.intersectConvexConvex(cv2.convexHull(quad), cv2.convexHull(true))[0]
            assert shared > 0.98 * cv2.contourArea(quad), (name, tile["name"])
            assert shared > 0.75 * cv2.contourArea(true), (name, tile["name"])
            found += 1
    assert found >= 10 and refused <= 1


def test_no_tile_on_plain_ground(tmp_path):
    """A spot on ground without an outline is refused."""
    path = tmp_path / "plain.png"
    Image.new("RGB", (400, 300), (120, 90, 70)).save(path)
    with pytest.raises(Refused):
        read_photo(path, chart="none", areas=[AreaSpec("spot", rect=(150, 100, 60, 60), whole_tile=True)])


@needs_photographs
def test_faded_chart_is_said(tmp_path):
    """A chart whose colours have lost four tenths of their strength is read with a warning."""
    image, corners = smaller(opened("arcu_classic_06.jpg"), corners_by_eye()["arcu_classic_06.jpg"])
    light = np.asarray(image).astype(float)
    mask = np.zeros(light.shape[:2], dtype=np.uint8)
    cv2.fillConvexPoly(mask, outline(corners).astype(np.int32), 1)
    pale = np.where(mask[..., None] > 0, 0.6 * light + 0.4 * light.mean(axis=2, keepdims=True), light)
    path = tmp_path / "faded.png"
    Image.fromarray(pale.astype(np.uint8)).save(path)
    codes = {caution.code for caution in read_photo(path).warnings}
    assert codes & {"chart-pale", "chart-misfit"}
    image.save(path)
    assert not {caution.code for caution in read_photo(path).warnings} & {"chart-pale", "chart-misfit"}
