"""How evenly the light falls: from white paper or card around the chart, or from a flat frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.chart_data import COLUMNS, ROWS
from patina.colour.chart_geometry import homography, to_pixels
from patina.colour.photograph import Photo

Array = np.ndarray[Any, np.dtype[Any]]

RINGS = (0.9, 1.2, 1.5, 1.9, 2.4)  # steps of the grid outside the corner patches' centres
SPOT = 0.14  # half width of a spot in steps of the grid
MIN_SPOTS = 10
PAPER_LEVEL = (0.55, 1.9)  # of the chart's white
PAPER_TINT = 0.28  # largest departure of a channel ratio from the chart's white: brightened paper is bluer
SAME_PAPER = 0.08  # how far spots of one paper may differ in tint
PAPER_NOISE = 0.05
FIT_ERROR = 0.05
LIMITS = (0.6, 1.6)  # the field is not carried further than this from the light at the chart


@dataclass(frozen=True, eq=False)
class FlatField:
    """Light over the picture as a plane in the logarithm. plane: (a, b, c) of log light = a + b x +
    c y with x, y in grid steps from the chart's middle. spread: light at the brightest corner of
    the chart over the darkest, less 1. error: what the plane leaves, as a share.
    """

    plane: Array
    to_grid: Array
    spread: float
    error: float
    spots: int
    tint_drift: float

    def at(self, points: Array) -> Array:
        """Light at pixel positions, shape (..., 2), as a share of that at the chart's middle."""
        steps = to_pixels(self.to_grid, np.asarray(points, dtype=np.float64)) - _MIDDLE
        light = np.exp(steps @ self.plane[1:])
        return np.clip(light, *LIMITS)


_MIDDLE = np.array([(COLUMNS - 1) / 2.0, (ROWS - 1) / 2.0])


def paper_field(photo: Photo, corners: Array, white: Array) -> FlatField | None:
    """The light's fall over white paper around the chart, or None where no paper is seen there.

    corners: centres of patches 1, 6, 24, 19. white: linear light of the white patch, shape (3,).
    """
    grid = homography(corners)
    spots = _ring_spots()
    found = []
    for spot in spots:
        light = _spot_light(photo, grid, spot)
        if light is not None and _is_paper(light, white):
            mean = light.mean(axis=0)
            found.append((*spot, float(np.log(mean @ photo.profile.matrix[1])), *(mean / white)))
    if len(found) < MIN_SPOTS:
        return None
    table = np.array(found)
    tints = table[:, 3:] / table[:, 3:].mean(axis=1, keepdims=True)
    table = table[np.abs(tints - np.median(tints, axis=0)).max(axis=1) < SAME_PAPER]
    steps = table[:, :2] - _MIDDLE
    if len(steps) < MIN_SPOTS or not _all_round(steps):
        return None
    design = np.concatenate([np.ones((len(steps), 1)), steps], axis=1)
    keep = np.ones(len(steps), dtype=bool)
    for _ in range(3):
        plane, *_ = np.linalg.lstsq(design[keep], table[keep, 2], rcond=None)
        rest = np.abs(table[:, 2] - design @ plane)
        keep = rest <= max(2.5 * float(np.median(rest)), 0.01)
    error = float(np.sqrt(np.mean((table[keep, 2] - design[keep] @ plane) ** 2)))
    if keep.sum() < MIN_SPOTS or error > FIT_ERROR or not _all_round(steps[keep]):
        return None
    corner_light = np.abs(plane[1:]) @ np.array([COLUMNS - 1, ROWS - 1])
    ratio = table[keep, 3] / table[keep, 5]
    return FlatField(
        plane, np.linalg.inv(grid), float(np.expm1(corner_light)), error, int(keep.sum()), float(np.ptp(np.log(ratio)))
    )


def _ring_spots() -> list[tuple[float, float]]:
    spots = []
    for margin in RINGS:
        across = np.linspace(-margin, COLUMNS - 1 + margin, 8)
        down = np.linspace(-margin, ROWS - 1 + margin, 6)[1:-1]
        spots += [(float(x), y) for x in across for y in (-margin, ROWS - 1 + margin)]
        spots += [(x, float(y)) for y in down for x in (-margin, COLUMNS - 1 + margin)]
    return spots


def _spot_light(photo: Photo, grid: Array, spot: tuple[float, float]) -> Array | None:
    offsets = np.array([[-SPOT, -SPOT], [SPOT, -SPOT], [SPOT, SPOT], [-SPOT, SPOT]])
    box = to_pixels(grid, np.array(spot) + offsets)
    low, high = np.floor(box.min(axis=0)).astype(int), np.ceil(box.max(axis=0)).astype(int) + 1
    if np.any(low < 0) or high[0] > photo.width or high[1] > photo.height or np.any(high - low < 3):
        return None
    codes = photo.codes(int(low[0]), int(low[1]), int(high[0]), int(high[1]))
    step = max(1, min(codes.shape[:2]) // 16)
    codes = codes[::step, ::step]
    if np.mean(codes >= photo.full_scale) > 0.02:
        return None
    return photo.linear(codes).reshape(-1, 3).astype(np.float64)


def _is_paper(light: Array, white: Array) -> bool:
    ratio = light.mean(axis=0) / np.maximum(white, 1e-4)
    level = float(ratio.mean())
    tint = float(np.max(np.abs(ratio / level - 1.0)))
    noise = float(np.median(light.std(axis=0) / np.maximum(light.mean(axis=0), 1e-4)))
    return PAPER_LEVEL[0] < level < PAPER_LEVEL[1] and tint < PAPER_TINT and noise < PAPER_NOISE


def _all_round(steps: Array) -> bool:
    """Whether the spots lie on both sides of the chart in both directions."""
    across, down = steps[:, 0] / COLUMNS, steps[:, 1] / ROWS
    sides = (across < -0.4).sum(), (across > 0.4).sum(), (down < -0.4).sum(), (down > 0.4).sum()
    return min(sides) >= 2
