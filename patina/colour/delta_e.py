"""CIEDE2000 over many pairs, in numpy without powers and with one sine and cosine of the mean hue.

Source: [SHARMA2005]
"""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np

Array = np.ndarray[Any, np.dtype[np.float64]]

CHUNK_ROWS = 8192  # the working set of one chunk stays in the processor's cache
THREAD_ROWS = 65536
TWENTY_FIVE_7 = 25.0**7
_COS30, _SIN30 = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
_COS6, _SIN6 = np.cos(np.radians(6.0)), np.sin(np.radians(6.0))
_COS63, _SIN63 = np.cos(np.radians(63.0)), np.sin(np.radians(63.0))


def de2000_pairs(reference: Array, sample: Array) -> Array:
    """CIEDE2000 row by row, kL = kC = kH = 1.

    reference, sample: float arrays of shape (n, 3), L* a* b*. Returns shape (n,). Agrees with the
    formula as published to about 1e-12; two hues exactly opposite take the arithmetic mean hue.
    Source: [SHARMA2005]
    """
    rows = len(reference)
    result = np.empty(rows)
    starts = range(0, rows, CHUNK_ROWS)

    def run(start: int) -> None:
        stop = start + CHUNK_ROWS
        result[start:stop] = _chunk(reference[start:stop], sample[start:stop])

    if rows >= THREAD_ROWS and (os.cpu_count() or 1) > 1:
        with ThreadPoolExecutor(min(os.cpu_count() or 1, 4)) as pool:
            list(pool.map(run, starts))
    else:
        for start in starts:
            run(start)
    return result


def _seventh_root_share(chroma: Array) -> Array:
    """sqrt(C^7 / (C^7 + 25^7))."""
    square = chroma * chroma
    seventh = square * square
    seventh *= square
    seventh *= chroma
    square = seventh + TWENTY_FIVE_7
    np.divide(seventh, square, out=seventh)
    return np.sqrt(seventh, out=seventh)


def _chunk(reference: Array, sample: Array) -> Array:
    L1, a1, b1 = np.ascontiguousarray(reference.T)
    L2, a2, b2 = np.ascontiguousarray(sample.T)
    bb1, bb2 = b1 * b1, b2 * b2
    mean_chroma = np.sqrt(a1 * a1 + bb1)
    mean_chroma += np.sqrt(a2 * a2 + bb2)
    mean_chroma *= 0.5
    stretch = _seventh_root_share(mean_chroma)
    stretch *= -0.5
    stretch += 1.5
    a1 = a1 * stretch
    a2 = a2 * stretch
    C1 = np.sqrt(a1 * a1 + bb1)
    C2 = np.sqrt(a2 * a2 + bb2)
    hue_difference = _hue_difference(a1, b1, C1, a2, b2, C2)
    cosine, sine, degrees = _mean_hue(a1, b1, C1, a2, b2, C2)
    weight_h = _hue_weight(cosine, sine)
    chroma = (C1 + C2) * 0.5
    weight_h *= chroma
    weight_h *= 0.015
    weight_h += 1.0
    lightness = (L1 + L2) * 0.5 - 50.0
    lightness *= lightness
    weight_l = lightness * 0.015
    weight_l /= np.sqrt(lightness + 20.0)
    weight_l += 1.0
    part_l = (L2 - L1) / weight_l
    part_c = (C2 - C1) / (chroma * 0.045 + 1.0)
    part_h = hue_difference / weight_h
    total = _rotation(chroma, degrees) * part_c
    total += part_h
    total *= part_h
    total += part_l * part_l
    total += part_c * part_c
    return np.sqrt(np.maximum(total, 0.0, out=total), out=total)


def _hue_difference(a1: Array, b1: Array, C1: Array, a2: Array, b2: Array, C2: Array) -> Array:
    """dH' from the products of the two vectors, in the form that does not cancel."""
    cross = a1 * b2 - a2 * b1
    dot = a1 * a2 + b1 * b2
    size = np.abs(dot)
    size += C1 * C2
    size *= 2.0
    np.sqrt(size, out=size)
    near = np.divide(2.0 * cross, size, out=np.zeros_like(size), where=size > 0)
    return np.where(dot >= 0, near, np.copysign(size, cross))


def _mean_hue(a1: Array, b1: Array, C1: Array, a2: Array, b2: Array, C2: Array) -> tuple[Array, Array, Array]:
    """Cosine, sine and degrees (0 to 360) of the mean hue."""
    x = a1 * C2 + a2 * C1
    y = b1 * C2 + b2 * C1
    size = np.sqrt(x * x + y * y)
    odd = size <= 1e-5 * (C1 * C2)
    degrees = np.degrees(np.arctan2(y, x))
    np.add(degrees, 360.0, out=degrees, where=degrees < 0)
    size[odd] = 1.0
    cosine, sine = x / size, y / size
    if odd.any():
        degrees[odd] = _mean_hue_by_angles(a1[odd], b1[odd], a2[odd], b2[odd])
        cosine[odd], sine[odd] = np.cos(np.radians(degrees[odd])), np.sin(np.radians(degrees[odd]))
    return cosine, sine, degrees


def _mean_hue_by_angles(a1: Array, b1: Array, a2: Array, b2: Array) -> Array:
    """Mean hue in degrees for greys and opposite hues, where the vectors' sum has no direction."""
    h1 = np.degrees(np.arctan2(b1, a1)) % 360.0
    h2 = np.degrees(np.arctan2(b2, a2)) % 360.0
    grey = ((a1 == 0) & (b1 == 0)) | ((a2 == 0) & (b2 == 0))
    total = h1 + h2
    wrapped = np.where(total < 360.0, total + 360.0, total - 360.0)
    return np.where(grey, total, np.where(np.abs(h1 - h2) > 180.0, wrapped, total) / 2.0)


def _hue_weight(c: Array, s: Array) -> Array:
    """T of the formula from the cosine and sine of the mean hue."""
    c2 = c * c - s * s
    s2 = 2.0 * (s * c)
    c3 = c2 * c - s2 * s
    s3 = s2 * c + c2 * s
    c4 = c2 * c2 - s2 * s2
    s4 = 2.0 * (s2 * c2)
    weight = c * (-0.17 * _COS30)
    weight += s * (-0.17 * _SIN30)
    weight += c2 * 0.24
    weight += c3 * (0.32 * _COS6)
    weight += s3 * (-0.32 * _SIN6)
    weight += c4 * (-0.20 * _COS63)
    weight += s4 * (-0.20 * _SIN63)
    weight += 1.0
    return weight


def _rotation(chroma: Array, degrees: Array) -> Array:
    """R_T of the formula, which turns the ellipses in the blue region."""
    angle = (degrees - 275.0) / 25.0
    angle *= angle
    np.negative(angle, out=angle)
    np.exp(angle, out=angle)
    angle *= np.radians(60.0)
    np.sin(angle, out=angle)
    angle *= -2.0
    angle *= _seventh_root_share(chroma)
    return angle
