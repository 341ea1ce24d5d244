"""What all areas of a photograph share: the chart or card in it, and the correction it gave."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from patina.colour.correction import COVERAGE
from patina.colour.flat import FlatField
from patina.colour.values import Caution, ChartFinding

Array = np.ndarray[Any, np.dtype[Any]]

NO_CHART_DE00 = 20.0
LIGHT_PER_LENGTH = 0.03  # change of light per length of the chart, standard error; [MEASURED77]: 9 to 31 % over a chart
LIGHT_AT_MOST = 0.10
# The same where no paper or card tells of the light: half of the charts lie in light that falls by 9 to 20 %
# over them, in a direction nobody knows [MEASURED77].
LIGHT_UNSEEN_PER_LENGTH = 0.065
LIGHT_UNSEEN_AT_MOST = 0.15
LEAST_DE00 = 1.0  # below this nothing read from a photograph is believed


class Fit(Protocol):
    """A correction from linear light to colour that knows how far to trust itself."""

    def lab(self, light: Array) -> Array:
        """CIELAB (D50, 2 degrees) of linear light in the file's RGB, shape (n, 3) both."""

    def error_near(self, lab: Array) -> float:
        """Standard error in CIEDE2000 to expect at a colour, shape (3,)."""


@dataclass(frozen=True, eq=False)
class Calibration:
    """A chart measured and a correction fitted: all that areas of the same photograph share.

    field: outline of the chart, shape (4, 2), pixels. spread_de00: doubt of the chart's own values.
    same_frame: whether the chart lies in the picture that is read; else frame_light and frame_de00
    are the standard errors that another frame brings, as a share of light and in CIEDE2000.
    """

    finding: ChartFinding
    correction: Fit
    flat: FlatField | None
    field: Array
    cautions: tuple[Caution, ...]
    spread_de00: float
    same_frame: bool = True
    frame_light: float = 0.0
    frame_de00: float = 0.0


def correction_de00(calibration: Calibration | None, lab: Array, polygon: Array) -> float:
    """Expanded (95 %) uncertainty from camera, light and chart of a colour at a place; None: no chart.

    lab: shape (3,). polygon: outline of the area, shape (n, 2), pixels.
    """
    if calibration is None:
        return NO_CHART_DE00
    near = max(calibration.correction.error_near(lab), LEAST_DE00)
    light = float(np.hypot(_light_error(calibration, polygon.mean(axis=0)), calibration.frame_light))
    light *= (float(lab[0]) + 16.0) / 3.0
    return COVERAGE * float(np.sqrt(near**2 + calibration.spread_de00**2 + light**2 + calibration.frame_de00**2))


def _light_error(calibration: Calibration, place: Array) -> float:
    """Standard error of the light at a place against that at the chart, as a share.

    Where paper was seen around the place, what its field leaves; beyond it as much as lamps and
    lenses usually bring over the distance, and more where no paper served at all.
    """
    flat = calibration.flat
    if flat is not None and flat.covers(place):
        return 0.5 * flat.error
    length = max(float(np.linalg.norm(calibration.field[1] - calibration.field[0])), 1.0)
    far = float(np.linalg.norm(place - calibration.field.mean(axis=0))) / length
    if flat is None:
        return min(LIGHT_UNSEEN_PER_LENGTH * far, LIGHT_UNSEEN_AT_MOST)
    return min(LIGHT_PER_LENGTH * far, LIGHT_AT_MOST)
