"""A Display P3 profile, made from the published primaries for tests."""

from __future__ import annotations

import struct

import numpy as np

# SMPTE EG 432-1 primaries with D65 white, sRGB curve.
PRIMARIES = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
D65 = (0.3127, 0.3290)
D50 = np.array([0.9642, 1.0, 0.8249])
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def _xyz(x: float, y: float) -> np.ndarray:
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _fixed(*values: float) -> bytes:
    return b"".join(struct.pack(">i", round(value * 65536)) for value in values)


def display_p3() -> bytes:
    """The profile's bytes: version 4, matrix and parametric curves."""
    columns = np.array([_xyz(*p) for p in PRIMARIES]).T
    white = _xyz(*D65)
    matrix = columns * np.linalg.solve(columns, white)
    adapt = np.linalg.inv(BRADFORD) @ np.diag((BRADFORD @ D50) / (BRADFORD @ white)) @ BRADFORD
    matrix = adapt @ matrix
    curve = b"para\0\0\0\0" + struct.pack(">HH", 3, 0) + _fixed(2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
    text = "Display P3 for tests".encode("utf-16-be")
    description = b"mluc\0\0\0\0" + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(text), 28) + text
    tags = [(b"desc", description), (b"cprt", description), (b"wtpt", b"XYZ \0\0\0\0" + _fixed(*D50))]
    tags += [(key, b"XYZ \0\0\0\0" + _fixed(*matrix[:, i])) for i, key in enumerate((b"rXYZ", b"gXYZ", b"bXYZ"))]
    tags += [(key, curve) for key in (b"rTRC", b"gTRC", b"bTRC")]
    tags.append((b"chad", b"sf32\0\0\0\0" + _fixed(*adapt.reshape(-1))))
    table, body = b"", b""
    start = 128 + 4 + 12 * len(tags)
    for key, data in tags:
        table += struct.pack(">4sII", key, start + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    size = start + len(body)
    head = struct.pack(">I4sI4s4s4s", size, b"\0\0\0\0", 0x04300000, b"mntr", b"RGB ", b"XYZ ")
    head += struct.pack(">6H", 2024, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28 + _fixed(*D50)
    return head.ljust(128, b"\0") + struct.pack(">I", len(tags)) + table + body
