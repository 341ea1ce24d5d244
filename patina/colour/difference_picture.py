"""The picture of a change: earlier view, later view laid over it, and the map of their difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.calibration import Calibration
from patina.colour.corrected import corrected_lab, light_points, screen_codes
from patina.colour.delta_e import de2000_pairs
from patina.colour.photograph import Photo
from patina.colour.register import Registration, chart_hole
from patina.colour.values import Point

Array = np.ndarray[Any, np.dtype[Any]]

PANEL_PX = 800
MAX_DE00 = 20.0  # end of the scale
SMOOTH_SHARE = 0.004  # of the panel: what noise and the fit of the two pictures blur anyway
LEGEND_PX = 74
_FONT = cv2.FONT_HERSHEY_SIMPLEX


@dataclass(frozen=True, slots=True)
class Shown:
    """A measured patch to draw: its name, corners in pixels of the earlier photograph, and its difference."""

    name: str
    polygon: tuple[Point, ...]
    delta_e: float


@dataclass(frozen=True, eq=False)
class DifferenceMap:
    """CIEDE2000 at each point of the earlier view. before, after: corrected CIELAB, (rows, columns, 3);
    delta_e: (rows, columns), NaN where the later photograph shows nothing or a chart lies. shown:
    bool, where the later photograph shows anything. step: pixels of the earlier one to one point.
    """

    before: Array
    after: Array
    delta_e: Array
    shown: Array
    step: int


def difference_map(
    before: Photo, fit_before: Calibration, after: Photo, fit_after: Calibration, found: Registration
) -> DifferenceMap:
    """The map of what has changed, at most PANEL_PX points a side. Fine relief may show where light
    or angle differ; a measured patch is the surer figure.
    """
    first, step_1 = _lab_points(before, fit_before)
    second, step_2 = _lab_points(after, fit_after)
    matrix = np.linalg.inv(_from_points(step_2)) @ found.matrix @ _from_points(step_1)
    size = (first.shape[1], first.shape[0])
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    moved = np.asarray(cv2.warpPerspective(second, matrix, size, flags=flags))
    there = np.ones(second.shape[:2], np.uint8)
    shown = np.asarray(cv2.warpPerspective(there, matrix, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP)) > 0
    sigma = max(1.0, SMOOTH_SHARE * max(size))
    calm = [np.asarray(cv2.GaussianBlur(one, (0, 0), sigma)).reshape(-1, 3).astype(float) for one in (first, moved)]
    told = shown & ~_charts(fit_before, fit_after, found, step_1, size)
    delta_e = np.where(told, de2000_pairs(calm[0], calm[1]).reshape(shown.shape), np.nan)
    return DifferenceMap(first, moved, delta_e, shown, step_1)


def _charts(one: Calibration, other: Calibration, found: Registration, step: int, size: tuple[int, int]) -> Array:
    """Where the chart lies in either photograph, seen from the earlier place, bool (rows, columns)."""
    back = np.linalg.inv(found.matrix)
    hidden = np.zeros(size[::-1], np.uint8)
    for fit, to_before in ((one, np.eye(3)), (other, back)):
        hole = chart_hole(fit.finding.corners or ())
        placed = np.asarray(cv2.perspectiveTransform(hole[None].astype(float), to_before)[0])
        cv2.fillPoly(hidden, [np.rint((placed - step // 2) / step).astype(np.int32)], (1,))
    return hidden.astype(bool)


def _lab_points(photo: Photo, fit: Calibration) -> tuple[Array, int]:
    """Corrected CIELAB of every step-th pixel, (rows, columns, 3) float32, and the step."""
    light, step = light_points(photo, fit, PANEL_PX)
    return corrected_lab(light, fit), step


def _from_points(step: int) -> Array:
    return np.array([[step, 0, step // 2], [0, step, step // 2], [0, 0, 1]], float)


def difference_picture(
    before: Photo,
    fit_before: Calibration,
    after: Photo,
    fit_after: Calibration,
    found: Registration,
    patches: Sequence[Shown],
) -> bytes:
    """A PNG of three views side by side, with the patches and the scale of the map.

    The scale runs from dark to light, so that it can be read without colour, and each patch carries
    its own figure.
    """
    what = difference_map(before, fit_before, after, fit_after, found)
    views = [screen_codes(what.before), screen_codes(what.after), _ramp(what.delta_e)]
    views[1][~what.shown] = 150
    for number, view in enumerate(views):
        for patch in patches:
            _draw(view, patch, what.step, with_figure=number == 2)
    panels = np.hstack([np.pad(view, ((0, 0), (0, 8), (0, 0)), constant_values=255) for view in views])
    page = np.vstack([panels, _legend(panels.shape[1], what.before.shape[1] + 8)])
    done, png = cv2.imencode(".png", np.ascontiguousarray(page[..., ::-1]))
    assert done
    return png.tobytes()


def _ramp(delta_e: Array) -> Array:
    """Dark for no difference to light for MAX_DE00 and more; hatched grey where there is nothing to compare."""
    codes = np.nan_to_num(np.clip(delta_e / MAX_DE00, 0, 1) * 255).astype(np.uint8)
    view = np.asarray(cv2.applyColorMap(codes, cv2.COLORMAP_CIVIDIS))[..., ::-1].copy()
    rows, columns = np.indices(delta_e.shape)
    nothing = np.isnan(delta_e)
    view[nothing] = 150
    view[nothing & ((rows + columns) % 12 < 2)] = 90
    return view


def _draw(view: Array, patch: Shown, step: int, *, with_figure: bool) -> None:
    corners = np.rint((np.array(patch.polygon) - step // 2) / step).astype(np.int32)
    text = f"{patch.name}: {patch.delta_e:.1f}" if with_figure else patch.name
    for colour, width in (((0, 0, 0), 3), ((255, 255, 255), 1)):
        cv2.polylines(view, [corners], True, colour, width, cv2.LINE_AA)
    left, top = int(corners[:, 0].min()), int(corners[:, 1].min())
    (wide, high), _ = cv2.getTextSize(text, _FONT, 0.5, 1)
    cv2.rectangle(view, (left, top), (left + wide + 8, top + high + 10), (0, 0, 0), -1)
    cv2.putText(view, text, (left + 4, top + high + 5), _FONT, 0.5, (255, 255, 255), 1, cv2.LINE_AA)


def _legend(width: int, panel: int) -> Array:
    page = np.full((LEGEND_PX, width, 3), 255, np.uint8)
    for number, words in enumerate(("Before", "After, laid over it", "Difference, CIEDE2000")):
        cv2.putText(page, words, (number * panel + 4, 24), _FONT, 0.6, (0, 0, 0), 1, cv2.LINE_AA)
    left, long = 2 * panel + 10, panel - 60
    page[36:50, left : left + long] = _ramp(np.tile(np.linspace(0, MAX_DE00, long), (14, 1)))
    for tick in range(0, int(MAX_DE00) + 1, 5):
        x = left + round(tick / MAX_DE00 * (long - 1))
        cv2.line(page, (x, 50), (x, 55), (0, 0, 0), 1)
        more = "+" if tick == MAX_DE00 else ""
        cv2.putText(page, f"{tick}{more}", (x - 6, 69), _FONT, 0.45, (0, 0, 0), 1, cv2.LINE_AA)
    return page
