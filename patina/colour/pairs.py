"""Two areas of one photograph: their difference is known better than either colour."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import Any

from patina.colour.difference import Difference, compare
from patina.colour.values import AreaReading

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
    difference = compare(reference.lab, sample.lab, formula)
    apart = compare(reference.lab, sample.lab, "de76").delta_e
    own = 1.0 - exp(-0.5 * (apart / CARRY) ** 2)
    correction = sqrt(own) * sqrt(reference.correction_de00**2 + sample.correction_de00**2)
    sampling = sqrt(reference.sampling_de00**2 + sample.sampling_de00**2)
    return AreaDifference(difference, max(sqrt(correction**2 + sampling**2), LEAST_DE00))
