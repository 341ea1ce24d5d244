"""Lights, cameras and surfaces as spectra, from 380 to 730 nm in steps of 10 nm.

Needs colour-science, which is a tool for rendering and for tests, not for the program. Spectra of
the chart are the mean of 30 measured charts; sensitivities of the "slr" were measured by the
National Physical Laboratory; both are shipped with colour-science. The "phone" has invented,
smooth sensitivities, so that a second camera with other faults is at hand. Tiles get the smooth
sigmoid reflectance that has their colour exactly (Jakob and Hanika 2019, Computer Graphics Forum
38(2): the same three-coefficient family).
"""

from __future__ import annotations

from functools import cache
from warnings import catch_warnings, simplefilter

import numpy as np
from scipy.optimize import least_squares

with catch_warnings():
    simplefilter("ignore")
    import colour

SHAPE = colour.SpectralShape(380, 730, 10)
WAVES = SHAPE.wavelengths
LIGHTS = ("D65", "A", "LED", "shade", "D50")
CAMERAS = ("slr", "phone")


@cache
def light(name: str) -> np.ndarray:
    """Relative power of a light, (36,). "LED" is CIE LED-B3 (4103 K), "shade" daylight of 8000 K."""
    if name == "shade":
        x_y = colour.temperature.CCT_to_xy_CIE_D(8000.0)
        found = colour.sd_CIE_illuminant_D_series(x_y)
    else:
        found = colour.SDS_ILLUMINANTS[{"LED": "LED-B3"}.get(name, name)]
    return np.asarray(found.copy().align(SHAPE).values)


@cache
def camera(name: str) -> np.ndarray:
    """Sensitivities to red, green and blue, (36, 3)."""
    if name == "slr":
        return np.asarray(colour.MSDS_CAMERA_SENSITIVITIES["Nikon 5100 (NPL)"].copy().align(SHAPE).values)

    def bump(centre: float, short: float, long: float) -> np.ndarray:
        width = np.where(centre > WAVES, short, long)
        return np.exp(-0.5 * ((WAVES - centre) / width) ** 2)

    red = bump(600, 24, 34) + 0.07 * bump(535, 40, 40) + 0.04 * bump(440, 25, 25)
    green = bump(531, 36, 40) + 0.05 * bump(455, 25, 25)
    blue = bump(456, 24, 30) + 0.06 * bump(530, 30, 30)
    return np.stack([red, green, blue], axis=1)


@cache
def observer() -> np.ndarray:
    """CIE 1931 colour-matching functions, (36, 3)."""
    return np.asarray(colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].copy().align(SHAPE).values)


def xyz_of(reflectance: np.ndarray, light_name: str = "D50") -> np.ndarray:
    """XYZ (Y of the perfect white = 1) of reflectances (..., 36) under a light."""
    weights = light(light_name)[:, None] * observer()
    return np.asarray(reflectance @ weights / weights[:, 1].sum())


def lab_of(reflectance: np.ndarray, light_name: str = "D50") -> np.ndarray:
    """CIELAB of reflectances (..., 36) under a light, the perfect white under it being L* = 100."""
    white = xyz_of(np.ones(len(WAVES)), light_name)
    ratio = xyz_of(reflectance, light_name) / white
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(np.maximum(ratio, 1e-12)), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    x, y, z = np.moveaxis(f, -1, 0)
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def _sigmoid(coefficients: np.ndarray) -> np.ndarray:
    place = (WAVES - 555.0) / 175.0
    x = coefficients[0] + coefficients[1] * place + coefficients[2] * place**2
    return 0.5 + 0.5 * x / np.sqrt(1 + x * x)


@cache
def surface(lab: tuple[float, float, float]) -> np.ndarray:
    """Smooth reflectance (36,) whose colour is ``lab`` under D50 for the 2 degree observer.

    Raises ValueError where no such surface exists.
    """
    target = np.asarray(lab)
    start = (target[0] / 100) ** 2.4
    first = (2 * start - 1) / np.sqrt(max(1e-6, 1 - (2 * start - 1) ** 2))
    found = least_squares(lambda c: lab_of(_sigmoid(c)) - target, [first, 0.0, 0.0], x_scale="jac", max_nfev=400)
    if np.abs(found.fun).max() > 0.01:
        raise ValueError(f"no smooth surface has the colour {lab}")
    return _sigmoid(found.x)


@cache
def chart() -> np.ndarray:
    """Reflectances (24, 36) of the patches of a chart from before November 2014."""
    patches = list(colour.SDS_COLOURCHECKERS["BabelColor Average"].values())[:24]
    return np.stack([patch.copy().align(SHAPE).values for patch in patches])


def responses(reflectances: np.ndarray, light_name: str, camera_name: str) -> np.ndarray:
    """What the sensor says of reflectances (..., 36): (..., 3), the perfect white being 1 in each channel."""
    weights = light(light_name)[:, None] * camera(camera_name)
    return np.asarray(reflectances @ weights / weights.sum(axis=0))


@cache
def built_in_matrix(light_name: str, camera_name: str) -> np.ndarray:
    """The camera's own matrix from white-balanced sensor values to linear sRGB, (3, 3), whites staying white.

    As cameras do, it is fitted once for daylight and once for tungsten light and the nearer is used:
    under any other light it is not exactly right.
    """
    fitted_for = "A" if light_name == "A" else "D65"
    sensor = responses(chart(), fitted_for, camera_name)
    wanted = xyz_of(chart(), "D65") @ np.linalg.inv(_SRGB).T
    # Two free numbers per row: the three must sum to 1 so that white stays white.
    matrix = np.empty((3, 3))
    for out in range(3):
        others = [i for i in range(3) if i != out]
        left = sensor[:, others] - sensor[:, [out]]
        part, *_ = np.linalg.lstsq(left, wanted[:, out] - sensor[:, out], rcond=None)
        matrix[out, others] = part
        matrix[out, out] = 1 - part.sum()
    return matrix


# sRGB to XYZ, IEC 61966-2-1
_SRGB = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
