"""Embedded colour profiles: from the codes in a file to linear light and to XYZ.

Matrix profiles (sRGB, Display P3, Adobe RGB, camera profiles) are read exactly, so that colours
outside sRGB are kept; anything else is converted to sRGB by Pillow's ImageCms.
Source: [ICC1] [SRGB]
"""

from __future__ import annotations

import io
import struct
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from PIL import ImageCms

Array = np.ndarray[Any, np.dtype[Any]]

# Linear sRGB to XYZ for D50 (Bradford), white Y = 1. Source: [SRGB] [BRADFORD]
SRGB_TO_XYZ = np.array(
    [[0.4360747, 0.3850649, 0.1430804], [0.2225045, 0.7168786, 0.0606169], [0.0139322, 0.0971045, 0.7141733]]
)


@dataclass(frozen=True, eq=False)
class Profile:
    """How codes become light.

    description: the profile's own name, None where the file holds none. curves: None for sRGB's,
    else three arrays of 1024 linear values over codes 0 to 1. matrix: linear RGB to XYZ (D50),
    shape (3, 3). data: the profile's bytes where ImageCms must do the work, else None.
    """

    description: str | None
    curves: Array | None
    matrix: Array
    data: bytes | None = None
    linear: bool = False

    def table(self, codes: int) -> Array:
        """Linear light, 0 to 1, for each code: shape (3, codes), float32. codes: 256 or 65536."""
        ramp = np.linspace(0.0, 1.0, codes)
        if self.linear:
            return np.tile(ramp, (3, 1)).astype(np.float32)
        if self.curves is None:
            return np.tile(srgb_to_linear(ramp), (3, 1)).astype(np.float32)
        steps = np.linspace(0.0, 1.0, self.curves.shape[1])
        return np.array([np.interp(ramp, steps, curve) for curve in self.curves], dtype=np.float32)


def srgb_to_linear(codes: Array) -> Array:
    """Linear light of sRGB codes, both 0 to 1. Source: [SRGB]"""
    return np.where(codes <= 0.04045, codes / 12.92, ((codes + 0.055) / 1.055) ** 2.4)


PLAIN_SRGB = Profile(None, None, SRGB_TO_XYZ)


def read_profile(data: bytes | None) -> Profile:
    """The profile in an image file; a damaged one counts as none (its ``description`` says so)."""
    return _read(data) if data else PLAIN_SRGB


@lru_cache(maxsize=16)
def _read(data: bytes) -> Profile:
    try:
        opened = ImageCms.ImageCmsProfile(io.BytesIO(data))
        name = (ImageCms.getProfileDescription(opened) or "").strip() or "unnamed profile"
    except (OSError, ImageCms.PyCMSError):
        return Profile("damaged profile, read as sRGB", None, SRGB_TO_XYZ)
    try:
        tags = _tags(data)
        columns = [_xyz(tags[key]) for key in (b"rXYZ", b"gXYZ", b"bXYZ")]
        curves = np.array([_curve(tags[key]) for key in (b"rTRC", b"gTRC", b"bTRC")])
    except (KeyError, ValueError, struct.error, IndexError):
        return Profile(name, None, SRGB_TO_XYZ, data)
    return Profile(name, curves, np.array(columns).T)


def _tags(data: bytes) -> dict[bytes, bytes]:
    if data[16:20] != b"RGB ":
        raise ValueError("not an RGB profile")
    (count,) = struct.unpack(">I", data[128:132])
    tags = {}
    for i in range(min(count, 100)):
        key, offset, size = struct.unpack(">4sII", data[132 + 12 * i : 144 + 12 * i])
        tags[key] = data[offset : offset + size]
    if b"A2B0" in tags:
        raise ValueError("a table profile")
    return tags


def _xyz(tag: bytes) -> tuple[float, float, float]:
    x, y, z = struct.unpack(">3i", tag[8:20])
    return x / 65536.0, y / 65536.0, z / 65536.0


def _curve(tag: bytes) -> Array:
    ramp = np.linspace(0.0, 1.0, 1024)
    if tag[:4] == b"curv":
        (count,) = struct.unpack(">I", tag[8:12])
        if count == 0:
            return ramp
        points = np.frombuffer(tag[12 : 12 + 2 * count], dtype=">u2").astype(np.float64)
        if count == 1:
            return ramp ** (points[0] / 256.0)
        return np.interp(ramp, np.linspace(0.0, 1.0, count), points / 65535.0)
    if tag[:4] == b"para":
        return _parametric(ramp, tag)
    raise ValueError("unknown curve")


def _parametric(ramp: Array, tag: bytes) -> Array:
    """The five parametric curves of an ICC profile. Source: [ICC1]"""
    (kind,) = struct.unpack(">H", tag[8:10])
    count = (1, 3, 4, 5, 7)[kind]
    g, *rest = (value / 65536.0 for value in struct.unpack(f">{count}i", tag[12 : 12 + 4 * count]))
    a, b, c, d, e, f = rest + [0.0] * (6 - len(rest))
    if kind == 0:
        return ramp**g
    power = np.maximum(a * ramp + b, 0.0) ** g
    if kind == 1:
        return np.where(ramp >= -b / a, power, 0.0)
    if kind == 2:
        return np.where(ramp >= -b / a, power + c, c)
    return np.where(ramp >= d, power + e, c * ramp + f)
