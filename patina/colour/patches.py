"""Measuring the patches of a found chart at the photograph's full resolution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.chart_data import PATCHES
from patina.colour.chart_geometry import pitch_px, sample_points
from patina.colour.photograph import Photo

Array = np.ndarray[Any, np.dtype[Any]]

HALF_WIDTH = 0.20  # of the pitch; larger boxes begin to take in the frame
SAMPLES = 24  # a side; more pixels than that make the mean no better than the light is even
CLIPPED_SHARE = 0.02


@dataclass(frozen=True, eq=False)
class Patches:
    """What the camera saw of the 24 patches.

    linear: mean linear light in the file's RGB, shape (24, 3), 0 to 1. centres: pixels, shape
    (24, 2). noise: spread inside the patch as a share of its light, shape (24,). clipped, crushed:
    shape (24,), whether too many pixels lie at the top or bottom of the range. slope: largest change
    of light across a patch, as a share of it, shape (24,).
    """

    linear: Array
    centres: Array
    noise: Array
    clipped: Array
    crushed: Array
    slope: Array


def measure_patches(photo: Photo, corners: Array) -> Patches:
    """Means and faults of the patches. corners: shape (4, 2), pixels; the chart lies in the frame."""
    steps = int(np.clip(2 * HALF_WIDTH * pitch_px(corners), 4, SAMPLES))
    points = np.rint(sample_points(corners, HALF_WIDTH, steps)).astype(int)
    points = np.clip(points, 0, [photo.width - 1, photo.height - 1])
    low, high = points.min(axis=(0, 1)), points.max(axis=(0, 1)) + 1
    box = photo.codes(int(low[0]), int(low[1]), int(high[0]), int(high[1]))
    codes = box[points[..., 1] - low[1], points[..., 0] - low[0]]
    light = photo.linear(codes).astype(np.float64)
    mean = light.mean(axis=1)
    level = np.maximum(mean.mean(axis=1), 1e-4)
    return Patches(
        linear=mean,
        centres=points.mean(axis=1),
        noise=light.std(axis=1).mean(axis=1) / level,
        clipped=np.mean((codes >= photo.full_scale - _slack(photo)).any(axis=2), axis=1) >= CLIPPED_SHARE,
        crushed=np.mean((codes <= _slack(photo)).any(axis=2), axis=1) >= CLIPPED_SHARE,
        slope=_slopes(light.mean(axis=2), steps) / level,
    )


def _slack(photo: Photo) -> int:
    return 1 if photo.full_scale == 255 else 128


def _slopes(light: Array, steps: int) -> Array:
    """Change of light across each patch along its steeper side."""
    table = light.reshape(PATCHES, steps, steps)
    ramp = np.linspace(-0.5, 0.5, steps)
    scale = float((ramp**2).sum())
    across = np.einsum("ij,j->i", table.mean(axis=1), ramp) / scale
    down = np.einsum("ij,j->i", table.mean(axis=2), ramp) / scale
    return np.hypot(across, down)
