"""Measuring the patches of a found chart at the photograph's full resolution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.chart_data import PATCHES
from patina.colour.chart_geometry import homography, pitch_px, sample_points, to_pixels
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
        clipped=np.mean((codes >= photo.full_scale - clip_slack(photo)).any(axis=2), axis=1) >= CLIPPED_SHARE,
        crushed=np.mean((codes <= clip_slack(photo)).any(axis=2), axis=1) >= CLIPPED_SHARE,
        slope=_slopes(light.mean(axis=2), steps) / level,
    )


def edge_width(photo: Photo, corners: Array) -> float | None:
    """How wide the edge between a light patch and its frame is, as a share of the patches' distance.

    A sharp picture shows a few hundredths; None where no light patch stands out.
    """
    grid = homography(corners)
    steps = 120
    found = []
    for column, row in ((0, 3), (1, 3), (2, 3), (1, 0), (5, 0), (3, 2)):
        for direction in ((1, 0), (0, -1), (-1, 0), (0, 1)):
            line = np.array([column, row]) + np.linspace(0.2, 0.62, steps)[:, None] * np.array(direction)
            points = np.rint(to_pixels(grid, line)).astype(int)
            if np.any(points < 0) or np.any(points >= [photo.width, photo.height]):
                continue
            low, high = points.min(axis=0), points.max(axis=0) + 1
            box = photo.codes(int(low[0]), int(low[1]), int(high[0]), int(high[1])).max(axis=2).astype(np.float64)
            profile = np.minimum.accumulate(box[points[:, 1] - low[1], points[:, 0] - low[0]])
            drop = profile[0] - profile[-1]
            if drop < 0.15 * photo.full_scale:
                continue
            inside = (profile < profile[0] - 0.15 * drop) & (profile > profile[-1] + 0.15 * drop)
            found.append(float(inside.sum()) * 0.42 / steps)
    return float(np.median(found)) if len(found) >= 4 else None


def clip_slack(photo: Photo) -> int:
    """How many codes from either end of the range count as clipped."""
    return 1 if photo.full_scale == 255 else 128


def _slopes(light: Array, steps: int) -> Array:
    """Change of light across each patch along its steeper side."""
    table = light.reshape(PATCHES, steps, steps)
    ramp = np.linspace(-0.5, 0.5, steps)
    scale = float((ramp**2).sum())
    across = np.einsum("ij,j->i", table.mean(axis=1), ramp) / scale
    down = np.einsum("ij,j->i", table.mean(axis=2), ramp) / scale
    return np.hypot(across, down)
