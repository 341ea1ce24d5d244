"""How well a place in a picture agrees with a chart, and moving the place until it agrees best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from scipy.optimize import minimize

from patina.colour.chart_centres import centred
from patina.colour.chart_data import COLUMNS, PATCHES, ROWS, published
from patina.colour.chart_geometry import is_plausible, pitch_px, sample_points

Array = np.ndarray[Any, np.dtype[Any]]

RESIDUAL_CAP = 40.0  # CIELAB units beyond which a patch is simply wrong
SCATTER_CAP = 25.0  # codes beyond which a patch is simply not even
OUTSIDE = 1e3
CALM_SCATTER = 4.0  # codes: below it the corners are nearly right already
_NUDGE = 1e-4 * np.eye(4)  # keeps the map solvable where all patches look the same


# The 24 patches, and the four corners, as numbered after a half turn, a mirror, and both.
_FIELD = np.arange(PATCHES).reshape(ROWS, COLUMNS)
_TURNED = [turned.reshape(-1) for turned in (_FIELD, _FIELD[::-1, ::-1], _FIELD[:, ::-1], _FIELD[::-1])]
_CORNERS_TURNED = ([0, 1, 2, 3], [2, 3, 0, 1], [1, 0, 3, 2], [3, 2, 1, 0])


@dataclass(frozen=True, eq=False)
class Place:
    """Where a chart may lie. corners: centres of patches 1, 6, 24, 19 in pixels of the picture that
    was searched. misfit: mean distance to the chart's colours in CIELAB after the best linear map.
    scatter: median spread inside patches, in codes of 255.
    """

    corners: Array
    misfit: float
    scatter: float

    @property
    def badness(self) -> float:
        """Misfit and scatter as one figure, small for a real chart."""
        return self.misfit + 0.3 * self.scatter


class Scorer:
    """Scores places in one small picture (uint8 RGB)."""

    def __init__(self, picture: Array):
        self.codes = picture
        self.picture = np.ascontiguousarray(picture, dtype=np.float32)
        self.size = np.array([picture.shape[1], picture.shape[0]], dtype=np.float64)
        self.reference = published("unknown").lab

    def sample(self, corners: Array, half_width: float, steps: int) -> Array | None:
        """Codes inside the patches, shape (24, steps * steps, 3); None where outside the picture."""
        points = sample_points(corners, half_width, steps)
        if not np.isfinite(points).all() or points.min() < 0 or np.any(points.max(axis=(0, 1)) > self.size - 1):
            return None
        at = points.astype(np.float32)
        return cv2.remap(self.picture, at[..., 0], at[..., 1], cv2.INTER_LINEAR)

    def residuals(self, means: Array) -> Array:
        """Distance of each patch to its reference after the best affine map of codes to CIELAB.

        means: shape (24, 3) codes. Codes are near enough to cube roots of light for a map that only
        has to tell a chart from something else. Fitted twice, the second time without the worst.
        """
        design = np.concatenate([means / 255.0, np.ones((len(means), 1))], axis=1)
        keep = np.ones(len(means), dtype=bool)
        distance = np.zeros(len(means))
        for _ in range(2):
            used = design[keep]
            solution = np.linalg.solve(used.T @ used + _NUDGE, used.T @ self.reference[keep])
            distance = np.linalg.norm(design @ solution - self.reference, axis=1)
            keep = distance <= max(3.0 * float(np.median(distance)), 1.0)
        return distance

    def score(self, corners: Array, half_width: float = 0.22, steps: int = 5) -> Place | None:
        """The place's misfit and scatter, or None for one outside the picture or folded."""
        if not is_plausible(corners):
            return None
        codes = self.sample(corners, half_width, steps)
        if codes is None:
            return None
        distance = np.minimum(self.residuals(codes.mean(axis=1)), RESIDUAL_CAP)
        scatter = np.minimum(codes.std(axis=1).mean(axis=1), SCATTER_CAP)
        return Place(np.asarray(corners, dtype=np.float64), float(distance.mean()), float(np.median(scatter)))

    def best_turn(self, quad: Array, square: bool = False) -> Place | None:
        """The numbering of a place that agrees best, over half turns and mirrors (and, where the long
        side is not known, quarter turns).
        """
        if square:
            halves = [self.best_turn(np.roll(quad, k, axis=0)) for k in (0, 1)]
            return min((half for half in halves if half is not None), key=lambda place: place.misfit, default=None)
        codes = self.sample(quad, 0.22, 5) if is_plausible(quad) else None
        if codes is None:
            return None
        means, scatter = codes.mean(axis=1), np.minimum(codes.std(axis=1).mean(axis=1), SCATTER_CAP)
        rank, best = min(
            (float(np.minimum(self.residuals(means[patches]), RESIDUAL_CAP).mean()), turn)
            for turn, patches in enumerate(_TURNED)
        )
        return Place(quad[_CORNERS_TURNED[best]].astype(np.float64), rank, float(np.median(scatter)))

    def _cost(self, corners: Array, half_width: float) -> float:
        codes = self.sample(corners, half_width, 7)
        if codes is None or not is_plausible(corners):
            return OUTSIDE
        scatter = np.minimum(codes.std(axis=1).mean(axis=1), SCATTER_CAP)
        middle = codes.mean(axis=1)
        distance = np.minimum(self.residuals(middle), RESIDUAL_CAP)
        return float(distance.mean() + scatter.mean())

    def agreeing(self, place: Place) -> float:
        """Share of patches that agree with the chart under the map that suits the most of them."""
        codes = self.sample(place.corners, 0.22, 5)
        if codes is None:
            return 0.0
        means = codes.mean(axis=1)
        design = np.concatenate([means / 255.0, np.ones((len(means), 1))], axis=1)
        weight = np.ones(len(means))
        distance = np.zeros(len(means))
        for _ in range(40):
            solution, *_ = np.linalg.lstsq(design * weight[:, None], self.reference * weight[:, None], rcond=1e-4)
            distance = np.linalg.norm(design @ solution - self.reference, axis=1)
            weight = 1.0 / np.sqrt(1.0 + (distance / 5.0) ** 2)
        return float(np.mean(distance < 15.0))

    def refine(self, place: Place, quick: bool = False) -> Place:
        """Moves the four corner centres to the middles of the patches.

        By the patches' outlines where enough of them stand out, else by moving the corners until
        patches are even inside and agree with the chart. quick: then only the last, fine moves.
        """
        moved = centred(self.codes, place.corners, rounds=1 if place.scatter < CALM_SCATTER else 2)
        if moved is not None:
            seen = self.score(moved)
            if seen is not None and seen.badness <= place.badness + 0.5:
                return seen
        corners = place.corners
        stages = ((0.24, 0.25), (0.34, 0.10), (0.36, 0.04))
        for half_width, reach in stages[1:] if quick else stages:
            scale = pitch_px(corners)
            start = corners

            def cost(move: Array, start: Array = start, scale: float = scale, width: float = half_width) -> float:
                return self._cost(start + scale * move.reshape(4, 2), width)

            simplex = np.vstack([np.zeros(8), reach * np.eye(8)])
            found = minimize(
                cost,
                np.zeros(8),
                method="Nelder-Mead",
                options={"initial_simplex": simplex, "maxfev": 260, "xatol": 0.004, "fatol": 0.005},
            )
            corners = start + scale * found.x.reshape(4, 2)
        refined = self.score(corners)
        return place if refined is None or refined.badness > place.badness + 1.0 else refined
