"""CIELAB and XYZ of many colours at once (D50, 2 degree observer), in numpy.

Source: [CIELAB]
"""

from __future__ import annotations

from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]

WHITE_D50 = np.array([0.96422, 1.0, 0.82521])
_EPSILON = 216.0 / 24389.0
_KAPPA = 24389.0 / 27.0


def lab_of(xyz: Array) -> Array:
    """CIELAB of XYZ (white Y = 1), shape (..., 3). Negative light gives the straight part's values."""
    ratio = xyz / WHITE_D50
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), (_KAPPA * ratio + 16.0) / 116.0)
    fx, fy, fz = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116.0 * fy - 16.0, 500.0 * (fx - fy), 200.0 * (fy - fz)], axis=-1)


def xyz_of(lab: Array) -> Array:
    """XYZ (white Y = 1) of CIELAB, shape (..., 3)."""
    fy = (lab[..., 0] + 16.0) / 116.0
    f = np.stack([fy + lab[..., 1] / 500.0, fy, fy - lab[..., 2] / 200.0], axis=-1)
    cube = f**3
    return np.where(cube > _EPSILON, cube, (116.0 * f - 16.0) / _KAPPA) * WHITE_D50
