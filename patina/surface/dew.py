"""Dew point, and whether the metal is warm enough for wax or lacquer.

The Magnus formula with the coefficients of WMO-No. 8. Other coefficient sets in use agree within
0.02 °C at room conditions. Source: [WMO8]; margins [DEW_RULE].
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from patina.errors import BadQuantity
from patina.surface.constants import constant


def _air(air_c: float) -> float:
    low, high = constant("magnus_low_c"), constant("magnus_high_c")
    if not math.isfinite(air_c) or not low <= air_c <= high:
        raise BadQuantity(
            f"Air of {air_c:g} °C is outside {low:g} to {high:g} °C, where the dew point formula holds.",
            "Read the air in the shade and away from the torch.",
            field="air",
        )
    return air_c


def _humidity(humidity_pct: float) -> float:
    if not math.isfinite(humidity_pct) or not 1 <= humidity_pct <= 100:
        raise BadQuantity(
            f"A relative humidity of {humidity_pct:g} % is not between 1 and 100 %.",
            "Read the hygrometer again: 60 means 60 %.",
            field="humidity",
        )
    return humidity_pct


def saturation_hpa(air_c: float) -> float:
    """Water vapour pressure over water at saturation, in hPa. air_c: −45 to 60 °C. Source: [WMO8].

    >>> round(saturation_hpa(20), 3)
    23.326
    """
    _air(air_c)
    return constant("magnus_e0_hpa") * math.exp(constant("magnus_b") * air_c / (constant("magnus_c_c") + air_c))


def dew_point_c(air_c: float, humidity_pct: float) -> float:
    """Dew point in °C. air_c: −45 to 60 °C; humidity_pct: 1 to 100 % relative humidity.

    >>> round(dew_point_c(20, 60), 3)
    11.995
    """
    b, c = constant("magnus_b"), constant("magnus_c_c")
    logarithm = math.log(_humidity(humidity_pct) / 100) + b * _air(air_c) / (c + air_c)
    return c * logarithm / (b - logarithm)


@dataclass(frozen=True, slots=True)
class DewCheck:
    """Metal against dew.

    dew_c: dew point, °C. margin_k: metal minus dew point, K. dry: metal far enough above and air
    not too humid. words: the finding; missing: nothing, or what was not read.
    """

    dew_c: float
    margin_k: float
    dry: bool
    words: str


def check_dew(metal_c: float, air_c: float, humidity_pct: float) -> DewCheck:
    """Whether the metal may be waxed or lacquered: 3 K above the dew point or more, humidity below 85 %.

    Wet gas of a torch raises the dew point at the piece: read the air there. Raises BadQuantity.
    """
    if not math.isfinite(metal_c) or not -45 <= metal_c <= 1000:
        raise BadQuantity(f"Metal of {metal_c:g} °C cannot be.", "Read the metal again.", field="metal")
    dew = dew_point_c(air_c, humidity_pct)
    margin = metal_c - dew
    needed, most = constant("dew_margin_k"), constant("humidity_limit_pct")
    troubles = []
    if margin < needed:
        troubles.append(f"the metal is {margin:.1f} K above the dew point of {dew:.1f} °C, {needed:g} K are needed")
    if humidity_pct >= most:
        troubles.append(f"the air has {humidity_pct:g} % humidity, below {most:g} % is needed")
    if troubles:
        return DewCheck(dew, margin, False, f"Hold: {' and '.join(troubles)}.")
    return DewCheck(
        dew,
        margin,
        True,
        f"Dry: the metal is {margin:.1f} K above the dew point of {dew:.1f} °C at {humidity_pct:g} %.",
    )
