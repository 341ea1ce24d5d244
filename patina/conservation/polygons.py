"""Areas of what is drawn on a photograph: polygons in fractions of the picture, overlaps counted once.

Shares of area do not depend on the picture's proportions, so fractions serve as they are; lengths do, and
take ``aspect``, width over height.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

from patina.errors import BadQuantity

Point = tuple[float, float]
Polygon = tuple[Point, ...]
MOST_POINTS = 400
_TINY = 1e-12


def shoelace(polygon: Sequence[Point]) -> float:
    """Area of a simple polygon by the surveyor's formula, above zero whichever way it runs.

    >>> shoelace([(0, 0), (1, 0), (1, 0.5), (0, 0.5)])
    0.5
    """
    pairs = zip(polygon, (*polygon[1:], polygon[0]), strict=True)
    return abs(math.fsum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs)) / 2


def perimeter(polygon: Sequence[Point], aspect: float = 1.0) -> float:
    """Length around, in heights of the picture."""
    pairs = zip(polygon, (*polygon[1:], polygon[0]), strict=True)
    return math.fsum(math.hypot((x2 - x1) * aspect, y2 - y1) for (x1, y1), (x2, y2) in pairs)


def in_order(polygon: Sequence[Point], field: str = "polygons") -> Polygon:
    """The polygon with repeated points left out.

    Raises BadQuantity for fewer than three points, a point outside the picture, an area of nothing, and a
    polygon that crosses itself: its area would be a guess.
    """
    points: list[Point] = []
    for x, y in polygon:
        if not (math.isfinite(x) and math.isfinite(y) and 0.0 <= x <= 1.0 and 0.0 <= y <= 1.0):
            raise BadQuantity(
                f"The point {x:g},{y:g} lies outside the picture.",
                "Give fractions of the picture: 0,0 is the upper left corner, 1,1 the lower right.",
                field=field,
            )
        if not points or (x, y) != points[-1]:
            points.append((float(x), float(y)))
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if not 3 <= len(points) <= MOST_POINTS:
        raise BadQuantity(
            f"A zone of {len(points)} points cannot be drawn.", f"Give 3 to {MOST_POINTS} points.", field=field
        )
    if _crosses_itself(points):
        raise BadQuantity("The outline crosses itself.", "Give the points in order around the zone.", field=field)
    if shoelace(points) < 1e-9:
        raise BadQuantity("The points lie on one line.", "Give points around the zone.", field=field)
    return tuple(points)


def _crosses_itself(points: Sequence[Point]) -> bool:
    edges = list(zip(points, (*points[1:], points[0]), strict=True))
    for i, one in enumerate(edges):
        for j in range(i + 2, len(edges)):
            if i == 0 and j == len(edges) - 1:
                continue
            if _meet(one, edges[j]):
                return True
    return len(set(points)) != len(points)


def _meet(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, other
    sides = (_side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b))
    if sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0:
        return True
    on = ((sides[0], a, b, c), (sides[1], a, b, d), (sides[2], c, d, a), (sides[3], c, d, b))
    return any(s == 0 and _between(p, q, r) for s, p, q, r in on)


def _side(a: Point, b: Point, p: Point) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _between(a: Point, b: Point, p: Point) -> bool:
    return min(a[0], b[0]) <= p[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= p[1] <= max(a[1], b[1])


def union_area(polygons: Sequence[Polygon]) -> float:
    """Area that at least one of the polygons covers.

    >>> round(union_area([((0, 0), (1, 0), (1, 1), (0, 1)), ((0.5, 0), (1, 0), (1, 1), (0.5, 1))]), 12)
    1.0
    """
    return covered([polygons], lambda inside: inside[0])


def common_area(zone: Sequence[Polygon], mask: Sequence[Polygon]) -> float:
    """Area that the zone and the mask both cover, each taken as the union of its polygons."""
    return covered([zone, mask], lambda inside: inside[0] and inside[1])


def covered(groups: Sequence[Sequence[Polygon]], counts: Callable[[list[bool]], bool]) -> float:
    """Area of all places where ``counts`` says yes to "inside group 1, inside group 2, …".

    Exact but for rounding: the picture is cut into strips at every corner and crossing; within a strip no
    edges cross, so each piece is a trapezium.
    """
    edges = [
        (g, p, *((one, other) if one[1] < other[1] else (other, one)))
        for g, polygons in enumerate(groups)
        for p, polygon in enumerate(polygons)
        for one, other in zip(polygon, (*polygon[1:], polygon[0]), strict=True)
        if one[1] != other[1]
    ]
    edges.sort(key=lambda edge: edge[2][1])
    levels = sorted({y for _, _, a, b in edges for y in (a[1], b[1])} | _crossings(edges))
    pieces: list[float] = []
    begun, active = 0, edges[:0]
    for low, high in itertools.pairwise(levels):
        while begun < len(edges) and edges[begun][2][1] <= low:
            active.append(edges[begun])
            begun += 1
        active = [edge for edge in active if edge[3][1] > low]
        if high - low < _TINY:
            continue
        middle = (low + high) / 2
        hits = sorted((_x_at(a, b, middle), g, p) for g, p, a, b in active if b[1] > middle)
        pieces.append((high - low) * _width(hits, len(groups), counts))
    return math.fsum(pieces)


def _x_at(a: Point, b: Point, y: float) -> float:
    return a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1])


def _width(hits: list[tuple[float, int, int]], groups: int, counts: Callable[[list[bool]], bool]) -> float:
    """How much of one line counts: along it every hit goes into or out of one polygon."""
    within: list[set[int]] = [set() for _ in range(groups)]
    total = 0.0
    for (x, g, p), (following, _, _) in itertools.pairwise(hits):
        within[g] ^= {p}
        if counts([bool(polygons) for polygons in within]):
            total += following - x
    return total


def _crossings(edges: Sequence[tuple[int, int, Point, Point]]) -> set[float]:
    """Heights at which edges cross. edges: each from its upper end down, in order of their upper ends."""
    found: set[float] = set()
    for i, (_, _, a, b) in enumerate(edges):
        left, right = min(a[0], b[0]), max(a[0], b[0])
        along_x, along_y = b[0] - a[0], b[1] - a[1]
        for _, _, c, d in edges[i + 1 :]:
            if c[1] >= b[1]:
                break
            if (c[0] < left and d[0] < left) or (c[0] > right and d[0] > right):
                continue
            other_x, other_y = d[0] - c[0], d[1] - c[1]
            turn = along_x * other_y - along_y * other_x
            if abs(turn) < _TINY:
                continue
            t = ((c[0] - a[0]) * other_y - (c[1] - a[1]) * other_x) / turn
            u = ((c[0] - a[0]) * along_y - (c[1] - a[1]) * along_x) / turn
            if 0.0 < t < 1.0 and 0.0 < u < 1.0:
                found.add(a[1] + t * along_y)
    return found


def parse_polygons(text: str, field: str = "polygons") -> tuple[Polygon, ...]:
    """Polygons as they are typed: "x,y x,y x,y; x,y …", fractions of the picture. Raises BadQuantity.

    >>> parse_polygons("0,0 1,0 1,1")
    (((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)),)
    """
    return tuple(
        in_order([parse_spot(word, field) for word in part.split()], field) for part in text.split(";") if part.strip()
    )


def parse_spot(text: str, field: str = "spot") -> Point:
    """One place "x,y" in fractions of the picture. Raises BadQuantity."""
    parts = text.strip().split(",")
    try:
        x, y = (float(part) for part in parts)
    except ValueError:
        x = y = math.nan
    if not (0.0 <= x <= 1.0 and 0.0 <= y <= 1.0):
        raise BadQuantity(
            f"'{text}' is no place in the picture.",
            "Write it as 0.42,0.71: fractions of width and height from the upper left corner.",
            field=field,
        )
    return (x, y)


def show_polygons(polygons: Sequence[Polygon]) -> str:
    """Polygons as they are typed.

    >>> show_polygons((((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)),))
    '0,0 1,0 1,1'
    """
    return "; ".join(" ".join(f"{x:.6g},{y:.6g}" for x, y in polygon) for polygon in polygons)
