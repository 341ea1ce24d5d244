"""Finding a chart by its even squares and the grid they stand in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.chart_data import COLUMNS, ROWS
from patina.colour.chart_geometry import CORNER_PLACES

Array = np.ndarray[Any, np.dtype[Any]]
Node = tuple[int, int]

MIN_SIDE_PX = 6.0
EDGE_LEVELS = (4, 8, 14, 24, 40)  # codes per pixel: steps between a patch and its frame, dull to strong
MIN_NODES = 7
MAX_SQUARES = 700


@dataclass(frozen=True, eq=False)
class Squares:
    """Even, square-like spots. centres: shape (n, 2). sides: shape (n,), pixels."""

    centres: Array
    sides: Array


def find_squares(picture: Array) -> Squares:
    """Even spots of a picture (uint8 RGB) that are roughly square, at any size and turn."""
    smooth = cv2.medianBlur(picture, 3)
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (3, 3))
    edges = cv2.morphologyEx(smooth, cv2.MORPH_GRADIENT, kernel).max(axis=2)
    found: list[tuple[float, float, float]] = []
    for level in EDGE_LEVELS:
        found.extend(_square_parts((edges < level).astype(np.uint8), picture.shape))
    return _merged(found)


def _square_parts(even: Array, shape: tuple[int, ...]) -> Iterator[tuple[float, float, float]]:
    largest = 0.25 * max(shape[:2])
    contours, _ = cv2.findContours(even, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
    for contour in contours:
        if len(contour) < 4:
            continue
        area = cv2.contourArea(contour)
        if area < (MIN_SIDE_PX - 2) ** 2 or area > largest**2:
            continue
        (x, y), (w, h), _ = cv2.minAreaRect(contour)
        if min(w, h) <= 0 or max(w, h) / min(w, h) > 2.6:
            continue
        hull = cv2.contourArea(cv2.convexHull(contour))
        if area / (w * h) < 0.66 or area / max(hull, 1.0) < 0.86:
            continue
        yield x, y, float(np.sqrt(area)) + 2.0


def _merged(found: list[tuple[float, float, float]]) -> Squares:
    """One spot for those seen at several edge levels; the largest stands for all."""
    kept: list[tuple[float, float, float]] = []
    centres = np.empty((0, 2))
    for x, y, side in sorted(found, key=lambda spot: -spot[2]):
        if len(kept):
            near = np.hypot(centres[:, 0] - x, centres[:, 1] - y) < 0.35 * side
            sizes = np.array([k[2] for k in kept])
            if np.any(near & (sizes < 1.7 * side)):
                continue
        kept.append((x, y, side))
        centres = np.array([k[:2] for k in kept])
        if len(kept) >= MAX_SQUARES:
            break
    if not kept:
        return Squares(np.empty((0, 2)), np.empty(0))
    return Squares(centres, np.array([k[2] for k in kept]))


def grids(squares: Squares) -> list[dict[Node, Array]]:
    """Grids of at least MIN_NODES squares, the largest first: place in the grid to pixel."""
    found: list[dict[Node, Array]] = []
    used: set[int] = set()
    for seed in range(len(squares.sides)):
        if seed in used:
            continue
        best: dict[Node, int] = {}
        most = 0.0
        for right, down in _axes(squares, seed):
            grown = _grow(squares, seed, right, down)
            worth = len(grown) - _skew(right, down, float(squares.sides[seed]))
            if worth > most:
                best, most = grown, worth
        if len(best) >= MIN_NODES and len({n[0] for n in best}) > 1 and len({n[1] for n in best}) > 1:
            used.update(best.values())
            found.append({node: squares.centres[i] for node, i in best.items()})
    return sorted(found, key=len, reverse=True)


def _skew(right: Array, down: Array, side: float) -> float:
    """Squares that a grid with slanting or long steps must have more than an upright one: the
    diagonals of a grid make a grid too.
    """
    lengths = float(np.hypot(*right)), float(np.hypot(*down))
    slant = abs(float(right @ down)) / (lengths[0] * lengths[1])
    return 8.0 * slant + 2.0 * (lengths[0] + lengths[1]) / side


def _axes(squares: Squares, seed: int) -> Iterator[tuple[Array, Array]]:
    """Pairs of neighbours of a square that may be one step along each side of the grid."""
    apart = squares.centres - squares.centres[seed]
    distance = np.hypot(apart[:, 0], apart[:, 1])
    ratio = squares.sides / squares.sides[seed]
    close = np.flatnonzero((distance > 0.75 * squares.sides[seed]) & (distance < 2.2 * squares.sides[seed]))
    close = close[(ratio[close] > 0.55) & (ratio[close] < 1.8)]
    close = close[np.argsort(distance[close])][:8]
    for i in close:
        for j in close:
            cross = apart[i, 0] * apart[j, 1] - apart[i, 1] * apart[j, 0]
            if cross > 0.6 * distance[i] * distance[j] and 0.45 < distance[i] / distance[j] < 2.2:
                yield apart[i], apart[j]


def _grow(squares: Squares, seed: int, right: Array, down: Array) -> dict[Node, int]:
    """All squares reached by steps along the grid, the step adjusted on the way."""
    nodes: dict[Node, int] = {(0, 0): seed}
    steps: dict[Node, tuple[Array, Array]] = {(0, 0): (right, down)}
    queue: list[Node] = [(0, 0)]
    while queue and len(nodes) < 80:
        column, row = queue.pop(0)
        u, v = steps[(column, row)]
        here = squares.centres[nodes[(column, row)]]
        side = squares.sides[nodes[(column, row)]]
        for dc, dr in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            node = (column + dc, row + dr)
            if node in nodes:
                continue
            step = dc * u + dr * v
            apart = np.hypot(*(squares.centres - (here + step)).T)
            ratio = squares.sides / side
            apart[(ratio < 0.55) | (ratio > 1.8)] = np.inf
            nearest = int(np.argmin(apart))
            if apart[nearest] > 0.22 * float(np.hypot(*step)) or nearest in nodes.values():
                continue
            nodes[node] = nearest
            real = (squares.centres[nearest] - here) * (dc + dr)
            steps[node] = (0.5 * u + 0.5 * real, v) if dc else (u, 0.5 * v + 0.5 * real)
            queue.append(node)
    return nodes


def quads(grid: dict[Node, Array]) -> list[Array]:
    """Places of a 6 by 4 (or 4 by 6) field in a grid: corner patch centres in pixels, shape (4, 2),
    those that hold most squares first.

    Squares that stand outside the field, and patches that were not seen, are allowed: the field may
    slide by two steps beyond what was seen.
    """
    places = np.array(list(grid), dtype=np.float64)
    pixels = np.array(list(grid.values()), dtype=np.float64)
    kind = cv2.RANSAC if len(places) > 8 else 0
    step = float(np.median(np.hypot(*(pixels - pixels.mean(axis=0)).T))) * 0.1
    found, _ = cv2.findHomography(places, pixels, kind, max(step, 2.0))
    if found is None:
        return []
    proposals: list[tuple[int, Array]] = []
    low, high = places.min(axis=0).astype(int), places.max(axis=0).astype(int)
    for columns, rows in ((COLUMNS, ROWS), (ROWS, COLUMNS)):
        corners = CORNER_PLACES.astype(np.float64)
        if columns == ROWS:
            corners = np.array([[ROWS - 1, 0], [ROWS - 1, COLUMNS - 1], [0, COLUMNS - 1], [0, 0]], dtype=np.float64)
        for c in range(min(low[0], high[0] - columns + 1) - 2, max(low[0], high[0] - columns + 1) + 3):
            for r in range(min(low[1], high[1] - rows + 1) - 2, max(low[1], high[1] - rows + 1) + 3):
                inside = (
                    (places[:, 0] >= c) & (places[:, 0] < c + columns) & (places[:, 1] >= r) & (places[:, 1] < r + rows)
                )
                if inside.sum() < max(MIN_NODES - 1, 0.4 * min(len(places), 24)):
                    continue
                shifted = np.concatenate([corners + np.array([c, r]), np.ones((4, 1))], axis=1) @ found.T
                if np.all(shifted[:, 2] > 0) or np.all(shifted[:, 2] < 0):
                    proposals.append((int(inside.sum()), shifted[:, :2] / shifted[:, 2:]))
    return [quad for _, quad in sorted(proposals, key=lambda proposal: -proposal[0])]
