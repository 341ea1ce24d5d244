"""Two areas of one photograph: their difference is known better than either colour."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import Any

from patina.colour.difference import Difference, compare
from patina.colour.values import AreaReading, Lab

CARRY = 40.0  # CIELAB: colours nearer than this share most of what camera, light and chart do wrong
LEAST_DE00 = 0.5


@dataclass(frozen=True, slots=True)
class AreaDifference:
    """Difference of two areas read in one photograph. uncertainty_de00: expanded (95 %); smaller than
    that of either colour where the two colours are near, because they share the correction's error.
    """

    difference: Difference
    uncertainty_de00: float

    def as_json(self) -> dict[str, Any]:
        """The difference's figures and the uncertainty."""
        return {**self.difference.as_json(), "uncertainty_de00": self.uncertainty_de00}


def between(reference: AreaReading, sample: AreaReading, formula: str = "de2000") -> AreaDifference:
    """Sample less reference, both read in the same photograph (not checked here).

    Raises NotComparable where illuminant or observer differ. Source: [GUM]
    """
    one, other = ((area.sampling_de00, area.correction_de00) for area in (reference, sample))
    difference = compare(reference.lab, sample.lab, formula)
    return AreaDifference(difference, uncertainty_between(reference.lab, one, sample.lab, other))


def uncertainty_between(
    reference: Lab, reference_doubt: tuple[float, float], sample: Lab, sample_doubt: tuple[float, float]
) -> float:
    """Expanded (95 %) uncertainty in CIEDE2000 of the difference of two areas of one photograph.

    The doubts: of each colour, from the surface's unevenness, and from camera, light and chart, which is
    shared the more the nearer the colours are. Raises NotComparable as ``between``. Source: [GUM]
    """
    apart = compare(reference, sample, "de76").delta_e
    own = 1.0 - exp(-0.5 * (apart / CARRY) ** 2)
    correction = sqrt(own) * sqrt(reference_doubt[1] ** 2 + sample_doubt[1] ** 2)
    sampling = sqrt(reference_doubt[0] ** 2 + sample_doubt[0] ** 2)
    return max(sqrt(correction**2 + sampling**2), LEAST_DE00)
