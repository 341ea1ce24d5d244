"""Finding the whole tile around a spot, by its colours and its outline."""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np

from patina.colour.area import two_means
from patina.colour.photograph import Photo
from patina.colour.values import AreaSpec
from patina.errors import Refused

Array = np.ndarray[Any, np.dtype[Any]]

MAP_SIDE_PX = 800
TONES = 3
ALIKE = 14.0  # CIELAB-like units from the nearest tone of the spot
MARGIN = 0.04  # of the tile's size, left out along its rim
FILL = 0.72  # share of its straightened outline that a tile fills


def tile_around(photo: Photo, spec: AreaSpec, spot: Array) -> Array:
    """Outline of the tile that a spot lies on, shape (4, 2), pixels, a little inside its rim.

    spot: polygon on the tile, shape (n, 2), that shows its tones. Only four-sided tiles that differ
    from their ground in colour are found. Raises Refused where no such outline is seen.
    """
    picture, factor = photo.reduced(MAP_SIDE_PX)
    lab = cv2.cvtColor(cv2.medianBlur(np.ascontiguousarray(picture), 3).astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    seed = np.zeros(lab.shape[:2], dtype=np.uint8)
    cv2.fillPoly(seed, [np.rint((spot + 0.5) / factor - 0.5).astype(np.int32)], 1)
    own = lab[seed > 0]
    if len(own) < 12:
        raise _not_found(spec)
    _, tones = two_means(own, TONES)
    apart = np.min([np.linalg.norm(lab - tone.astype(np.float32), axis=2) for tone in tones], axis=0)
    limit = max(ALIKE, 1.5 * float(np.quantile(apart[seed > 0], 0.95)))
    alike = ((apart < limit) | (seed > 0)).astype(np.uint8)
    size = max(3, round(0.01 * max(lab.shape[:2])) | 1)
    alike = cv2.morphologyEx(alike, cv2.MORPH_CLOSE, np.ones((size, size), np.uint8))
    alike = cv2.morphologyEx(alike, cv2.MORPH_OPEN, np.ones((size, size), np.uint8))
    _, labels, stats, _ = cv2.connectedComponentsWithStats(alike, connectivity=4)
    label = int(np.argmax(np.bincount(labels[seed > 0])))
    left, top, width, height, area = stats[label]
    whole = left == 0 or top == 0 or left + width == lab.shape[1] or top + height == lab.shape[0]
    contours, _ = cv2.findContours((labels == label).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    hull = cv2.convexHull(max(contours, key=cv2.contourArea))
    quad = cv2.approxPolyDP(hull, 0.05 * cv2.arcLength(hull, True), True).reshape(-1, 2).astype(np.float64)
    if whole or label == 0 or len(quad) != 4 or area < FILL * cv2.contourArea(quad.astype(np.float32)):
        raise _not_found(spec)
    middle = quad.mean(axis=0)
    return (middle + (quad - middle) * (1.0 - 2.0 * MARGIN) + 0.5) * factor - 0.5


def _not_found(spec: AreaSpec) -> Refused:
    return Refused(
        f"No outline of a tile is seen around '{spec.name}'.",
        "Lay the tile on plain ground of another colour, or give the area as a rectangle or polygon.",
        title="That area cannot be read",
        field=spec.name,
    )
