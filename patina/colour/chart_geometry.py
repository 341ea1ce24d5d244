"""Where the patches of a chart lie, given the centres of its four corner patches."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from patina.colour.chart_data import COLUMNS, PATCHES, ROWS

Array = np.ndarray[Any, np.dtype[Any]]

# Places of patches 1, 6, 24 and 19 in steps of the grid (column, row).
CORNER_PLACES = np.array([[0, 0], [COLUMNS - 1, 0], [COLUMNS - 1, ROWS - 1], [0, ROWS - 1]], dtype=np.float32)
PLACES = np.array([(k % COLUMNS, k // COLUMNS) for k in range(PATCHES)], dtype=np.float64)


def homography(corners: Array) -> Array:
    """From grid steps to pixels. corners: shape (4, 2), centres of patches 1, 6, 24, 19."""
    return np.asarray(cv2.getPerspectiveTransform(CORNER_PLACES, np.asarray(corners, dtype=np.float32)), np.float64)


def to_pixels(grid: Array, points: Array) -> Array:
    """Grid points of shape (..., 2) to pixels."""
    flat = points.reshape(-1, 2)
    x = flat @ grid[:, :2].T + grid[:, 2]
    return (x[:, :2] / x[:, 2:]).reshape(points.shape)


def sample_points(corners: Array, half_width: float, steps: int) -> Array:
    """Points inside every patch: shape (24, steps * steps, 2) in pixels.

    half_width: of the sampled square, in steps of the grid.
    """
    ramp = np.linspace(-half_width, half_width, steps)
    inside = np.stack(np.meshgrid(ramp, ramp), axis=-1).reshape(-1, 2)
    return to_pixels(homography(corners), PLACES[:, None, :] + inside[None])


def outline(corners: Array, margin: float = 0.6) -> Array:
    """Four corners of the patches' field, ``margin`` steps outside the corner patches' centres."""
    c, r = COLUMNS - 1 + margin, ROWS - 1 + margin
    return to_pixels(homography(corners), np.array([[-margin, -margin], [c, -margin], [c, r], [-margin, r]]))


def pitch_px(corners: Array) -> float:
    """Smallest distance of neighbouring patch centres, in pixels."""
    centres = to_pixels(homography(corners), PLACES).reshape(ROWS, COLUMNS, 2)
    across = np.linalg.norm(np.diff(centres, axis=1), axis=-1).min()
    down = np.linalg.norm(np.diff(centres, axis=0), axis=-1).min()
    return float(min(across, down))


def is_plausible(corners: Array) -> bool:
    """Convex, not folded, and no more tilted than a readable chart can be."""
    quad = np.asarray(corners, dtype=np.float64)
    sides = np.roll(quad, -1, axis=0) - quad
    lengths = np.linalg.norm(sides, axis=1)
    if lengths.min() < 12.0:
        return False
    after = np.roll(sides, -1, axis=0)
    turns = (sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]) / (lengths * np.roll(lengths, -1))
    if not (np.all(turns > 0.25) or np.all(turns < -0.25)):
        return False
    across, down = (lengths[0] + lengths[2]) / (COLUMNS - 1), (lengths[1] + lengths[3]) / (ROWS - 1)
    return 0.3 < across / down < 3.3 and max(lengths[0] / lengths[2], lengths[2] / lengths[0]) < 2.5


def is_mirrored(corners: Array) -> bool:
    """Whether the numbering runs against the clock: a mirrored photograph."""
    quad = np.asarray(corners, dtype=np.float64)
    after = np.roll(quad, -1, axis=0)
    return bool(np.sum(quad[:, 0] * after[:, 1] - after[:, 0] * quad[:, 1]) < 0)
