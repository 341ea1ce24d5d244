"""Corners of zones: as a screen puts them, and as they are typed."""

from __future__ import annotations

from collections.abc import Sequence

from patina.conservation.polygons import Point, Polygon, in_order, parse_polygons, show_polygons


def shape_in_order(corners: Sequence[Point]) -> Polygon:
    """Corners as a zone: three or more, in order around it. Raises BadQuantity."""
    return in_order(corners)


def points_typed(polygons: Sequence[Sequence[Point]]) -> str:
    """Polygons as they are typed, in fractions of the picture."""
    return show_polygons([tuple(polygon) for polygon in polygons])


def corners_typed(text: str, field: str) -> tuple[Polygon, ...]:
    """Polygons from what was typed. Raises BadQuantity."""
    return parse_polygons(text, field)
