"""Patch centres from the patches' own outlines: quick and exact where patches stand out."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from patina.colour.chart_data import PATCHES
from patina.colour.chart_geometry import CORNER_PLACES, PLACES, homography, pitch_px, to_pixels

Array = np.ndarray[Any, np.dtype[Any]]

ALIKE = 14.0  # codes: how far the pixels of one patch may differ from its middle
REACH = 0.62  # half width of the window around a patch, in steps of the grid
SIZE = (0.30, 1.0)  # area of a patch in squared steps
OFF = 0.12  # steps of the grid: a centre farther than this from the fitted grid is not believed
MIN_CENTRES = 10


def centred(picture: Array, corners: Array, rounds: int = 2) -> Array | None:
    """Corners moved so that the grid passes through the middles of the patches, or None where too few
    patches stand out. picture: uint8 RGB. corners: shape (4, 2), within a fifth of a step.
    """
    calm = _calm(picture, corners)
    for _ in range(rounds):
        moved = _once(calm, corners)
        if moved is None:
            return None
        corners = moved
    return corners


def standing_out(picture: Array, corners: Array) -> Array:
    """Which patches stand out from their frame at their place, shape (24,), bool.

    A patch that something lies over does not; nor do dark ones, and in a blurred picture few do.
    picture: uint8 RGB. corners: shape (4, 2).
    """
    calm, grid = _calm(picture, corners), homography(corners)
    back = np.linalg.inv(grid)
    middles = [_middle(calm, grid, number) for number in range(PATCHES)]
    return np.array(
        [m is not None and np.linalg.norm(to_pixels(back, m) - PLACES[k]) < OFF for k, m in enumerate(middles)]
    )


def _calm(picture: Array, corners: Array) -> Array:
    """The picture without its noise, as far as the patches' size allows."""
    return cv2.medianBlur(picture, 5) if pitch_px(corners) > 24 else picture


def _once(picture: Array, corners: Array) -> Array | None:
    grid = homography(corners)
    found = [_middle(picture, grid, number) for number in range(PATCHES)]
    seen = np.array([number for number, middle in enumerate(found) if middle is not None])
    if len(seen) < MIN_CENTRES:
        return None
    middles = np.array([found[number] for number in seen])
    places = PLACES[seen]
    keep = np.ones(len(seen), dtype=bool)
    for _ in range(3):
        if keep.sum() < MIN_CENTRES or np.ptp(places[keep], axis=0).min() < 2:
            return None
        fitted, _ = cv2.findHomography(places[keep], middles[keep], 0)
        if fitted is None:
            return None
        fitted = np.asarray(fitted, dtype=np.float64)
        off = np.linalg.norm(to_pixels(np.linalg.inv(fitted), middles) - places, axis=1)
        keep = off < OFF
    if keep.sum() < MIN_CENTRES:
        return None
    return to_pixels(fitted, CORNER_PLACES.astype(np.float64))


def _middle(picture: Array, grid: Array, number: int) -> Array | None:
    """Centre of the even spot at a patch's place, or None where none stands out."""
    place = PLACES[number]
    window = to_pixels(grid, place + REACH * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]))
    low = np.maximum(np.floor(window.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(window.max(axis=0)).astype(int) + 1, [picture.shape[1], picture.shape[0]])
    centre = to_pixels(grid, place)
    if np.any(centre - low < 3) or np.any(high - centre < 4):
        return None
    part = picture[low[1] : high[1], low[0] : high[0]].astype(np.float32)
    x, y = np.rint(centre - low).astype(int)
    colour = np.median(part[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3), axis=0)
    alike = (np.abs(part - colour).max(axis=2) < ALIKE).astype(np.uint8)
    alike = cv2.morphologyEx(alike, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    _, labels, stats, centres = cv2.connectedComponentsWithStats(alike, connectivity=4)
    label = labels[y, x]
    if label == 0:
        return None
    left, top, width, height, area = stats[label]
    if left == 0 or top == 0 or left + width == part.shape[1] or top + height == part.shape[0]:
        return None
    step_area = float(abs(np.linalg.det(_steps(grid, place))))
    if not SIZE[0] * step_area < area < SIZE[1] * step_area or area < 0.72 * width * height * _upright(grid, place):
        return None
    return np.asarray(centres[label] + low, dtype=np.float64)


def _steps(grid: Array, place: Array) -> Array:
    """Pixels per step of the grid along columns and rows at a place: shape (2, 2)."""
    near = to_pixels(grid, place + np.array([[-0.5, 0], [0.5, 0], [0, -0.5], [0, 0.5]]))
    return np.array([near[1] - near[0], near[3] - near[2]])


def _upright(grid: Array, place: Array) -> float:
    """Share of its upright box that a square of the grid fills at a place: 1 when it lies straight."""
    steps = _steps(grid, place)
    box = np.abs(steps).sum(axis=0)
    return float(abs(np.linalg.det(steps)) / max(box[0] * box[1], 1e-9))
