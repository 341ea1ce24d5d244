"""The first area that is proposed lies in the picture and not on the chart."""

from __future__ import annotations

import numpy as np
import pytest

import swatches
from patina.bench.readings.reading import read
from patina.bench.readings.showing import proposed_area
from patina.colour.chart_geometry import outline


def _apart(rect: tuple[float, float, float, float], corners: list[tuple[float, float]]) -> bool:
    """Whether a rectangle and the upright box round the chart have nothing in common."""
    x, y, w, h = rect
    field = outline(np.array(corners))
    (left, top), (right, bottom) = field.min(axis=0), field.max(axis=0)
    return bool(x >= right or x + w <= left or y >= bottom or y + h <= top)


def test_without_a_chart_it_is_the_middle() -> None:
    """A fifth of the width and of the height, in the middle; so too where the chart leaves the middle free."""
    assert proposed_area(1000, 500) == (400.0, 200.0, 200.0, 100.0)
    assert proposed_area(1000, 500, [(20, 20), (120, 20), (120, 90), (20, 90)]) == (400.0, 200.0, 200.0, 100.0)


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
@pytest.mark.parametrize("at", [(0.5, 0.5), (0.4, 0.5), (0.6, 0.45), (0.5, 0.35), (0.55, 0.65)])
@pytest.mark.parametrize("wide", [0.25, 0.4, 0.6])
def test_it_never_lies_on_the_chart(at: tuple[float, float], wide: float, turn: int) -> None:
    """Wherever the chart lies, however large and whichever way round, the area is in the picture and beside it."""
    width, height = 1600, 1200
    x, y, half = at[0] * width, at[1] * height, wide * width / 2
    box = [
        (x - half, y - half / 1.5),
        (x + half, y - half / 1.5),
        (x + half, y + half / 1.5),
        (x - half, y + half / 1.5),
    ]
    corners = box[turn:] + box[:turn]
    rect = proposed_area(width, height, corners)
    assert _apart(rect, corners)
    assert rect[0] >= 0 and rect[1] >= 0 and rect[0] + rect[2] <= width and rect[1] + rect[3] <= height
    assert min(rect[2:]) > 20


def test_a_photograph_whose_middle_is_the_chart_is_read_beside_it() -> None:
    """The rendered photograph with the large chart: its middle lies on the chart and would be refused; what is
    proposed is read."""
    name = "brown-large-chart.jpg"
    truth = swatches.truth()[name]
    corners = [(float(x), float(y)) for x, y in truth["chart"]["corners"]]
    size = truth["width_px"], truth["height_px"]
    assert not _apart(proposed_area(*size), corners), "the picture no longer shows what it is here for"
    rect = proposed_area(*size, corners)
    assert _apart(rect, corners)
    area = "middle=" + ",".join(f"{v:.0f}" for v in rect)
    found = read(swatches.photograph(name), edition="before-2014", areas=[area])
    assert found.areas[0].pixels > 0
