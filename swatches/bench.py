"""The bench seen from straight above: reflectances laid out in mm, and the lamp over them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from swatches import spectra
from swatches.scene import Chart, Scene, Tile

Box = tuple[slice, slice]


@dataclass
class Bench:
    """A canvas of sensor values under one light, ``scale`` pixels to the mm."""

    scene: Scene
    light: str
    scale: float
    canvas: np.ndarray
    random: np.random.Generator

    def response(self, reflectances: np.ndarray) -> np.ndarray:
        """Sensor values (..., 3) float32 of reflectances (..., 36)."""
        return spectra.responses(reflectances, self.light, self.scene.camera).astype(np.float32)

    def box(self, x: float, y: float, width: float, height: float) -> Box:
        """Rows and columns of a rectangle in mm."""
        left, top = round(x * self.scale), round(y * self.scale)
        return (
            slice(top, top + round(height * self.scale)),
            slice(left, left + round(width * self.scale)),
        )


def clouds(shape: tuple[int, int], grain_px: float, random: np.random.Generator) -> np.ndarray:
    """Smooth random field of unit spread, features about grain_px wide, (height, width) float32."""
    sigma = max(grain_px / 2.5, 0.4)
    step = max(1, int(sigma / 3))
    small = (shape[0] // step + 8, shape[1] // step + 8)
    field = cv2.GaussianBlur(random.standard_normal(small, dtype=np.float32), (0, 0), sigma / step)
    field = cv2.resize(field, (small[1] * step, small[0] * step), interpolation=cv2.INTER_CUBIC)
    field = field[2 * step : 2 * step + shape[0], 2 * step : 2 * step + shape[1]]
    spread: np.ndarray = (field - field.mean()) / max(float(field.std()), 1e-6)
    return spread


def tone_shares(tile: Tile, shape: tuple[int, int], scale: float, random: np.random.Generator) -> np.ndarray:
    """Share of each tone at each pixel, (tones, height, width) float32, summing to 1."""
    if len(tile.labs) == 1:
        return np.ones((1, *shape), np.float32)
    field = clouds(shape, tile.grain_mm * scale, random) + 0.35 * clouds(shape, tile.grain_mm * scale / 4, random)
    bounds = np.quantile(field, np.cumsum(tile.shares)[:-1])
    width = 0.02 + tile.soft
    above = [np.clip((field - bound) / width + 0.5, 0, 1) for bound in bounds]
    steps = [np.ones(shape, np.float32), *above, np.zeros(shape, np.float32)]
    return np.stack([steps[i] - steps[i + 1] for i in range(len(tile.labs))]).astype(np.float32)


def lay_tile(bench: Bench, tile: Tile) -> np.ndarray:
    """Paint a tile with its shadow and worn edge; gives the mean reflectance (36,) of its face."""
    random = np.random.default_rng(tile.seed)
    rows, columns = bench.box(tile.x, tile.y, tile.width, tile.height)
    shape = (rows.stop - rows.start, columns.stop - columns.start)
    _shadow(bench, (rows, columns))
    reflectances = np.stack([spectra.surface(lab) for lab in tile.labs])
    shares = tone_shares(tile, shape, bench.scale, random)
    fine = clouds(shape, 0.5 * bench.scale, random)
    coarse = clouds(shape, 3.0 * bench.scale, random)
    brightness = np.exp(tile.texture * (0.8 * fine + 0.6 * coarse)).astype(np.float32)
    if tile.relief:
        brightness *= _relief(tile, shape, random)
    weighted = shares * brightness
    face = np.tensordot(np.moveaxis(weighted, 0, -1), bench.response(reflectances), axes=1)
    mean = weighted.mean(axis=(1, 2)) @ reflectances
    if tile.highlights:
        face += _highlights(tile, shape, bench.scale, random)[..., None]
    edge = max(1, round(0.5 * bench.scale))
    face[:edge] *= 1.5
    face[:, :edge] *= 1.3
    face[-edge:] *= 0.6
    face[:, -edge:] *= 0.7
    bench.canvas[rows, columns] = face
    return np.asarray(mean)


def _highlights(tile: Tile, shape: tuple[int, int], scale: float, random: np.random.Generator) -> np.ndarray:
    """Light of the lamp's colour thrown back by the brightest facets."""
    field = clouds(shape, 0.7 * scale, random)
    bound = np.quantile(field, 1 - tile.highlights)
    return np.asarray(np.clip((field - bound) * 1.2, 0, 1.4), dtype=np.float32)


def _relief(tile: Tile, shape: tuple[int, int], random: np.random.Generator) -> np.ndarray:
    """Modelled ornament: rings and strokes that are lighter on one flank and darker on the other."""
    height: Any = np.zeros(shape, np.float32)
    for _ in range(26):
        centre = (int(random.integers(0, shape[1])), int(random.integers(0, shape[0])))
        size = int(random.integers(min(shape) // 24, min(shape) // 6))
        if random.random() < 0.5:
            cv2.circle(height, centre, size, float(random.uniform(0.4, 1)), max(2, size // 4), cv2.LINE_AA)
        else:
            far = (centre[0] + int(random.integers(-2 * size, 2 * size)), centre[1] + size)
            cv2.line(height, centre, far, float(random.uniform(0.4, 1)), max(2, size // 5), cv2.LINE_AA)
    height = cv2.GaussianBlur(height, (0, 0), min(shape) / 200)
    slope = np.asarray(np.gradient(height, axis=0)) + np.asarray(np.gradient(height, axis=1))
    return np.exp(tile.relief * slope / max(float(slope.std()), 1e-6)).astype(np.float32)


def _shadow(bench: Bench, box: Box) -> None:
    """A soft shadow to the right of and below what lies there."""
    rows, columns = box
    mask: Any = np.zeros(bench.canvas.shape[:2], np.float32)
    away = round(1.5 * bench.scale)
    mask[rows.start + away : rows.stop + away, columns.start + away : columns.stop + away] = 1
    mask = cv2.GaussianBlur(mask, (0, 0), max(1.0, 1.2 * bench.scale))
    bench.canvas *= (1 - 0.45 * mask)[..., None]


def lay_chart(bench: Bench, chart: Chart) -> list[tuple[float, float]]:
    """Paint the chart; gives the centres of patches 1, 6, 24 and 19 in mm on the bench."""
    flat = Chart(0, 0, chart.layout)
    wide, high = flat.size_mm
    scale = bench.scale
    picture = np.empty((round(high * scale), round(wide * scale), 3), np.float32)
    picture[:] = bench.response(np.full(36, 0.035))
    colours = bench.response(spectra.chart())
    start = flat.border_mm + flat.patch_mm / 2
    centres = []
    for number in range(24):
        x, y = start + number % 6 * flat.pitch_mm, start + number // 6 * flat.pitch_mm
        half = flat.patch_mm / 2
        top, left = round((y - half) * scale), round((x - half) * scale)
        side = round(flat.patch_mm * scale)
        grain = 1 + 0.006 * bench.random.standard_normal((side, side, 1), dtype=np.float32)
        picture[top : top + side, left : left + side] = colours[number] * grain
        if number in (0, 5, 23, 18):
            centres.append((x, y))
    if chart.covered:
        picture[:, : round(chart.covered * picture.shape[1])] = bench.response(spectra.surface((62.0, 4.0, 22.0)))
    for _ in range(chart.turned // 90):
        picture = np.rot90(picture, -1)
        centres = [(high - y, x) for x, y in centres]
        wide, high = high, wide
    top, left = round(chart.y * scale), round(chart.x * scale)
    rows, columns = slice(top, top + picture.shape[0]), slice(left, left + picture.shape[1])
    _shadow(bench, (rows, columns))
    bench.canvas[rows, columns] = picture
    one, six, nineteen, twenty_four = centres
    return [(x + chart.x, y + chart.y) for x, y in (one, six, twenty_four, nineteen)]


def lay_ground(bench: Bench) -> None:
    """Paint what everything lies on: wood everywhere, and white paper or grey card upon it."""
    shape = bench.canvas.shape[:2]
    grain: Any = clouds((shape[0], max(8, shape[1] // 24)), 2.5 * bench.scale, bench.random)
    grain = cv2.resize(grain, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    share = np.clip(0.5 + 0.25 * grain, 0, 1)[..., None]
    dark = bench.response(spectra.surface((42.0, 11.0, 22.0)))
    light = bench.response(spectra.surface((58.0, 9.0, 27.0)))
    bench.canvas[:] = share * light + (1 - share) * dark
    if bench.scene.lay == "bench":
        return
    colour = {"paper": (95.5, 0.3, -1.5), "card": (68.0, 0.0, 0.5)}[bench.scene.lay]
    margin_x, margin_y = (0.035 * side for side in bench.scene.field_mm)
    sheet = bench.box(
        margin_x, margin_y, bench.scene.field_mm[0] - 2 * margin_x, bench.scene.field_mm[1] - 2 * margin_y
    )
    _shadow(bench, sheet)
    bench.canvas[sheet] = bench.response(spectra.surface(colour))


def lamp_light(scene: Scene, scale: float, shape: tuple[int, int]) -> np.ndarray:
    """Light on the bench from a lamp at a finite distance, 1 in the middle of the field, (height, width, 1)."""
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32) / scale
    x, y, up = scene.lamp_mm

    def falls(column: Any, row: Any) -> np.ndarray:
        return np.asarray(up / ((column - x) ** 2 + (row - y) ** 2 + up**2) ** 1.5)

    middle = falls(scene.field_mm[0] / 2, scene.field_mm[1] / 2)
    return np.asarray((falls(columns, rows) / middle)[..., None], dtype=np.float32)
