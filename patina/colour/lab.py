"""Conversions of single colours: CIELAB, XYZ, sRGB for showing, and other illuminants.

colormath does the conversions; the colour cells of a screen come from plain arithmetic, because
loading colormath takes longer than drawing the screen.
"""

from __future__ import annotations

from functools import lru_cache

from patina.colour.values import Lab
from patina.errors import NotComparable

XYZ = tuple[float, float, float]

# XYZ (D50, white Y = 1) to linear sRGB, Bradford adaptation included. Source: [SRGB] [BRADFORD]
_TO_LINEAR_SRGB = (
    (3.1338561, -1.6168667, -0.4906146),
    (-0.9787684, 1.9161415, 0.0334540),
    (0.0719453, -0.2289914, 1.4052427),
)
_WHITE_D50 = (0.96422, 1.0, 0.82521)
_EPSILON = 216.0 / 24389.0
_KAPPA = 24389.0 / 27.0
_GAMUT_SLACK = 0.002  # linear light; below half an 8-bit code for all but the darkest colours


@lru_cache(maxsize=4096)
def srgb_hex(lab: Lab) -> str:
    """The nearest colour a screen can show, as "#rrggbb".

    Plain arithmetic, no numpy. A colour for another illuminant than D50 is adapted first.
    Colours outside a screen's range are cut to it: ``in_screen_range`` says whether they are.
    Source: [SRGB] [CIELAB] [BRADFORD]

    >>> srgb_hex(Lab(100, 0, 0)), srgb_hex(Lab(0, 0, 0))
    ('#ffffff', '#000000')
    """
    codes = (round(255 * _encode(min(max(channel, 0.0), 1.0))) for channel in _linear_srgb(lab))
    return "#" + "".join(f"{code:02x}" for code in codes)


def in_screen_range(lab: Lab) -> bool:
    """Whether sRGB can show the colour; if not, its colour cell only comes near it."""
    return all(-_GAMUT_SLACK <= channel <= 1.0 + _GAMUT_SLACK for channel in _linear_srgb(lab))


def _linear_srgb(lab: Lab) -> XYZ:
    if (lab.illuminant, lab.observer) != ("D50", "2"):
        lab = adapt(lab, "D50")
    fy = (lab.L + 16.0) / 116.0
    x, y, z = (
        white * _inverse_f(f) for white, f in zip(_WHITE_D50, (fy + lab.a / 500.0, fy, fy - lab.b / 200.0), strict=True)
    )
    r, g, b = (row[0] * x + row[1] * y + row[2] * z for row in _TO_LINEAR_SRGB)
    return r, g, b


def _inverse_f(f: float) -> float:
    cube = f**3
    return cube if cube > _EPSILON else (116.0 * f - 16.0) / _KAPPA


def _encode(linear: float) -> float:
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * float(linear ** (1.0 / 2.4)) - 0.055


def lab_to_xyz(lab: Lab) -> XYZ:
    """XYZ of a colour under its own illuminant, white Y = 1. Raises NotComparable for an illuminant
    not known here. Source: [CIELAB]
    """
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, XYZColor

    _known(lab.illuminant, lab.observer)
    terms = {"observer": lab.observer, "illuminant": lab.illuminant.lower()}
    x, y, z = convert_color(LabColor(lab.L, lab.a, lab.b, **terms), XYZColor).get_value_tuple()
    return float(x), float(y), float(z)


def xyz_to_lab(xyz: XYZ, illuminant: str = "D50", observer: str = "2") -> Lab:
    """CIELAB of an XYZ (white Y = 1) under its own illuminant. Raises NotComparable for an
    illuminant not known here. Source: [CIELAB]
    """
    from colormath.color_conversions import convert_color
    from colormath.color_objects import LabColor, XYZColor

    _known(illuminant, observer)
    terms = {"observer": observer, "illuminant": illuminant.lower()}
    L, a, b = convert_color(XYZColor(*xyz, **terms), LabColor).get_value_tuple()
    return Lab(float(L), float(a), float(b), illuminant, observer)


def adapt(lab: Lab, illuminant: str = "D50") -> Lab:
    """The colour as it would probably be stated for another illuminant (Bradford).

    An estimate: how a surface really changes with the light depends on its spectrum, which three
    numbers do not hold. Say in a record that a colour was adapted. Raises NotComparable for an
    illuminant not known here, and for the 10 degree observer, which cannot be turned into 2 degrees.
    Source: [BRADFORD]
    """
    from colormath.chromatic_adaptation import apply_chromatic_adaptation

    _known(lab.illuminant, lab.observer)
    _known(illuminant, lab.observer)
    if lab.illuminant == illuminant:
        return lab
    x, y, z = apply_chromatic_adaptation(
        *lab_to_xyz(lab), lab.illuminant.lower(), illuminant.lower(), observer=lab.observer, adaptation="bradford"
    )
    return xyz_to_lab((float(x), float(y), float(z)), illuminant, lab.observer)


def _known(illuminant: str, observer: str) -> None:
    from colormath.color_constants import ILLUMINANTS

    if illuminant.lower() not in ILLUMINANTS.get(observer, {}):
        raise NotComparable(
            f"No white point is known here for illuminant '{illuminant}' and the {observer}° observer.",
            "State the colour for D50 or D65 and the 2° observer.",
        )
