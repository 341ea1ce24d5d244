"""Grey-scale rating of a change of colour, the textile trade's five-step scale in half steps.

A second opinion in a scale that conservators know; it was made for textiles, not for waxed metal.
Source: [ISO105-A05]
"""

from __future__ import annotations

import math

from patina.colour.difference import require_comparable
from patina.colour.values import Lab

# Upper end of the fading difference for each grade, best first.
_GRADES = (
    (0.40, "5"),
    (1.25, "4-5"),
    (2.10, "4"),
    (2.95, "3-4"),
    (4.10, "3"),
    (5.80, "2-3"),
    (8.20, "2"),
    (11.60, "1-2"),
    (math.inf, "1"),
)


def fading_difference(original: Lab, changed: Lab) -> float:
    """ΔE_F between a colour before and after, 0 or more. Raises NotComparable. Source: [ISO105-A05]."""
    require_comparable(original, changed)
    dC = changed.chroma - original.chroma
    mean_chroma = (changed.chroma + original.chroma) / 2
    square = (changed.a - original.a) ** 2 + (changed.b - original.b) ** 2 - dC**2
    hue_sign = math.copysign(1.0, original.a * changed.b - original.b * changed.a)
    dH = hue_sign * math.sqrt(max(0.0, square))
    h1, h2 = (math.degrees(math.atan2(c.b, c.a)) % 360 for c in (original, changed))
    # The mean hue goes the short way round.
    mean_hue = (h1 + h2) / 2 if abs(h1 - h2) <= 180 else ((h1 + h2) / 2 + 180) % 360
    away = abs(mean_hue - 280)
    x = (min(away, 360 - away) / 30) ** 2
    d = dC * mean_chroma * math.exp(-x) / 100
    dHf = (dH - d) / (1 + (10 * mean_chroma / 1000) ** 2)
    dCf = (dC - d) / (1 + (20 * mean_chroma / 1000) ** 2)
    return math.sqrt((changed.L - original.L) ** 2 + dCf**2 + dHf**2)


def grey_scale_grade(original: Lab, changed: Lab) -> str:
    """The grade, "5" (no change seen) to "1", in half steps. Raises NotComparable. Source: [ISO105-A05].

    >>> grey_scale_grade(Lab(40, 0, 0), Lab(43.4, 0, 0))
    '3'
    """
    difference = fading_difference(original, changed)
    return next(grade for below, grade in _GRADES if difference < below)
