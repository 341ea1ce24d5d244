"""A photograph as the chart in it says it should look: for showing, nothing is measured in it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from patina.colour.calibration import Calibration
from patina.colour.cards import calibrate_card, card_values
from patina.colour.chart_data import own_values, published
from patina.colour.chart_geometry import PLACES, homography, to_pixels
from patina.colour.encode import xyz_of
from patina.colour.frames import carried
from patina.colour.photograph import Photo, open_photo
from patina.colour.preview import Preview
from patina.colour.profile import SRGB_TO_XYZ
from patina.colour.reading import calibrate
from patina.colour.values import CARDS, Point

Array = np.ndarray[Any, np.dtype[Any]]

MOST_POINTS = 800  # along the longer side; these are then averaged, as light, into the small pixels
PATCH_HALF = 0.40  # of the distance of neighbouring patches


def corrected_preview(
    path: Path,
    columns: int,
    rows: int,
    *,
    chart: str | Path = "auto",
    edition: str = "unknown",
    corners: Sequence[Point] | None = None,
    card: str | Path | None = None,
    chart_frame: Path | None = None,
    flat_frame: Path | None = None,
) -> Preview:
    """The photograph, corrected by its chart or card, made to fit into columns × rows small pixels.

    Colours are those of the corrected CIELAB (D50, 2 degrees) as an sRGB screen shows them, cut to what
    it can show. chart, edition, corners, card, chart_frame, flat_frame: as in ``patina.colour.reading.read_photo``.
    Raises BadPhotograph, NoChart, BadChart.
    """
    photo = open_photo(path)
    if chart_frame is None:
        fit = _fit(photo, chart, edition, corners, card, flat_frame)
    else:
        other = open_photo(chart_frame)
        fit = carried(
            _fit(other, chart, edition, corners, card, flat_frame), other, photo, keep_flat=flat_frame is not None
        )
    light, _ = light_points(photo, fit, MOST_POINTS)
    scale = min(columns / photo.width, rows / photo.height, 1.0)
    wide, high = max(round(photo.width * scale), 1), max(round(photo.height * scale), 1)
    small = cv2.resize(light, (wide, high), interpolation=cv2.INTER_AREA)
    codes = screen_codes(corrected_lab(np.asarray(small), fit))
    return Preview(wide, high, codes.tobytes(), photo.width, photo.height)


def _fit(
    photo: Photo,
    chart: str | Path,
    edition: str,
    corners: Sequence[Point] | None,
    card: str | Path | None,
    flat: Path | None,
) -> Calibration:
    if chart in CARDS:
        return calibrate_card(photo, card_values(str(chart), card), corners, flat)
    return calibrate(photo, published(edition) if chart == "auto" else own_values(Path(chart)), corners, flat)


def light_points(photo: Photo, fit: Calibration, longest: int) -> tuple[Array, int]:
    """Linear light of every step-th pixel, evened out by the flat field where there is one: (rows,
    columns, 3) float64 with at most ``longest`` points a side, and the step."""
    step = max(1, -(-max(photo.width, photo.height) // longest))
    codes = photo.codes(0, 0, photo.width, photo.height)[step // 2 :: step, step // 2 :: step]
    light = photo.linear(np.ascontiguousarray(codes)).astype(np.float64)
    if fit.flat is not None:
        rows, columns = np.mgrid[0 : light.shape[0], 0 : light.shape[1]]
        light /= fit.flat.at(np.stack([columns, rows], axis=-1) * step + step // 2)[..., None]
    return light, step


def corrected_lab(light: Array, fit: Calibration) -> Array:
    """CIELAB (D50, 2 degrees) of linear light by the correction: (rows, columns, 3) float32."""
    rows_of_light = light.reshape(-1, 3)
    parts = [fit.correction.lab(rows_of_light[start : start + 32768]) for start in range(0, len(rows_of_light), 32768)]
    return np.concatenate(parts).reshape(light.shape).astype(np.float32)


def screen_codes(lab: Array) -> Array:
    """sRGB codes of CIELAB D50, (rows, columns, 3) uint8, cut to what a screen shows."""
    linear = np.clip(xyz_of(lab.astype(float)) @ np.linalg.inv(SRGB_TO_XYZ).T, 0, 1)
    value = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    return np.ascontiguousarray(np.round(255 * value).astype(np.uint8))


def patch_outlines(corners: Sequence[Point]) -> tuple[tuple[Point, ...], ...]:
    """The 24 patches of a chart as squares of four corners, in pixels; corners: centres of patches
    1, 6, 24, 19."""
    square = PATCH_HALF * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], float)
    points = to_pixels(homography(np.array(corners, float)), PLACES[:, None, :] + square[None])
    return tuple(tuple((float(x), float(y)) for x, y in patch) for patch in points)
