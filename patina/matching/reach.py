"""What of a colour space a search must look at: everything that may be within a difference of a colour.

For a database, which can cut by lightness and by distance in a*b* before it hands rows out. The bounds
are those worked out in ``patina.matching.search``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from patina.errors import BadQuantity

_WORST_SHARE = 1 - math.sin(math.radians(60))
_WARM_SHARE = 1 - 1e-5
_PER_CHROMA = 0.045 * 0.75
_BEYOND_ALL = 1e6
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Reach:
    """Everything within a CIEDE2000 difference lies here (not all that lies here is within it).

    low, high: of L*. radius_warm, radius_cool: distance from the target in a*b*, for readings of b*
    not below 0 and below 0.
    """

    low: float
    high: float
    radius_warm: float
    radius_cool: float


def reach_of(target: tuple[float, float, float], difference: float) -> Reach:
    """Where readings within a difference (0 or more) of a target (L* 0 to 100, a*, b*) can lie.

    Holds for readings of L* 0 to 100. Raises BadQuantity.

    >>> r = reach_of((30.0, 5.0, 10.0), 1.0)
    >>> r.low < 29 and r.high > 31 and r.radius_warm < r.radius_cool
    True
    """
    L, a, b = target
    if not (0 <= L <= 100 and math.isfinite(a) and math.isfinite(b) and difference >= 0):
        raise BadQuantity("The colour sought lies outside CIELAB as surfaces have it.", "Give L* from 0 to 100.")
    limit = difference + _ROUNDING
    chroma = math.hypot(a, b)
    cool = _radius(limit, chroma, _WORST_SHARE)
    warm = _radius(limit, chroma, _WARM_SHARE) if b >= 0 else cool
    return Reach(_end(L, 0.0, limit), _end(L, 100.0, limit), warm, cool)


def _radius(limit: float, chroma: float, share: float) -> float:
    """Largest a*b* distance d with d ≤ limit / √share × (1 + c (2 chroma + d)), c being the weight per chroma."""
    scaled = limit / math.sqrt(share)
    left = 1 - _PER_CHROMA * scaled
    if left <= 1e-6:
        return _BEYOND_ALL
    return min(_BEYOND_ALL, scaled * (1 + 2 * _PER_CHROMA * chroma) / left * (1 + _ROUNDING))


def lightness_bound(target: float, lightness: float) -> float:
    """|ΔL*| / SL: never more than CIEDE2000."""
    square = ((target + lightness) / 2 - 50) ** 2
    return abs(lightness - target) / (1 + 0.015 * square / math.sqrt(20 + square))


def _end(lightness: float, far: float, limit: float) -> float:
    if lightness_bound(lightness, far) <= limit:
        return far
    inside, outside = lightness, far
    for _ in range(60):
        middle = (inside + outside) / 2
        if lightness_bound(lightness, middle) > limit:
            outside = middle
        else:
            inside = middle
    return outside
