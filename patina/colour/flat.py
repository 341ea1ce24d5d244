"""How evenly the light falls: from the plain paper or card that chart and surface lie on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.chart_data import COLUMNS, ROWS
from patina.colour.chart_geometry import homography, outline, to_pixels
from patina.colour.photograph import Photo
from patina.errors import BadPhotograph

Array = np.ndarray[Any, np.dtype[Any]]

MAP_SIDE_PX = 640
RING = (0.85, 1.1, 1.4)  # steps of the grid outside the corner patches' centres, where paper is looked for
MIN_SEEDS = 8
LEVELS = (0.10, 2.2)  # light of a paper or card, as a share of the chart's white
TINT = 0.28  # largest departure of a channel from the chart's white: brightened paper is bluer
SAME_TINT = 0.07  # how far places on one paper may differ in tint
CALM = 0.05  # spread of light in a small window, as a share
STEP = 0.025  # largest step of log light from pixel to pixel of the map on one paper
MIN_PLACES = 60
FIT_ERROR = 0.05
LIMITS = (0.5, 2.0)  # the field is not carried further than this from the light at the chart


@dataclass(frozen=True, eq=False)
class FlatField:
    """Light over the picture as a curved surface in the logarithm.

    terms: six numbers over (1, x, y, x², xy, y²), x and y in picture widths from the chart's middle.
    middle, scale: turn pixels into those. spread: brightest corner of the chart over the darkest,
    less 1. error: what the surface leaves, as a share. hull: outline of the paper seen, in pixels.
    """

    terms: Array
    middle: Array
    scale: float
    spread: float
    error: float
    places: int
    hull: Array

    def at(self, points: Array) -> Array:
        """Light at pixel positions, shape (..., 2), as a share of that at the chart's middle.

        Beyond the paper that was seen it stays as at the paper's edge: a curve carried further is a guess.
        """
        steps = self._held(np.asarray(points, dtype=np.float64) - self.middle) / self.scale
        return np.clip(np.exp(_terms(steps)[..., 1:] @ self.terms[1:]), *LIMITS)

    def _held(self, away: Array) -> Array:
        """Steps from the middle, cut where they leave the paper's outline."""
        edge = self.hull.astype(np.float64) - self.middle
        after = np.roll(edge, -1, axis=0)
        normal = np.stack([after[:, 1] - edge[:, 1], edge[:, 0] - after[:, 0]], axis=1)
        reach = np.einsum("ij,ij->i", normal, edge)
        if reach.sum() < 0:
            normal, reach = -normal, -reach
        if np.any(reach <= 0):  # the middle itself lies outside
            return away
        share = (away @ normal.T / reach).max(axis=-1)
        return away / np.maximum(share, 1.0)[..., None]

    def covers(self, point: Array) -> bool:
        """Whether a place in the picture lies within the paper that was seen."""
        return cv2.pointPolygonTest(self.hull.astype(np.float32), (float(point[0]), float(point[1])), False) >= 0


def _terms(steps: Array) -> Array:
    x, y = steps[..., 0], steps[..., 1]
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def paper_field(photo: Photo, corners: Array, white: Array) -> FlatField | None:
    """The light's fall over the plain paper or card around the chart, or None where none is seen.

    corners: centres of patches 1, 6, 24, 19. white: linear light of the white patch, shape (3,).
    """
    codes, factor = photo.reduced(MAP_SIDE_PX)
    light = photo.map_light(codes)
    grid = homography(corners)
    ring = np.array([to_pixels(grid, np.array(spot)) for spot in _ring()])
    seeds = np.rint((ring + 0.5) / factor - 0.5).astype(int)
    inside = np.all((seeds >= 2) & (seeds < np.array([light.shape[1], light.shape[0]]) - 2), axis=1)
    mask = _paper(light, seeds[inside], white)
    if mask is None:
        return None
    field = np.rint((outline(corners, 0.75) + 0.5) / factor - 0.5).astype(np.int32)
    cv2.fillConvexPoly(mask, field, 0)
    return _fitted(photo, light, mask, corners, factor)


def frame_field(photo: Photo, frame: Photo, corners: Array) -> FlatField:
    """The light's fall from a second photograph of plain card in the same place, light and focus.

    Raises BadPhotograph where the two pictures differ in size, or the second is no even surface.
    """
    if (photo.width, photo.height) != (frame.width, frame.height):
        raise BadPhotograph(
            f"The flat frame has {frame.width} × {frame.height} pixels, the photograph {photo.width} × {photo.height}.",
            "Take both with the same camera and settings.",
        )
    codes, factor = frame.reduced(MAP_SIDE_PX)
    light = cv2.GaussianBlur(frame.map_light(codes), (0, 0), 2.0)
    burnt = float(np.mean(codes >= 254))
    mask = np.ones(light.shape[:2], dtype=np.uint8)
    field = _fitted(frame, light, mask, corners, factor)
    if field is None or burnt > 0.02:
        raise BadPhotograph(
            "The flat frame does not show an even card over the whole picture.",
            "Photograph plain grey or white card that fills the frame, not burnt out.",
        )
    return field


def _ring() -> list[tuple[float, float]]:
    spots = []
    for margin in RING:
        spots += [(float(x), y) for x in np.linspace(0, COLUMNS - 1, 6) for y in (-margin, ROWS - 1 + margin)]
        spots += [(x, float(y)) for y in np.linspace(0, ROWS - 1, 4) for x in (-margin, COLUMNS - 1 + margin)]
    return spots


def _paper(light: Array, seeds: Array, white: Array) -> Array | None:
    """The paper that most seeds lie on, as a mask of the map, or None."""
    share = light / np.maximum(white, 1e-4).astype(np.float32)
    level = np.maximum(share.mean(axis=2), 1e-4)
    tint = share / level[..., None]
    mean = cv2.blur(level, (5, 5))
    spread = np.sqrt(np.maximum(cv2.blur(level * level, (5, 5)) - mean * mean, 0.0)) / mean
    good = (np.abs(tint - 1.0).max(axis=2) < TINT) & (level > LEVELS[0]) & (level < LEVELS[1]) & (spread < CALM)
    sown = seeds[good[seeds[:, 1], seeds[:, 0]]]
    if len(sown) < MIN_SEEDS:
        return None
    seed_tint = np.median(tint[sown[:, 1], sown[:, 0]], axis=0)
    good &= np.abs(tint - seed_tint).max(axis=2) < SAME_TINT
    barrier = np.zeros((light.shape[0] + 2, light.shape[1] + 2), dtype=np.uint8)
    barrier[1:-1, 1:-1] = ~good
    smooth = np.log(mean).astype(np.float32)
    grown = 0
    middle = float(np.median(smooth[sown[:, 1], sown[:, 0]]))
    for x, y in sown:
        if barrier[y + 1, x + 1] or abs(smooth[y, x] - middle) > 0.3:
            continue
        count, *_ = cv2.floodFill(
            smooth, barrier, (int(x), int(y)), 0.0, STEP, STEP, 4 | (2 << 8) | cv2.FLOODFILL_MASK_ONLY
        )
        grown += int(count > MIN_PLACES)
    mask = (barrier[1:-1, 1:-1] == 2).astype(np.uint8)
    return cv2.erode(mask, np.ones((5, 5), np.uint8)) if grown else None


def _fitted(photo: Photo, light: Array, mask: Array, corners: Array, factor: float) -> FlatField | None:
    rows, columns = np.nonzero(mask)
    if len(rows) < MIN_PLACES:
        return None
    thin = slice(None, None, max(1, len(rows) // 3000))
    points = (np.stack([columns[thin], rows[thin]], axis=1) + 0.5) * factor - 0.5
    middle = corners.mean(axis=0)
    if not _all_round(points, corners):
        return None
    scale = float(max(photo.width, photo.height))
    design = _terms((points - middle) / scale)
    logs = np.log(np.maximum(light[rows[thin], columns[thin]] @ photo.profile.matrix[1], 1e-5))
    keep = np.ones(len(logs), dtype=bool)
    ridge = np.diag([0, 0, 0, 1.0, 1.0, 1.0]) * 1e-4 * len(logs)
    for _ in range(4):
        used = design[keep]
        terms = np.linalg.solve(used.T @ used + ridge, used.T @ logs[keep])
        rest = np.abs(logs - design @ terms)
        keep = rest <= max(2.5 * float(np.median(rest)), 0.01)
    error = float(np.sqrt(np.mean(rest[keep] ** 2)))
    if error > FIT_ERROR:
        return None
    field = FlatField(
        terms,
        middle,
        scale,
        0.0,
        error,
        int(keep.sum()),
        cv2.convexHull(points[keep].astype(np.float32)).reshape(-1, 2),
    )
    light_at_corners = field.at(outline(corners, 0.0))
    spread = float(light_at_corners.max() / light_at_corners.min() - 1.0)
    return FlatField(terms, middle, scale, spread, error, field.places, field.hull)


def _all_round(points: Array, corners: Array) -> bool:
    """Whether paper lies on three sides of the chart at least."""
    steps = to_pixels(np.linalg.inv(homography(corners)), points)
    x, y = steps[:, 0], steps[:, 1]
    sides = (x < -0.6, x > COLUMNS - 0.4, y < -0.6, y > ROWS - 0.4)
    return sum(int(side.mean() > 0.02) for side in sides) >= 3
