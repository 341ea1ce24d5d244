"""Laying two photographs of one piece over each other, and judging whether they may be compared.

The pictures are matched by small features of the surface, whatever its colour has become. The
result maps one plane on another: on a strongly modelled piece it holds near the plane that carried
most features, and ``misfit_px`` says how well.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.chart_geometry import outline
from patina.colour.values import Point
from patina.errors import NotComparable

Array = np.ndarray[Any, np.dtype[Any]]

LONG_SIDE_PX = 1400
MIN_INLIERS = 25
MIN_INLIER_SHARE = 0.12
RATIO = 0.8  # best against second-best match; Source: [LOWE2004]
REACH_PX = 3.0


@dataclass(frozen=True, slots=True)
class Registration:
    """How a later photograph lies on an earlier one.

    before_to_after: homography, nine numbers by rows, between pixels of the two upright pictures.
    matches: features that look alike; inliers: those that agree on the mapping. misfit_px: median
    distance of the inliers after mapping, in pixels of the earlier picture. covered: corners, in the
    earlier picture, of the field that the inliers span. turned_deg: turn of the camera. scale: size
    in the later picture over size in the earlier. tilt_pct: change of scale across the field, as a
    sign of another angle of view.
    """

    before_to_after: tuple[float, ...]
    matches: int
    inliers: int
    misfit_px: float
    covered: tuple[Point, ...]
    turned_deg: float
    scale: float
    tilt_pct: float

    @property
    def matrix(self) -> Array:
        """The homography as an array (3, 3)."""
        return np.array(self.before_to_after, dtype=np.float64).reshape(3, 3)

    def to_after(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points of the earlier picture in the later one."""
        moved = cv2.perspectiveTransform(np.array([points], float), self.matrix)[0]
        return tuple((float(x), float(y)) for x, y in moved)

    def covers(self, points: Sequence[Point]) -> bool:
        """Whether all points lie in the field that the inliers span."""
        field = np.array(self.covered, np.float32)
        return all(cv2.pointPolygonTest(field, (float(x), float(y)), False) >= 0 for x, y in points)


def register(
    before: Array,
    after: Array,
    *,
    piece: Sequence[Point] | None = None,
    leave_out_before: Sequence[Array] = (),
    leave_out_after: Sequence[Array] = (),
) -> Registration:
    """Find the mapping from one picture to the other, both (height, width, 3) uint8 RGB.

    piece: outline of the piece in the earlier picture; without it the whole picture is searched.
    leave_out_*: outlines (n, 2) of things that may lie elsewhere each time, such as the chart.
    Raises NotComparable where too few features agree.
    """
    first, first_grow = _prepared(before)
    second, second_grow = _prepared(after)
    first_mask = _mask(first.shape, [np.asarray(p) / first_grow for p in leave_out_before], piece, first_grow)
    second_mask = _mask(second.shape, [np.asarray(p) / second_grow for p in leave_out_after], None, second_grow)
    here, there = _matched(first, first_mask, second, second_mask)
    here, there = here * first_grow, there * second_grow
    if len(here) < MIN_INLIERS:
        raise _unlike(len(here))
    reach = REACH_PX * max(first_grow, second_grow)
    cv2.setRNGSeed(1)
    matrix, kept = cv2.findHomography(here, there, cv2.USAC_MAGSAC, reach, maxIters=5000, confidence=0.999)
    if matrix is None:
        raise _unlike(0)
    inside = np.asarray(kept).ravel().astype(bool)
    if inside.sum() < max(MIN_INLIERS, MIN_INLIER_SHARE * len(here)) or not _sane(np.asarray(matrix), before.shape):
        raise _unlike(int(inside.sum()))
    return _described(np.asarray(matrix), here, there, inside, before.shape)


def _prepared(picture: Array) -> tuple[Array, float]:
    """Grey, even in contrast, at most LONG_SIDE_PX long, and how many old pixels one of its own is."""
    grow = max(1.0, max(picture.shape[:2]) / LONG_SIDE_PX)
    grey: Any = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    if grow > 1:
        size = (round(picture.shape[1] / grow), round(picture.shape[0] / grow))
        grey = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.createCLAHE(clipLimit=4.0, tileGridSize=(12, 12)).apply(grey)), grow


def _mask(shape: Sequence[int], holes: Sequence[Array], piece: Sequence[Point] | None, grow: float) -> Array:
    mask = np.full(shape[:2], 255, np.uint8)
    if piece is not None:
        mask[:] = 0
        cv2.fillPoly(mask, [np.rint(np.array(piece) / grow).astype(np.int32)], (255,))
    for hole in holes:
        cv2.fillPoly(mask, [np.rint(hole).astype(np.int32)], (0,))
    return mask


def _matched(first: Array, first_mask: Array, second: Array, second_mask: Array) -> tuple[Array, Array]:
    finder = cv2.SIFT.create(nfeatures=6000, contrastThreshold=0.02)
    points_1, marks_1 = finder.detectAndCompute(first, first_mask)
    points_2, marks_2 = finder.detectAndCompute(second, second_mask)
    empty = np.empty((0, 2))
    if marks_1 is None or marks_2 is None or len(points_1) < 2 or len(points_2) < 2:
        return empty, empty
    # Square roots of the shares compare histograms better than the raw counts do.
    marks_1, marks_2 = (np.sqrt(m / np.maximum(m.sum(axis=1, keepdims=True), 1e-6)) for m in (marks_1, marks_2))
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(marks_1.astype(np.float32), marks_2.astype(np.float32), k=2)
    good = [pair[0] for pair in pairs if len(pair) == 2 and pair[0].distance < RATIO * pair[1].distance]
    here = np.array([points_1[m.queryIdx].pt for m in good]).reshape(-1, 2)
    there = np.array([points_2[m.trainIdx].pt for m in good]).reshape(-1, 2)
    return here, there


def _unlike(inliers: int) -> NotComparable:
    return NotComparable(
        f"The two photographs could not be laid over each other: only {inliers} features agree.",
        "Use two photographs of the same side of the same piece, sharp and from about the same place, "
        "or mark the same areas in both by hand.",
    )


def _scales(matrix: Array, points: Array) -> Array:
    """Local enlargement (square root of the area's) at points (n, 2)."""
    x, y = points[:, 0], points[:, 1]
    depth = matrix[2, 0] * x + matrix[2, 1] * y + matrix[2, 2]
    return np.asarray(np.sqrt(np.maximum(np.linalg.det(matrix) / depth**3, 0)))


def _sane(matrix: Array, shape: Sequence[int]) -> bool:
    """No mirror image, no fold, no enlargement beyond what two photographs of one piece can have."""
    corners = np.array([[0, 0], [shape[1], 0], [shape[1], shape[0]], [0, shape[0]]], float)
    depth = corners @ matrix[2, :2] + matrix[2, 2]
    if (depth <= 0).any() or np.linalg.det(matrix) <= 0:
        return False
    scales = _scales(matrix, corners)
    return bool(scales.min() > 0.1 and scales.max() < 10 and scales.max() / scales.min() < 4)


def _described(matrix: Array, here: Array, there: Array, inside: Array, shape: Sequence[int]) -> Registration:
    back = cv2.perspectiveTransform(there[inside][None].astype(float), np.linalg.inv(matrix))[0]
    misfit = float(np.median(np.linalg.norm(np.asarray(back) - here[inside], axis=1)))
    hull = np.asarray(cv2.convexHull(here[inside].astype(np.float32))).reshape(-1, 2)
    middle = hull.mean(axis=0)
    ends = cv2.perspectiveTransform(np.array([[middle, middle + np.array([1.0, 0.0])]], float), matrix)[0]
    along = np.asarray(ends[1] - ends[0])
    scales = _scales(matrix, hull.astype(float))
    local = _scales(matrix, middle[None].astype(float))[0]
    return Registration(
        before_to_after=tuple(float(v) for v in (matrix / matrix[2, 2]).ravel()),
        matches=len(here),
        inliers=int(inside.sum()),
        misfit_px=misfit,
        covered=tuple((float(x), float(y)) for x, y in hull),
        turned_deg=float(np.degrees(np.arctan2(along[1], along[0]))),
        scale=float(local),
        tilt_pct=float(100 * (scales.max() - scales.min()) / local),
    )


def chart_hole(corners: Sequence[Point]) -> Array:
    """Outline (4, 2) around a found chart with its frame, to be left out of the search."""
    return outline(np.array(corners, float), margin=1.3)
