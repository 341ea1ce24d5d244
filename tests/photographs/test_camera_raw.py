"""Camera RAW is opened linear, in the camera's own colours and without a tone curve.

The file is a small DNG (Adobe DNG specification 1.4) written tag by tag: a mosaic of red, green and
blue whose values are known. Opening it with LibRaw must give values in proportion to them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import tifffile

from patina.colour.photograph import open_photo

BLACK, WHITE = 0, 16383
# Light of four fields as shares of white, for red, green and blue filters.
FIELDS = np.array([[0.60, 0.60, 0.60], [0.30, 0.30, 0.30], [0.40, 0.20, 0.10], [0.05, 0.10, 0.20]])
SIDE = 96


def _mosaic() -> np.ndarray:
    """A 2 × 2 field picture behind an RGGB mosaic, (2 SIDE, 2 SIDE) uint16."""
    light = np.zeros((2 * SIDE, 2 * SIDE, 3))
    for n, rgb in enumerate(FIELDS):
        row, column = divmod(n, 2)
        light[row * SIDE : (row + 1) * SIDE, column * SIDE : (column + 1) * SIDE] = rgb
    mosaic = np.empty(light.shape[:2])
    mosaic[0::2, 0::2] = light[0::2, 0::2, 0]
    mosaic[0::2, 1::2] = light[0::2, 1::2, 1]
    mosaic[1::2, 0::2] = light[1::2, 0::2, 1]
    mosaic[1::2, 1::2] = light[1::2, 1::2, 2]
    return np.round(BLACK + mosaic * (WHITE - BLACK)).astype(np.uint16)


def _write_dng(path: Path) -> None:
    """Tags by number: the DNG specification's own names stand beside them."""
    one = (10_000, 10_000)
    matrix = [v for cell in np.eye(3).ravel() for v in (int(cell * 10_000), 10_000)]
    tags = [
        (33421, "H", 2, (2, 2), True),  # CFARepeatPatternDim
        (33422, "B", 4, bytes((0, 1, 1, 2)), True),  # CFAPattern: red, green, green, blue
        (50706, "B", 4, bytes((1, 4, 0, 0)), True),  # DNGVersion
        (50708, "s", 0, "Test camera", True),  # UniqueCameraModel
        (50714, "H", 1, BLACK, True),  # BlackLevel
        (50717, "H", 1, WHITE, True),  # WhiteLevel
        (50721, "2i", 9, tuple(matrix), True),  # ColorMatrix1
        (50728, "2I", 3, one * 3, True),  # AsShotNeutral: no channel is raised
        (50778, "H", 1, 21, True),  # CalibrationIlluminant1: D65
        (271, "s", 0, "Test", True),  # Make
        (272, "s", 0, "Test camera", True),  # Model
    ]
    tifffile.imwrite(path, _mosaic(), photometric=32803, extratags=tags, metadata=None, subfiletype=0)


def test_raw_is_linear_and_in_camera_colours(tmp_path: Path) -> None:
    """Twice the light gives twice the value, and each channel keeps its own share."""
    file = tmp_path / "tile.dng"
    _write_dng(file)
    photo = open_photo(file)
    assert (photo.width, photo.height) == (2 * SIDE, 2 * SIDE)
    whole = np.asarray(photo.linear(photo.codes(0, 0, photo.width, photo.height)), dtype=float)
    means = []
    for n in range(4):
        row, column = divmod(n, 2)
        inside = whole[row * SIDE + 16 : (row + 1) * SIDE - 16, column * SIDE + 16 : (column + 1) * SIDE - 16]
        means.append(inside.reshape(-1, 3).mean(axis=0))
    shares = np.array(means) / np.array(means)[0]
    assert np.allclose(shares, FIELDS / FIELDS[0], atol=0.02)
