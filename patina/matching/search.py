"""The nearest colours to a colour, exactly, among very many readings.

The readings are kept in order of lightness. Those nearest in lightness are compared first; the k-th
best of them is a reach beyond which nothing need be looked at. Lightness alone then cuts the rest to
a band, and lightness, a* and b* together to the few that are compared by the full formula.

Why nothing near is missed (CIEDE2000, kL = kC = kH = 1). The square of the difference is
(ΔL/SL)² + (ΔC'/SC)² + (ΔH'/SH)² + RT (ΔC'/SC)(ΔH'/SH), and the last three terms together are at
least (1 − |RT|/2) ((ΔC'/SC)² + (ΔH'/SH)²). SH is at most SC, since T is at most 1.93 and
0.015 × 1.93 < 0.045. ΔC'² + ΔH'² = Δa'² + Δb², which is at least Δa² + Δb², since a' is a stretched
by one factor (1 to 1.5) for both. |RT| is at most 2 sin 60°, and below 0.00001 where both b* are
positive: their mean hue then is 95° or more away from the blue at 275°. Along lightness |ΔL|/SL
grows with |ΔL| up to 100 on either side, since SL changes by less than 0.02 per unit.
What is left after these is bounded once more with the stretch of a*, SC and the chroma's part of RT
(at most sin 60° times RC) as they are for each reading, which needs no hue.
Source: [SHARMA2005] for the formula; the bounds are worked here and tested against full scans.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from patina.colour.difference import FORMULAS, delta_e_many
from patina.errors import BadQuantity
from patina.matching.reach import reach_of

Array = np.ndarray[Any, np.dtype[Any]]

_FIRST_ROWS = 2048
_BEST_BOUNDED = 4096
_WORST_SHARE = 1 - math.sin(math.radians(60))
_WARM_SHARE = 1 - 1e-5
# Guards the comparison of a bound with a difference against rounding in the last places.
_ROUNDING = 1e-9


class Rack:
    """Readings laid out for searching.

    labs: array-like of shape (n, 3), L* (0 to 100), a*, b* of one illuminant and observer (that they
    are of one is not checked); n may be 0. The array is copied.
    Raises BadQuantity for another shape or values that are no numbers.
    """

    def __init__(self, labs: Any) -> None:
        values = np.array(labs, dtype=np.float64)
        if values.size == 0:
            values = values.reshape(0, 3)
        if values.ndim != 2 or values.shape[1] != 3:
            raise BadQuantity("Readings must come as rows of L*, a*, b*.", "Give three numbers for each reading.")
        if not np.isfinite(values).all():
            raise BadQuantity("A reading is not a finite number.", "Correct that reading.")
        self._order = np.argsort(values[:, 0], kind="stable")
        self._labs = values[self._order]
        self._lightness, self._a, self._b = (np.ascontiguousarray(self._labs[:, i]) for i in range(3))

    def __len__(self) -> int:
        return len(self._labs)

    def nearest(self, target: Any, k: int, *, among: Any = None, formula: str = "de2000") -> tuple[Array, Array]:
        """The k nearest readings and their differences from the target.

        target: L*, a*, b*, the reference of the difference. k: 1 or more; fewer come back where
        there are fewer. among: boolean array of shape (n,), the readings that are allowed, or None.
        formula: as in ``patina.colour.difference``; other formulas than de2000 are scanned in full.
        Returns (rows, differences), both of shape (m,), nearest first, equal ones by row number:
        the same answer as a full scan gives. Raises BadQuantity.
        """
        point = _point(target, k, formula)
        allowed = None if among is None else self._allowed(among)
        wide = self._lightness.size and (
            self._lightness[0] < 0 or self._lightness[-1] > 100 or not 0 <= point[0] <= 100
        )
        if formula != "de2000" or len(self) <= _FIRST_ROWS or wide:
            places = np.arange(len(self)) if allowed is None else np.flatnonzero(allowed)
            return self._best(places, _differences(point, self._labs[places], formula), k)
        return self._search(point, k, allowed)

    def _allowed(self, among: Any) -> Array:
        mask = np.asarray(among)
        if mask.dtype != bool or mask.shape != (len(self),):
            raise BadQuantity("The choice among readings does not fit them.", "Give one yes or no for each reading.")
        return mask[self._order]

    def _best(self, places: Array, differences: Array, k: int) -> tuple[Array, Array]:
        rows = self._order[places]
        if len(rows) > k:
            near = differences <= np.partition(differences, k - 1)[k - 1]
            rows, differences = rows[near], differences[near]
        best = np.lexsort((rows, differences))[:k]
        return rows[best], differences[best]

    def _search(self, point: Array, k: int, allowed: Array | None) -> tuple[Array, Array]:
        start, stop, places = self._seed(point, k, allowed)
        found = _differences(point, self._labs[places], "de2000")
        if len(found) < k:
            return self._best(places, found, k)
        reach = float(np.partition(found, k - 1)[k - 1])
        low, high = self._band(float(point[0]), reach)
        for first, last in ((low, min(start, high)), (max(stop, low), high)):
            near, bounds = self._bounded(point, first, last, reach, allowed)
            if len(near) > _BEST_BOUNDED:
                bounds = _tighter(point, self._labs[near])
                near, bounds = near[bounds <= reach + _ROUNDING], bounds[bounds <= reach + _ROUNDING]
            while len(near):
                # The most promising first: they shorten the reach for the rest.
                part = np.argsort(bounds)[:_BEST_BOUNDED] if len(near) > _BEST_BOUNDED else np.arange(len(near))
                places = np.concatenate([places, near[part]])
                found = np.concatenate([found, _differences(point, self._labs[near[part]], "de2000")])
                reach = float(np.partition(found, k - 1)[k - 1])
                rest = bounds <= reach + _ROUNDING
                rest[part] = False
                near, bounds = near[rest], bounds[rest]
        return self._best(places, found, k)

    def _seed(self, point: Array, k: int, allowed: Array | None) -> tuple[int, int, Array]:
        """A stretch round the target's lightness with at least k allowed readings (or all there are)."""
        middle = int(np.searchsorted(self._lightness, point[0]))
        half = max(_FIRST_ROWS // 2, 2 * k)
        while True:
            start, stop = max(0, middle - half), min(len(self), middle + half)
            places = np.arange(start, stop) if allowed is None else start + np.flatnonzero(allowed[start:stop])
            if len(places) >= max(k, 256) or (start == 0 and stop == len(self)):
                return start, stop, places
            half *= 4

    def _band(self, lightness: float, reach: float) -> tuple[int, int]:
        """The places whose lightness alone does not put them beyond the reach."""
        ends = []
        for far in (0.0, 100.0):
            inside, outside = lightness, far
            if _lightness_bound(lightness, far) > reach + _ROUNDING:
                for _ in range(60):
                    middle = (inside + outside) / 2
                    if _lightness_bound(lightness, middle) > reach + _ROUNDING:
                        outside = middle
                    else:
                        inside = middle
            ends.append(outside)
        low, high = (
            np.searchsorted(self._lightness, ends[0], "left"),
            np.searchsorted(self._lightness, ends[1], "right"),
        )
        return int(low), int(high)

    def _bounded(self, point: Array, first: int, last: int, reach: float, allowed: Array | None) -> tuple[Array, Array]:
        """Places from first to last that the bound does not put beyond the reach, with their bounds."""
        if first >= last:
            return np.empty(0, dtype=np.intp), np.empty(0)
        # A square in a*b* leaves few before anything is worked out; by far most of a band lie outside it.
        radius = reach_of((float(point[0]), float(point[1]), float(point[2])), reach).radius_cool
        inside = np.abs(self._a[first:last] - point[1]) <= radius
        inside &= np.abs(self._b[first:last] - point[2]) <= radius
        if allowed is not None:
            inside &= allowed[first:last]
        places = first + np.flatnonzero(inside)
        labs = self._labs[places]
        middle = (labs[:, 0] + point[0]) / 2 - 50
        square = middle * middle
        lightness = (labs[:, 0] - point[0]) / (1 + 0.015 * square / np.sqrt(20 + square))
        a, b = labs[:, 1], labs[:, 2]
        # SC from the largest chroma that the stretch of a can give.
        weight = 1 + 0.045 * 0.75 * (np.sqrt(a * a + b * b) + math.hypot(point[1], point[2]))
        apart = ((a - point[1]) ** 2 + (b - point[2]) ** 2) / (weight * weight)
        share = np.where(b >= 0, _WARM_SHARE, _WORST_SHARE) if point[2] >= 0 else _WORST_SHARE
        bound = np.sqrt(lightness * lightness + share * apart)
        keep = bound <= reach + _ROUNDING
        return places[keep], bound[keep]


def nearest(target: Any, labs: Any, k: int, *, among: Any = None, formula: str = "de2000") -> tuple[Array, Array]:
    """The k nearest of some readings, for a single question. See Rack, which is kept for many questions."""
    return Rack(labs).nearest(target, k, among=among, formula=formula)


def _point(target: Any, k: int, formula: str) -> Array:
    point = np.asarray(target, dtype=np.float64)
    if point.shape != (3,) or not np.isfinite(point).all():
        raise BadQuantity("The colour sought is not three numbers.", "Give L*, a* and b*.")
    if k < 1:
        raise BadQuantity(f"{k} nearest cannot be sought.", "Ask for 1 or more.")
    if formula not in FORMULAS:
        raise BadQuantity(f"'{formula}' is not a difference formula known here.", f"Use one of {', '.join(FORMULAS)}.")
    return point


def _differences(point: Array, labs: Array, formula: str) -> Array:
    return np.asarray(delta_e_many(np.broadcast_to(point, labs.shape), labs, formula))


def _tighter(point: Array, labs: Array) -> Array:
    """A bound below the difference of each reading, shape (n,), for rows of L*, a*, b*, that needs no hue."""
    a, b = labs[:, 1], labs[:, 2]
    stretch = 1 + 0.5 * (1 - _of_chroma((np.hypot(a, b) + math.hypot(point[1], point[2])) / 2))
    chroma = (np.hypot(stretch * a, b) + np.hypot(stretch * point[1], point[2])) / 2
    weight = 1 + 0.045 * chroma
    apart = ((stretch * (a - point[1])) ** 2 + (b - point[2]) ** 2) / (weight * weight)
    share = 1 - math.sin(math.radians(60)) * _of_chroma(chroma)
    if point[2] >= 0:
        share = np.where(b >= 0, _WARM_SHARE, share)
    square = ((labs[:, 0] + point[0]) / 2 - 50) ** 2
    lightness = (labs[:, 0] - point[0]) / (1 + 0.015 * square / np.sqrt(20 + square))
    return np.asarray(np.sqrt(lightness * lightness + share * apart))


def _of_chroma(chroma: Array) -> Array:
    """The square root of C⁷ / (C⁷ + 25⁷): grows with chroma from 0 to 1."""
    ratio = chroma / 25
    third = ratio * ratio * ratio
    seventh = third * third * ratio
    return np.asarray(np.sqrt(seventh / (seventh + 1)))


def _lightness_bound(target: float, lightness: float) -> float:
    """|ΔL| / SL: never more than CIEDE2000."""
    square = ((target + lightness) / 2 - 50) ** 2
    return abs(lightness - target) / (1 + 0.015 * square / math.sqrt(20 + square))
