"""Where a plain card or a row of neutral steps lies in a photograph."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Any

import cv2
import numpy as np

from patina.colour.card_values import CardValues
from patina.colour.chart_geometry import to_pixels
from patina.colour.chart_lattice import EDGE_LEVELS, Squares, find_squares
from patina.colour.photograph import Photo
from patina.colour.values import Point
from patina.errors import BadChart, NoChart

Array = np.ndarray[Any, np.dtype[Any]]

SEARCH_SIDE_PX = 1200
MIN_STEP_PX = 8.0
TINT_SPREAD = 0.25  # how far neutral steps of one card may differ in tint, dark ones with glare over them
RUN_SLOPES = (0.4, 3.0)  # tone curves' slopes, log light against log reflectance
CARD_SHARES = (0.004, 0.45)  # of the frame
WHITE_PCT = 60.0  # a darker card is not told from other things by its light
BRIGHT = 0.8  # of the picture's brightest light
CARD_TINT = 0.45  # how far a white card under a lamp may be from grey in the file
STEP_CALM = 0.15  # the same inside a dark step, with its noise
GOES_ON = 0.3  # of the step before, log light, that the next one falls by at least
EDGE_PX = 4.0
CARD_CALM = 0.06  # spread of light inside a card, as a share


def steps_at(corners: Array, count: int, half: float, side: int) -> Array:
    """Points inside each of ``count`` steps, shape (count, side², 2), in pixels.

    corners: the card's outer corners, shape (4, 2). half: of the sampled box, as a share of a step.
    """
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float32)
    grid = np.asarray(cv2.getPerspectiveTransform(unit, corners.astype(np.float32)), np.float64)
    ramp = np.linspace(-half, half, side)
    inside = np.stack(np.meshgrid(ramp / count, ramp), axis=-1).reshape(-1, 2)
    middles = np.stack([(np.arange(count) + 0.5) / count, np.full(count, 0.5)], axis=-1)
    return to_pixels(grid, middles[:, None] + inside[None])


def given_card(photo: Photo, card: CardValues, corners: Sequence[Point]) -> Array:
    """The card where a person says it is: its outer corners, shape (4, 2), pixels. Raises BadChart."""
    quad = np.asarray(corners, dtype=np.float64)
    if quad.shape != (4, 2) or not np.isfinite(quad).all():
        raise BadChart("The card's corners must be four points.", "Give its outer corners as x,y;x,y;x,y;x,y.")
    if np.any(quad < 0) or np.any(quad > [photo.width - 1, photo.height - 1]):
        raise BadChart(
            f"A corner lies outside the picture of {photo.width} × {photo.height} pixels.",
            "Give the card's outer corners in pixels of the upright picture.",
        )
    sides = np.roll(quad, -1, axis=0) - quad
    after = np.roll(sides, -1, axis=0)
    turns = sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0]
    if not (np.all(turns > 0) or np.all(turns < 0)):
        raise BadChart("The four corners do not make a card.", "Go round it from corner to corner.")
    along, across = np.linalg.norm(sides[0]) / card.count, np.linalg.norm(sides[1])
    if min(along, across) < MIN_STEP_PX:
        raise BadChart("The card is too small in the picture to be measured.", "Go nearer, or crop less.")
    return quad


def find_card(photo: Photo, card: CardValues) -> Array:
    """The card's outer corners, shape (4, 2), pixels: one even light rectangle, or a row of just as
    many neutral steps as its values name. Raises NoChart where none or several are seen.
    """
    picture, factor = photo.reduced(SEARCH_SIDE_PX)
    light = photo.map_light(picture)
    found = _rows(picture, light, card) if card.count > 1 else _plain(picture, light, card)
    if len(found) != 1:
        seen = "No" if not found else f"More than one ({len(found)})"
        what = f"row of {card.count} neutral steps" if card.count > 1 else "light, even, four-sided card"
        raise NoChart(
            f"{seen} {what} was found.", "Give the card's outer corners, the first two at its first and last step."
        )
    return (found[0] + 0.5) * factor - 0.5


def _plain(picture: Array, light: Array, card: CardValues) -> list[Array]:
    """Even four-sided spots as bright as anything in the picture, apart from one another."""
    if card.xyz[0, 1] < WHITE_PCT / 100.0:
        return []
    level = light.mean(axis=2)
    brightest = float(np.quantile(level, 0.995))
    found: list[Array] = []
    for quad in _quads(picture):
        mask = np.zeros(level.shape, dtype=np.uint8)
        middle = quad.mean(axis=0)
        cv2.fillConvexPoly(mask, np.rint(middle + 0.8 * (quad - middle)).astype(np.int32), 1)
        inside = light[mask > 0]
        if len(inside) < 64:
            continue
        mean = inside.mean(axis=0)
        own = float(mean.mean())
        calm = float(inside.mean(axis=1).std()) < CARD_CALM * own
        if calm and own > BRIGHT * brightest and np.abs(mean / own - 1.0).max() < CARD_TINT:
            size = float(np.linalg.norm(quad[0] - quad[2]))
            if all(np.linalg.norm(middle - other.mean(axis=0)) > 0.25 * size for other in found):
                found.append(quad)
    return found


def _quads(picture: Array) -> Iterator[Array]:
    """Four-sided even spots, the largest first, each as corners of shape (4, 2)."""
    kernel = cv2.getStructuringElement(cv2.MORPH_RECT, (3, 3))
    edges = cv2.morphologyEx(cv2.medianBlur(picture, 3), cv2.MORPH_GRADIENT, kernel).max(axis=2)
    size = np.array([picture.shape[1], picture.shape[0]])
    frame = float(size.prod())
    quads = []
    for level in EDGE_LEVELS:
        contours, _ = cv2.findContours((edges < level).astype(np.uint8), cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
        for contour in contours:
            area = cv2.contourArea(contour)
            if not CARD_SHARES[0] * frame < area < CARD_SHARES[1] * frame:
                continue
            hull = cv2.convexHull(contour)
            quad = cv2.approxPolyDP(hull, 0.03 * cv2.arcLength(hull, True), True)
            if quad.min() < EDGE_PX or np.any(quad.reshape(-1, 2) > size - 1 - EDGE_PX):
                continue  # cut by the frame: nobody knows what it is
            if len(quad) == 4 and area > 0.92 * cv2.contourArea(hull) and cv2.contourArea(quad) > 0.92 * area:
                quads.append((area, quad.reshape(4, 2).astype(np.float64)))
    yield from (quad for _, quad in sorted(quads, key=lambda one: -one[0]))


def _rows(picture: Array, light: Array, card: CardValues) -> list[Array]:
    """Outer corners of rows of just as many steps as the card has, whose light runs as its values do."""
    squares = find_squares(picture)
    falling = card.xyz[0, 1] > card.xyz[-1, 1]
    found: list[Array] = []
    for chain in _chains(squares):
        side = float(np.median(squares.sides[list(chain)]))
        middles = squares.centres[list(chain)]
        if _bright(light, middles[0], side) < _bright(light, middles[-1], side):
            middles = middles[::-1]
        if _skips(light, middles, side):
            continue
        middles = _lengthened(light, _lengthened(light, middles, side)[::-1], side)[::-1]
        if len(middles) != card.count:
            continue
        middles = middles if falling else middles[::-1]
        levels = np.array([_level(light, middle, side) for middle in middles])
        if _runs_as(levels, card.xyz[:, 1]):
            corners = _corners(middles, side)
            if all(np.linalg.norm(corners.mean(axis=0) - other.mean(axis=0)) > side for other in found):
                found.append(corners)
    return found


def _skips(light: Array, middles: Array, side: float) -> bool:
    """Whether a step lies between two of a row: even there, and of a light between theirs."""
    for one, other in pairwise(middles):
        between = 0.5 * (one + other)
        log = [np.log(_bright(light, place, side)) for place in (one, between, other)]
        share = (log[0] - log[1]) / (log[0] - log[2]) if log[0] != log[2] else 0.0
        if 0.2 < share < 0.8 and _calm(light, between, side):
            return True
    return False


def _lengthened(light: Array, middles: Array, side: float) -> Array:
    """A row with the steps beyond its last that no edge parts from what lies around them: a dark step in
    a dark frame, a white one on paper. They are even, and the light goes on as the row goes."""
    row = list(middles)
    while len(row) < 60:
        place = 2.0 * row[-1] - row[-2]
        half = 0.3 * side
        if np.any(place < half) or np.any(place > [light.shape[1] - 1 - half, light.shape[0] - 1 - half]):
            break
        before, last, here = (np.log(_bright(light, spot, side)) for spot in (row[-2], row[-1], place))
        if not (_calm(light, place, side) and (here - last) / (last - before or 1e-9) > GOES_ON):
            break
        row.append(place)
    return np.array(row)


def _box(light: Array, middle: Array, side: float) -> Array:
    half = max(int(0.2 * side), 1)
    x, y = np.rint(middle).astype(int)
    return light[max(y - half, 0) : y + half + 1, max(x - half, 0) : x + half + 1].reshape(-1, 3)


def _level(light: Array, middle: Array, side: float) -> Array:
    return np.maximum(_box(light, middle, side).mean(axis=0), 1e-5)


def _bright(light: Array, middle: Array, side: float) -> float:
    return float(_level(light, middle, side).mean())


def _calm(light: Array, middle: Array, side: float) -> bool:
    box = _box(light, middle, side).mean(axis=1)
    return float(box.std()) < STEP_CALM * max(float(box.mean()), 1e-5)


def _runs_as(levels: Array, share: Array) -> bool:
    """Whether light of a row, shape (n, 3), runs as reflectances do, with one tint."""
    seen, true = np.log(levels.mean(axis=1)), np.log(share)
    slopes = np.diff(seen) / np.diff(true)
    if slopes.min() <= 0 or not RUN_SLOPES[0] < (seen[-1] - seen[0]) / (true[-1] - true[0]) < RUN_SLOPES[1]:
        return False
    tint = levels / levels.mean(axis=1, keepdims=True)
    bright = levels.mean(axis=1) > 0.1 * levels.mean(axis=1).max()
    return bool(np.abs(tint[bright] - np.median(tint[bright], axis=0)).max() < TINT_SPREAD)


def _corners(middles: Array, side: float) -> Array:
    """Outer corners of a row from its steps' middles; as high as the steps are at least."""
    first, last = middles[1] - middles[0], middles[-1] - middles[-2]
    start, end = middles[0] - 0.5 * first, middles[-1] + 0.5 * last
    along = (end - start) / np.linalg.norm(end - start)
    across = 0.5 * min(side, float(np.linalg.norm(first))) * np.array([-along[1], along[0]])
    return np.array([start - across, end - across, end + across, start + across])


def _chains(squares: Squares) -> Iterator[tuple[int, ...]]:
    """Longest straight rows of even spots of like size and step, each once."""
    centres, sides = squares.centres, squares.sides
    done: set[frozenset[int]] = set()
    for one in range(len(sides)):
        away = centres - centres[one]
        far = np.linalg.norm(away, axis=1)
        near = (
            (far > 0.7 * sides[one])
            & (far < 1.9 * sides[one])
            & (sides < 1.5 * sides[one])
            & (1.5 * sides > sides[one])
        )
        for other in np.flatnonzero(near):
            back = _walk(centres, sides, int(one), -away[other])
            chain = (*back[::-1], int(one), *_walk(centres, sides, int(one), away[other]))
            if len(chain) >= 3 and frozenset(chain) not in done:
                done.add(frozenset(chain))
                yield chain


def _walk(centres: Array, sides: Array, start: int, step: Array) -> list[int]:
    """Spots that follow one another from a spot by about the same step."""
    found: list[int] = []
    here = start
    for _ in range(60):
        gaps = np.linalg.norm(centres - (centres[here] + step), axis=1)
        nearest = int(np.argmin(gaps))
        like = 1.5 * sides[nearest] > sides[here] > sides[nearest] / 1.5
        if gaps[nearest] > 0.22 * np.linalg.norm(step) or not like or nearest == here or nearest in found:
            break
        step = 0.5 * step + 0.5 * (centres[nearest] - centres[here])
        found.append(nearest)
        here = nearest
    return found
