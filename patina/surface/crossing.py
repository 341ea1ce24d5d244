"""Triangles of a mesh that cross each other: found by a grid and an edge-through-triangle test."""

from __future__ import annotations

from typing import Any

import numpy as np

_MOST_PAIRS = 4_000_000


def crossing_pairs(triangles: Any, faces: Any) -> int | None:
    """How many pairs of triangles cross that share no corner.

    triangles: (n, 3, 3) corners. faces: (n, 3) numbers of the corners. Triangles that only touch or
    lie in one plane are not counted. None where too many triangles lie close to look at all pairs.
    Source: edge test after [MOLLER1997].
    """
    pairs = _close_pairs(triangles)
    if pairs is None:
        return None
    first, second = pairs
    shared = (faces[first][:, :, None] == faces[second][:, None, :]).any(axis=(1, 2))
    first, second = first[~shared], second[~shared]
    hits = np.zeros(len(first), dtype=bool)
    for i in range(3):
        j = (i + 1) % 3
        hits |= _edge_through(triangles[first, i], triangles[first, j], triangles[second])
        hits |= _edge_through(triangles[second, i], triangles[second, j], triangles[first])
    return int(hits.sum())


def _close_pairs(triangles: Any) -> tuple[Any, Any] | None:
    """Pairs of triangles whose boxes overlap, from cells of a grid."""
    low, high = triangles.min(axis=1), triangles.max(axis=1)
    size = float(np.quantile((high - low).max(axis=1), 0.9)) or 1.0
    start = np.floor((low - low.min(axis=0)) / size).astype(np.int64)
    stop = np.floor((high - low.min(axis=0)) / size).astype(np.int64)
    if int((stop - start + 1).prod(axis=1).sum()) > _MOST_PAIRS:
        return None
    cells, owner = _occupied(start, stop)
    order = np.argsort(cells, kind="stable")
    cells, owner = cells[order], owner[order]
    starts = np.flatnonzero(np.r_[True, cells[1:] != cells[:-1]])
    counts = np.diff(np.r_[starts, len(cells)])
    if int((counts * (counts - 1) // 2).sum()) > _MOST_PAIRS:
        return None
    # Each entry is paired with those after it in its own cell.
    after = np.repeat(starts + counts, counts) - np.arange(len(cells)) - 1
    left = np.repeat(np.arange(len(cells)), after)
    steps = np.arange(len(left)) - np.repeat(np.cumsum(after) - after, after) + 1
    a, b = owner[left], owner[left + steps]
    touch = ((low[a] <= high[b]) & (low[b] <= high[a])).all(axis=1)
    pairs = np.unique(np.sort(np.stack([a[touch], b[touch]], axis=1), axis=1), axis=0)
    return pairs[:, 0], pairs[:, 1]


def _occupied(start: Any, stop: Any) -> tuple[Any, Any]:
    """Cell number and triangle for every cell that a triangle's box covers."""
    span = stop - start + 1
    total = span.prod(axis=1)
    owner = np.repeat(np.arange(len(start)), total)
    nth = np.arange(len(owner)) - np.repeat(np.cumsum(total) - total, total)
    s = span[owner]
    offset = np.stack([nth // (s[:, 1] * s[:, 2]), nth // s[:, 2] % s[:, 1], nth % s[:, 2]], axis=1)
    cell = start[owner] + offset
    width = stop.max(axis=0) + 1
    return (cell[:, 0] * width[1] + cell[:, 1]) * width[2] + cell[:, 2], owner


def _edge_through(p: Any, q: Any, triangle: Any) -> Any:
    """Whether the edge p–q passes through the inside of the triangle, touching not counted."""
    a, b, c = triangle[:, 0], triangle[:, 1], triangle[:, 2]
    way = q - p
    normal = np.cross(b - a, c - a)
    slope = np.einsum("ij,ij->i", way, normal)
    lengths = np.linalg.norm(way, axis=1) * np.linalg.norm(normal, axis=1)
    fair = np.abs(slope) > 1e-9 * np.where(lengths > 0, lengths, 1)
    t = np.einsum("ij,ij->i", a - p, normal) / np.where(fair, slope, 1)
    hit = p + t[:, None] * way
    square = np.where(fair, np.einsum("ij,ij->i", normal, normal), 1)
    parts = [np.einsum("ij,ij->i", np.cross(v - u, hit - u), normal) / square for u, v in ((a, b), (b, c), (c, a))]
    eps = 1e-6
    return fair & (t > eps) & (t < 1 - eps) & (parts[0] > eps) & (parts[1] > eps) & (parts[2] > eps)
