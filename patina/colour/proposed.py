"""Where in a photograph a first area to be measured is proposed: in its middle, or beside the chart."""

from __future__ import annotations

from collections.abc import Sequence

from patina.colour.values import Point

Rect = tuple[float, float, float, float]

SHARE = 0.2  # of the picture's width and height
ROOM = 0.6  # of a free field's width and height, at most
EDGE_STEPS = 0.75  # from the centres of the corner patches to the chart's edge, in steps of its grid


def proposed_area(width_px: int, height_px: int, corners: Sequence[Point] = (), *, card: bool = False) -> Rect:
    """x, y, width and height in pixels of the first area to be measured.

    In the middle of the picture; where the chart lies there, in the middle of the largest field beside it.
    corners: centres of patches 1, 6, 24 and 19, none where no chart was found; with ``card`` the outer corners of a
    card. That something worth measuring lies there is not checked.

    >>> proposed_area(1000, 500)
    (400.0, 200.0, 200.0, 100.0)
    >>> proposed_area(1000, 500, [(200, 100), (600, 100), (600, 400), (200, 400)], card=True)
    (700.0, 200.0, 200.0, 100.0)
    """
    middle = _centred((0.0, 0.0, float(width_px), float(height_px)), SHARE * width_px, SHARE * height_px)
    if len(corners) != 4:
        return middle
    left, top, right, bottom = _bounds(corners, card, width_px, height_px)
    if not (middle[0] < right and left < middle[0] + middle[2] and middle[1] < bottom and top < middle[1] + middle[3]):
        return middle
    beside: tuple[Rect, ...] = (
        (0.0, 0.0, left, height_px),
        (right, 0.0, width_px - right, height_px),
        (0.0, 0.0, width_px, top),
        (0.0, bottom, width_px, height_px - bottom),
    )
    free = max(beside, key=lambda field: field[2] * field[3])
    return _centred(free, min(SHARE * width_px, ROOM * free[2]), min(SHARE * height_px, ROOM * free[3]))


def _centred(field: Rect, width: float, height: float) -> Rect:
    x, y, w, h = field
    return (x + (w - width) / 2, y + (h - height) / 2, width, height)


def _bounds(corners: Sequence[Point], card: bool, width_px: int, height_px: int) -> Rect:
    """Left, top, right and bottom of chart or card, within the picture."""
    points = [(float(x), float(y)) for x, y in corners]
    if not card:
        import numpy as np

        from patina.colour.chart_geometry import outline

        points = [(float(x), float(y)) for x, y in outline(np.array(points), EDGE_STEPS)]
    across, down = [x for x, _ in points], [y for _, y in points]
    return (
        max(min(across), 0.0),
        max(min(down), 0.0),
        min(max(across), float(width_px)),
        min(max(down), float(height_px)),
    )
