"""Uneven surfaces: tone parts, the size of the mottle, and how sure the mean is.

Source: [KUNSCH1989] [ASHMAN1994]
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.fft import irfft2, next_fast_len, rfft2

from patina.colour.area import AreaPixels, two_means
from patina.colour.delta_e import de2000_pairs
from patina.colour.encode import lab_of
from patina.colour.values import Lab, Part

Array = np.ndarray[Any, np.dtype[Any]]

PARTED = 4.0  # Ashman's D: tones count as parted above it; an even spread reaches 3.5
LEAST_SHARE = 0.05
LEAST_STEP_DE00 = 3.0
DRAWS = 400


def mean_lab(pixels: AreaPixels) -> Array:
    """CIELAB of the mean light of the pixels that count: what an instrument's window would see."""
    return lab_of(pixels.xyz[pixels.used].mean(axis=0))


def tone_parts(pixels: AreaPixels) -> tuple[Part, ...]:
    """Two or three tones with their shares, where the surface is really parted, else nothing."""
    lab = pixels.lab[pixels.used]
    thin = lab[:: max(1, len(lab) // 1500)]
    for count in (3, 2):
        labels, centres = two_means(thin, count)
        if _really_parted(thin, labels, centres):
            xyz = pixels.xyz[pixels.used][:: max(1, len(lab) // 1500)]
            parts = [_part(xyz[labels == number], len(thin)) for number in range(count)]
            return tuple(sorted(parts, key=lambda part: -part.share))
    return ()


def _part(xyz: Array, total: int) -> Part:
    L, a, b = lab_of(xyz.mean(axis=0))
    return Part(Lab(float(L), float(a), float(b)), len(xyz) / total)


def _is_passage(centres: Array) -> bool:
    """Whether one of three tones is but the passage between the other two."""
    gaps = [float(np.linalg.norm(centres[i] - centres[j])) for i, j in ((0, 1), (1, 2), (0, 2))]
    return 2.0 * max(gaps) > 0.92 * sum(gaps)


def _really_parted(lab: Array, labels: Array, centres: Array) -> bool:
    if len(centres) == 3 and _is_passage(centres):
        return False
    for first in range(len(centres)):
        for second in range(first):
            axis = centres[first] - centres[second]
            length = float(np.linalg.norm(axis))
            if length < 1.0:
                return False
            one, other = lab[labels == first] @ axis / length, lab[labels == second] @ axis / length
            if min(len(one), len(other)) < LEAST_SHARE * len(lab):
                return False
            apart = np.sqrt(2.0) * length / max(float(np.hypot(one.std(), other.std())), 1e-6)
            step = de2000_pairs(centres[[first]], centres[[second]])[0]
            if apart < PARTED or step < LEAST_STEP_DE00:
                return False
    return True


def grain_px(pixels: AreaPixels) -> float:
    """Size of the mottle in pixels of the photograph: twice the distance at which lightness has
    forgotten itself (correlation below 1/e), at least one raster step.
    """
    light = pixels.lab[..., 0]
    used = pixels.used
    mean = float(light[used].mean())
    held = np.where(used, light - mean, 0.0)
    size = [next_fast_len(n + n // 2, real=True) for n in held.shape]
    power = np.abs(rfft2(held, size)) ** 2
    weight = np.abs(rfft2(used.astype(np.float64), size)) ** 2
    together = irfft2(power, size) / np.maximum(irfft2(weight, size), 1.0)
    reach = max(2, min(held.shape) // 2)
    along = 0.5 * (_along(together[0, :reach], reach) + _along(together[:reach, 0], reach))
    # Without lag 0: a pixel's own noise says nothing of the mottle.
    if along[1] <= 0.05 * max(along[0], 1e-12):
        return float(pixels.step)
    below = np.flatnonzero(along[1:] < along[1] / np.e)
    lag = int(below[0]) + 1 if len(below) else reach
    return float(2 * lag * pixels.step)


def _along(line: Array, reach: int) -> Array:
    return np.pad(line, (0, reach - len(line)))


def sampling_de00(pixels: AreaPixels, grain: float) -> tuple[float, int]:
    """Expanded (95 %) uncertainty of the mean that comes from the surface's unevenness, by drawing
    blocks larger than the mottle anew; and the number of blocks. Source: [KUNSCH1989]
    """
    used = pixels.used
    rows, columns = used.shape
    side = int(np.clip(2.0 * grain / pixels.step, max(2, max(rows, columns) / 24), max(2, min(rows, columns) / 2)))
    sums, counts = _block_sums(pixels.xyz, used, side)
    full = counts >= 0.3 * side * side
    if full.sum() < 2:
        return 10.0, int(full.sum())
    sums, counts = sums[full], counts[full]
    number = len(counts)
    draws = np.random.default_rng(20141101).integers(0, number, (DRAWS, number))
    means = sums[draws].sum(axis=1) / counts[draws].sum(axis=1)[:, None]
    centre = lab_of(sums.sum(axis=0) / counts.sum())
    apart = de2000_pairs(np.broadcast_to(centre, means.shape), lab_of(means))
    # Few blocks know little of their own spread: widened as Student's t is over the normal.
    widen = np.sqrt(number / (number - 1)) * (1.0 + 2.4 / max(number - 1, 1))
    return float(np.quantile(apart, 0.95) * widen), number


def _block_sums(xyz: Array, used: Array, side: int) -> tuple[Array, Array]:
    rows, columns = used.shape
    row_starts, column_starts = np.arange(0, rows, side), np.arange(0, columns, side)
    held = np.where(used[..., None], xyz, 0.0)
    sums = np.add.reduceat(np.add.reduceat(held, row_starts, axis=0), column_starts, axis=1)
    counts = np.add.reduceat(np.add.reduceat(used.astype(np.float64), row_starts, axis=0), column_starts, axis=1)
    return sums.reshape(-1, 3), counts.reshape(-1)
