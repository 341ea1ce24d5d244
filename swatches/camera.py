"""From light on the sensor to a file: noise, white balance, matrix, tone curve, codes."""

from __future__ import annotations

import numpy as np

from swatches.scene import Scene
from swatches.spectra import built_in_matrix

CURVES = ("srgb", "contrast", "shoulder", "flat")


def encode(linear: np.ndarray, curve: str) -> np.ndarray:
    """Linear light 0 to 1 to picture values 0 to 1 by one of CURVES.

    "srgb": the standard's own. "contrast": the same with an S on top, as most cameras add.
    "shoulder": highlights rolled off, middle lifted. "flat": a plain power of 1/2.4.
    """
    light = np.clip(linear, 0.0, 1.0)
    if curve == "flat":
        return light ** (1 / 2.4)
    if curve == "shoulder":
        lifted = 1.7 * light
        light = lifted * (1 + lifted / 1.7**2) / (1 + lifted)
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
    if curve == "contrast":
        value = 0.6 * value + 0.4 * value * value * (3 - 2 * value)
    return value


def develop(sensor: np.ndarray, scene: Scene, random: np.random.Generator) -> np.ndarray:
    """Picture codes (height, width, 3) uint8 of sensor light (1 = a perfect white in the lamp's middle)."""
    glare = scene.glare * sensor.mean(axis=(0, 1))
    filled = (sensor + glare) * 0.9 * scene.exposure
    noise = np.sqrt(np.maximum(filled, 0) / scene.wells + (3.0 / scene.wells) ** 2)
    filled = np.clip(filled + noise * random.standard_normal(filled.shape, dtype=np.float32), 0.0, 1.0)
    balanced = filled * np.array([scene.balance[0], 1.0, scene.balance[1]])
    linear = balanced @ built_in_matrix(scene.light, scene.camera).T
    return np.round(encode(linear, scene.curve) * 255).astype(np.uint8)
