"""Reading one area: which pixels, what is highlight, the mean an instrument would see, its spread."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.encode import WHITE_D50, lab_of, xyz_of
from patina.colour.photograph import Photo
from patina.colour.values import AreaSpec, Point
from patina.errors import Refused

Array = np.ndarray[Any, np.dtype[Any]]

MAX_SAMPLES = 8_000  # pixels read of one area, evenly spread; more change no figure that is stated
MIN_PIXELS = 64
HIGHLIGHT_STEP = 0.06  # light added by a reflection, as a share of white, before it counts as one
HIGHLIGHT_PURITY = 0.13  # how far a reflection may be from the light's own colour
SPECK_PURITY = 0.30  # the same for a speck, which a tone of the surface seldom is
SPECK_SHARE = 0.002  # of the area's pixels
LARGEST_HIGHLIGHT_SHARE = 0.35


@dataclass(frozen=True, eq=False)
class AreaPixels:
    """The pixels of an area on an even raster. lab, xyz: shape (rows, columns, 3), corrected. inside:
    in the outline. clipped, highlight: bool, same shape. step: raster width in pixels.
    """

    lab: Array
    xyz: Array
    inside: Array
    clipped: Array
    highlight: Array
    step: int

    @property
    def used(self) -> Array:
        """Pixels that count: inside, neither clipped nor highlight."""
        return self.inside & ~self.clipped & ~self.highlight


def polygon_of(spec: AreaSpec, width: int, height: int) -> Array:
    """Corners of an area in pixels, shape (n, 2).

    Raises Refused for an area without size, without numbers, or reaching outside the frame.
    """
    if spec.rect is not None:
        x, y, w, h = spec.rect
        corners: tuple[Point, ...] = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
        if not (w > 0 and h > 0):
            raise _refused(spec, "has no size", "Give x, y, width and height in pixels, the last two above zero.")
    elif spec.polygon is not None and len(spec.polygon) >= 3:
        corners = spec.polygon
    else:
        raise _refused(spec, "has no outline", "Give a rectangle, or a polygon of three or more corners.")
    polygon = np.asarray(corners, dtype=np.float64)
    if not np.isfinite(polygon).all():
        raise _refused(spec, "has a corner that is no number", "Give pixels of the upright picture.")
    if polygon.min() < 0 or polygon[:, 0].max() > width or polygon[:, 1].max() > height:
        raise _refused(
            spec, f"reaches outside the picture of {width} × {height} pixels", "Move it inside, or make it smaller."
        )
    if cv2.contourArea(polygon.astype(np.float32)) < MIN_PIXELS:
        raise _refused(spec, f"is smaller than {MIN_PIXELS} pixels", "Make it larger, or go nearer with the camera.")
    return polygon


def refuse_on_chart(spec: AreaSpec, polygon: Array, field: Array) -> None:
    """Raises Refused for an area that overlaps the chart. field: the chart's outline, shape (4, 2)."""
    hull = cv2.convexHull(polygon.astype(np.float32))
    chart = cv2.convexHull(field.astype(np.float32))
    overlap, _ = cv2.intersectConvexConvex(hull, chart)
    if overlap > 0.02 * cv2.contourArea(hull):
        raise _refused(spec, "lies on the chart", "Put it on the surface that is to be read.")


def _refused(spec: AreaSpec, what: str, remedy: str) -> Refused:
    return Refused(f"The area '{spec.name}' {what}.", remedy, title="That area cannot be read", field=spec.name)


def area_pixels(
    photo: Photo, polygon: Array, to_lab: Callable[[Array], Array], light_at: Callable[[Array], Array] | None
) -> AreaPixels:
    """Corrected pixels of an area. to_lab: CIELAB of linear light (n, 3). light_at: the flat field."""
    low = np.maximum(np.floor(polygon.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(polygon.max(axis=0)).astype(int), [photo.width, photo.height])
    codes = photo.codes(int(low[0]), int(low[1]), int(high[0]), int(high[1]))
    step = max(1, int(np.ceil(np.sqrt(codes.shape[0] * codes.shape[1] / MAX_SAMPLES))))
    codes = np.ascontiguousarray(codes[::step, ::step])
    rows, columns = codes.shape[:2]
    inside = np.zeros((rows, columns), dtype=np.uint8)
    local = np.round((polygon - low) / step - 0.5).astype(np.int32)
    cv2.fillPoly(inside, [local], 1)
    light = photo.linear(codes).reshape(-1, 3).astype(np.float64)
    if light_at is not None:
        x, y = np.meshgrid(low[0] + step * np.arange(columns), low[1] + step * np.arange(rows))
        light /= light_at(np.stack([x, y], axis=-1).reshape(-1, 2))[:, None]
    lab = to_lab(light).reshape(rows, columns, 3)
    slack = 1 if photo.full_scale == 255 else 128
    clipped = (codes >= photo.full_scale - slack).any(axis=2)
    xyz = xyz_of(lab)
    where = inside.astype(bool)
    return AreaPixels(lab, xyz, where, clipped & where, highlights(xyz, where & ~clipped) & where, step)


def highlights(xyz: Array, usable: Array) -> Array:
    """Pixels that show the lamp rather than the surface: the surface's colour plus white light.

    Told by colour: a reflection adds light of the light's own colour to a tone that is there beside
    it. A paler tone of the surface itself, which adds light of another colour, is kept.
    xyz: shape (rows, columns, 3). usable: bool. Returns bool of that shape.
    """
    share = xyz / WHITE_D50
    pixels = share[usable]
    if len(pixels) < MIN_PIXELS:
        return np.zeros(usable.shape, dtype=bool)
    bodies = _bodies(pixels)
    found = np.zeros(usable.shape, dtype=bool)
    near = np.zeros(usable.shape, dtype=bool)
    for body, level in bodies:
        added = share - body
        step = added.mean(axis=-1)
        off = np.linalg.norm(added - step[..., None], axis=-1) / np.sqrt(3.0)
        bright = step > max(HIGHLIGHT_STEP, level)
        found |= bright & (off < HIGHLIGHT_PURITY * step)
        near |= bright & (off < SPECK_PURITY * step)
    found |= _specks(near & usable)
    for body, level in bodies:  # a pixel that belongs to a tone of its own is no highlight
        found &= np.linalg.norm(share - body, axis=-1) > max(HIGHLIGHT_STEP, level)
    found &= usable
    if found.sum() > LARGEST_HIGHLIGHT_SHARE * usable.sum():
        return np.zeros(usable.shape, dtype=bool)
    return found


def _specks(near: Array) -> Array:
    """The small spots among those that may be reflections."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(near.astype(np.uint8), connectivity=8)
    small = np.zeros(count, dtype=bool)
    small[1:] = stats[1:, cv2.CC_STAT_AREA] <= max(SPECK_SHARE * near.size, 4)
    return small[labels]


def _bodies(pixels: Array) -> list[tuple[Array, float]]:
    """The surface's own tones, with the light a pixel of each may differ by through noise and grain."""
    thin = pixels[:: max(1, len(pixels) // 2000)]
    calm = thin[thin[:, 1] <= np.quantile(thin[:, 1], 0.9)]
    labels, _ = two_means(lab_of(calm * WHITE_D50), 2)
    bodies = []
    for number in range(2):
        own = calm[labels == number]
        if len(own) >= 0.1 * len(calm):
            middle = np.median(own, axis=0)
            spread = 1.4826 * float(np.median(np.abs(own.mean(axis=1) - middle.mean())))
            bodies.append((middle, 4.0 * spread))
    return bodies


def two_means(lab: Array, count: int) -> tuple[Array, Array]:
    """Splits colours into ``count`` tones: (label of each, centres). lab: shape (n, 3)."""
    data = np.ascontiguousarray(lab, dtype=np.float32)
    cv2.setRNGSeed(7)
    _, labels, centres = cv2.kmeans(
        data,
        count,
        np.empty(0),
        (cv2.TERM_CRITERIA_MAX_ITER + cv2.TERM_CRITERIA_EPS, 15, 0.3),
        2,
        cv2.KMEANS_PP_CENTERS,
    )
    return labels.reshape(-1), centres.astype(np.float64)
