"""Finding the chart in a photograph: search, all turns, refinement, and whether it may be trusted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np

from patina.colour.chart_centres import standing_out
from patina.colour.chart_geometry import is_mirrored, is_plausible, outline, pitch_px
from patina.colour.chart_lattice import find_squares, grids, quads
from patina.colour.chart_score import Place, Scorer
from patina.colour.photograph import Photo
from patina.colour.values import Point
from patina.errors import BadChart, NoChart

Array = np.ndarray[Any, np.dtype[Any]]

SEARCH_SIDE_PX = 1600
QUICK_SIDE_PX = 800
LIKELY_MISFIT = 15.0  # CIELAB after an affine map of codes: a real chart in bad light stays below
SURE_MISFIT = 12.0  # below it no further search is needed: wrong places do not come below 20
KNOWN_BUT_BAD = 0.5  # share of patches that must agree before a chart is called covered, not absent
MIN_PITCH_PX = 9.0
WORK_PITCH_PX = 36.0  # pixels from patch to patch in the picture that corners are refined in


@dataclass(frozen=True, eq=False)
class FoundChart:
    """A chart in a photograph. corners: centres of patches 1, 6, 24, 19, shape (4, 2), in pixels of
    the upright photograph. misfit: CIELAB after an affine map. outlined: which patches stand out from
    their frame, shape (24,). others: further charts seen.
    """

    corners: Array
    misfit: float
    scatter: float
    mirrored: bool
    outlined: Array
    others: int = 0

    def points(self) -> tuple[Point, Point, Point, Point]:
        """The corners as plain numbers."""
        a, b, c, d = ((float(x), float(y)) for x, y in self.corners)
        return a, b, c, d


def find_chart(photo: Photo) -> FoundChart:
    """The chart in a photograph, wherever and however it lies.

    Raises NoChart where none is seen, BadChart where one is seen that does not serve.
    """
    picture, factor = photo.reduced(SEARCH_SIDE_PX)
    places, bad = _search(picture)
    if not places:
        if bad is not None:
            raise bad
        raise NoChart(
            "No 24-patch colour rendition chart was found.",
            "Lay the whole chart beside the surface, flat and evenly lit, give its corners by hand, "
            "or read without a chart and accept a large uncertainty.",
        )
    best = places[0]
    if pitch_px(best.corners) * factor < MIN_PITCH_PX:
        raise BadChart("The chart is too small in the picture to be measured.", "Go nearer, or crop less.")
    corners, outlined = _refined(photo, (best.corners + 0.5) * factor - 0.5)
    others = sum(place.misfit < SURE_MISFIT for place in places[1:])
    return FoundChart(corners, best.misfit, best.scatter, is_mirrored(corners), outlined, others)


def given_chart(photo: Photo, corners: Sequence[Point]) -> FoundChart:
    """The chart where a person says it is, moved to the patches' centres.

    corners: centres of patches 1 (dark skin), 6 (bluish green), 24 (black), 19 (white) in pixels.
    Raises BadChart where they cannot be a chart, lie outside the frame, stand in another order, or
    do not show the chart's colours.
    """
    quad = np.asarray(corners, dtype=np.float64)
    if quad.shape != (4, 2) or not np.isfinite(quad).all():
        raise BadChart("The chart's corners must be four points.", "Give patches 1, 6, 24 and 19 as x,y;x,y;x,y;x,y.")
    frame = np.array([photo.width - 1, photo.height - 1])
    if np.any(quad < 0) or np.any(quad > frame):
        raise BadChart(
            f"A corner lies outside the picture of {photo.width} × {photo.height} pixels.",
            "Give patch centres in pixels of the upright picture.",
        )
    if not is_plausible(quad):
        raise BadChart(
            "The four corners do not make a chart.", "Give the centres of patches 1, 6, 24 and 19 in this order."
        )
    picture, origin, factor = _around(photo, quad)
    scorer = Scorer(picture)
    local = (quad - origin + 0.5) / factor - 0.5
    start = scorer.score(local)
    if start is None:
        raise BadChart("The chart reaches beyond the edge of the picture.", "Use a photograph of the whole chart.")
    best = scorer.best_turn(local, square=True)
    place = scorer.refine(start)
    if best is not None and best.misfit < 0.6 * place.misfit:
        raise BadChart(
            "The corners stand in another order than patches 1, 6, 24, 19: turned, the chart's colours agree.",
            "Patch 1 is dark skin, 6 bluish green, 24 black, 19 white.",
        )
    if place.misfit > LIKELY_MISFIT:
        raise _does_not_match(scorer, place)
    found = (place.corners + 0.5) * factor - 0.5 + origin
    outlined = standing_out(picture, place.corners)
    return FoundChart(found, place.misfit, place.scatter, is_mirrored(found), outlined)


def _search(picture: Array) -> tuple[list[Place], BadChart | None]:
    """Places that agree with the chart, refined, the best first; and what is wrong with the nearest
    miss, if one looks like a chart.
    """
    places: list[Place] = []
    near_miss: tuple[Place, Scorer] | None = None
    for attempt, groups in _attempts(picture):
        scorer = Scorer(attempt)
        scale = picture.shape[1] / attempt.shape[1]
        turned = _apart([place for group in groups for place in _best_of(scorer, group)])[:3]
        for place in turned:
            if place.misfit > 26.0:
                continue
            refined = scorer.refine(place)
            if refined.misfit < LIKELY_MISFIT:
                places.append(Place((refined.corners + 0.5) * scale - 0.5, refined.misfit, refined.scatter))
            elif near_miss is None or refined.misfit < near_miss[0].misfit:
                near_miss = refined, scorer
        if places and min(place.misfit for place in places) < SURE_MISFIT:
            break
    if places or near_miss is None:
        return _apart(places), None
    place, scorer = near_miss
    known = scorer.agreeing(place)
    return [], _does_not_match(scorer, place) if known >= KNOWN_BUT_BAD else None


def _best_of(scorer: Scorer, group: Iterable[Array]) -> list[Place]:
    """Places of one group of proposals that overlap each other, until one is surely right."""
    places = []
    for quad in group:
        place = scorer.best_turn(quad)
        if place is not None:
            places.append(place)
            if place.misfit < SURE_MISFIT:
                break
    return places


def _attempts(picture: Array) -> Iterator[tuple[Array, list[Iterable[Array]]]]:
    """Pictures to search and groups of places to try in each, the quick ones first."""
    longest = max(picture.shape[:2])
    quick = picture
    if longest > 1.5 * QUICK_SIDE_PX:
        size = round(picture.shape[1] * QUICK_SIDE_PX / longest), round(picture.shape[0] * QUICK_SIDE_PX / longest)
        quick = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    yield quick, _by_lattice(quick)
    yield quick, _by_opencv(quick)
    if quick is not picture:
        yield picture, _by_lattice(picture) + _by_opencv(picture)
    else:
        large = cv2.resize(picture, None, fx=2.0, fy=2.0, interpolation=cv2.INTER_CUBIC)
        yield large, _by_lattice(large) + _by_opencv(large)
    stretched = _stretched(quick)
    yield stretched, _by_lattice(stretched) + _by_opencv(stretched)


def _stretched(picture: Array) -> Array:
    """Local contrast raised in lightness: for dull, dark or hazy pictures."""
    lab = cv2.cvtColor(picture, cv2.COLOR_RGB2LAB)
    lab[..., 0] = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(lab[..., 0])
    return cv2.cvtColor(lab, cv2.COLOR_LAB2RGB)


def _apart(places: list[Place]) -> list[Place]:
    """The best of those that lie on one another, the best first."""
    kept: list[Place] = []
    for place in sorted(places, key=lambda p: p.badness):
        centre = place.corners.mean(axis=0)
        gaps = [np.linalg.norm(k.corners.mean(axis=0) - centre) for k in kept]
        sizes = [np.linalg.norm(k.corners[0] - k.corners[2]) for k in kept]
        if all(gap > 0.5 * size for gap, size in zip(gaps, sizes, strict=True)):
            kept.append(place)
    return kept


def _by_lattice(picture: Array) -> list[Iterable[Array]]:
    return [quads(grid) for grid in grids(find_squares(picture))[:6]]


def _by_opencv(picture: Array) -> list[Iterable[Array]]:
    """Boxes of OpenCV's chart finder, as centres of the corner patches."""
    detector = cv2.mcc.CCheckerDetector.create()
    detector.setColorChartType(cv2.mcc.MCC24)
    if not detector.process(np.ascontiguousarray(picture[..., ::-1]), 2):
        return []
    boxes = (np.asarray(checker.getBox(), dtype=np.float64).reshape(4, 2) for checker in detector.getListColorChecker())
    return [[_inset(box)] for box in boxes]


def _inset(box: Array) -> Array:
    """From the outline of the patches' field to the centres of its corner patches."""
    field = np.array([[-0.5, -0.5], [5.5, -0.5], [5.5, 3.5], [-0.5, 3.5]], dtype=np.float32)
    to_box = cv2.getPerspectiveTransform(field, box.astype(np.float32))
    centres = np.array([[[0, 0], [5, 0], [5, 3], [0, 3]]], dtype=np.float32)
    return np.asarray(cv2.perspectiveTransform(centres, to_box)[0], dtype=np.float64)


def _around(photo: Photo, corners: Array) -> tuple[Array, Array, float]:
    """The chart and a margin: (small picture, its origin in the photograph, reduction)."""
    pitch = pitch_px(corners)
    field = outline(corners)
    low = np.maximum(np.floor(field.min(axis=0) - 1.2 * pitch).astype(int), 0)
    high = np.ceil(field.max(axis=0) + 1.2 * pitch).astype(int) + 1
    high = np.minimum(high, [photo.width, photo.height])
    factor = max(round(pitch / WORK_PITCH_PX), 1)
    codes = photo.coarse(int(low[0]), int(low[1]), int(high[0]), int(high[1]), factor)
    return codes, low.astype(np.float64), float(factor)


def _refined(photo: Photo, corners: Array) -> tuple[Array, Array]:
    """Corners once more, in a picture of the chart alone; and which patches stand out there."""
    picture, origin, factor = _around(photo, corners)
    scorer = Scorer(picture)
    local = (corners - origin + 0.5) / factor - 0.5
    start = scorer.score(local)
    if start is not None:
        local = scorer.refine(start, quick=True).corners
    return (local + 0.5) * factor - 0.5 + origin, standing_out(picture, local)


def _does_not_match(scorer: Scorer, place: Place) -> BadChart:
    share = scorer.agreeing(place)
    return BadChart(
        f"A chart was found, but only {round(24 * share)} of its 24 patches show the colours they should: "
        "it is covered, copied, faded, or another chart.",
        "Uncover the whole chart, use an original one less than two years old, and take the picture again.",
    )
