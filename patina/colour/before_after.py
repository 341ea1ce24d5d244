"""Before and after: what has become of a piece's colour between two photographs, patch by patch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from patina.colour import comparable, reading
from patina.colour.area import polygon_of
from patina.colour.chart_data import own_values, published
from patina.colour.difference import Difference, compare
from patina.colour.difference_picture import Shown, difference_picture
from patina.colour.patches import measure_patches
from patina.colour.photograph import Photo, open_photo
from patina.colour.register import Registration, chart_hole, register
from patina.colour.values import AreaReading, AreaSpec, Caution, Point
from patina.errors import NotComparable, PatinaError

Array = np.ndarray[Any, np.dtype[Any]]

LONG_SIDE_PX = 1400
GRID = 4  # patches along the longer side of the field


@dataclass(frozen=True, slots=True)
class PatchChange:
    """One patch of the surface, read in both photographs.

    difference: with the earlier colour as the reference. uncertainty_de00: expanded (95 %), of the
    difference: both photographs' corrections taken as independent, and placing_de00. That the patch
    speaks for a wider surface is not part of it: the same spot is compared with itself.
    placing_de00: expanded (95 %), from the two pictures lying on each other within their misfit only.
    """

    name: str
    before: AreaReading
    after: AreaReading
    difference: Difference
    uncertainty_de00: float
    placing_de00: float

    @property
    def clear(self) -> bool:
        """Whether the patch has changed beyond what the photographs leave open."""
        return self.difference.delta_e > self.uncertainty_de00


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """Two photographs of one piece compared. picture_png: earlier and later view, both corrected and
    from the earlier place, and the map of CIEDE2000 with its scale; the patches are drawn and numbered.
    skipped: patches that could not be read, with the reason.
    """

    registration: Registration
    cautions: tuple[Caution, ...]
    patches: tuple[PatchChange, ...]
    skipped: tuple[tuple[str, str], ...]
    picture_png: bytes


def before_after(
    before: Path,
    after: Path,
    *,
    areas: Sequence[AreaSpec] = (),
    piece: Sequence[Point] | None = None,
    chart: str | Path = "auto",
    edition: str = "unknown",
    formula: str = "de2000",
    corners: tuple[Sequence[Point] | None, Sequence[Point] | None] = (None, None),
    flat: tuple[Path | None, Path | None] = (None, None),
) -> BeforeAfter:
    """Lay a later photograph over an earlier one and measure what has changed.

    areas: what to measure, in pixels of the earlier picture; without them a grid of patches over the
    field in which the two agree (within ``piece``, the outline of the piece, where it is given).
    chart: "auto" or a file of the chart's own values; a chart must be in both photographs. corners: centres of its
    patches 1, 6, 24 and 19 in the earlier and in the later one, None where they are found. flat: for each of the two
    a photograph of plain card in its place and light, None where the paper around the chart serves.
    Raises NotComparable where the two cannot be laid over each other, and BadPhotograph, NoChart or
    BadChart for a photograph that cannot be measured.
    """
    values = published(edition) if chart == "auto" else own_values(Path(chart))
    photos = [open_photo(Path(path)) for path in (before, after)]
    fits = [
        reading.calibrate(photo, values, points, frame)
        for photo, points, frame in zip(photos, corners, flat, strict=True)
    ]
    smalls = [photo.reduced(LONG_SIDE_PX) for photo in photos]
    holes = [chart_hole(fit.finding.corners or ()) for fit in fits]
    found = _register(smalls, holes, piece)
    conditions = [
        comparable.Circumstances(
            photo.facts,
            fit.finding,
            comparable.light_cue(measure_patches(photo, np.array(fit.finding.corners)), values),
        )
        for photo, fit in zip(photos, fits, strict=True)
    ]
    wanted = tuple(areas) or _grid(found, holes[0], piece)
    patches, skipped = _measured(photos, fits, found, wanted, formula)
    marks = [Shown(one.name, one.before.polygon, one.difference.delta_e) for one in patches]
    picture = difference_picture(photos[0], fits[0], photos[1], fits[1], found, marks)
    return BeforeAfter(found, comparable.cautions(conditions[0], conditions[1], found), patches, skipped, picture)


def _register(smalls: list[tuple[Array, float]], holes: list[Array], piece: Sequence[Point] | None) -> Registration:
    """The mapping in pixels of the full photographs, found in small copies."""
    (first, grow_1), (second, grow_2) = smalls
    outline = None if piece is None else [_to_small(point, grow_1) for point in piece]
    small = register(
        first,
        second,
        piece=outline,
        leave_out_before=[(holes[0] + 0.5) / grow_1 - 0.5],
        leave_out_after=[(holes[1] + 0.5) / grow_2 - 0.5],
    )
    matrix = _enlarging(grow_2) @ small.matrix @ np.linalg.inv(_enlarging(grow_1))
    covered = cv2.perspectiveTransform(np.array([small.covered], float), _enlarging(grow_1))[0]
    return Registration(
        before_to_after=tuple(float(v) for v in (matrix / matrix[2, 2]).ravel()),
        matches=small.matches,
        inliers=small.inliers,
        misfit_px=small.misfit_px * grow_1,
        covered=tuple((float(x), float(y)) for x, y in covered),
        turned_deg=small.turned_deg,
        scale=small.scale * grow_2 / grow_1,
        tilt_pct=small.tilt_pct,
    )


def _enlarging(grow: float) -> Array:
    """From pixel centres of a copy to those of the picture that is ``grow`` times as large."""
    return np.array([[grow, 0, 0.5 * grow - 0.5], [0, grow, 0.5 * grow - 0.5], [0, 0, 1]])


def _to_small(point: Point, grow: float) -> Point:
    return ((point[0] + 0.5) / grow - 0.5, (point[1] + 0.5) / grow - 0.5)


def _grid(found: Registration, hole: Array, piece: Sequence[Point] | None) -> tuple[AreaSpec, ...]:
    """Squares over the field in which the photographs agree, clear of the chart."""
    field = np.array(found.covered if piece is None else piece, np.float32)
    low, high = field.min(axis=0), field.max(axis=0)
    step = float(max(high - low)) / GRID
    side = 0.6 * step
    specs: list[AreaSpec] = []
    across, down = (max(1, round(float(length) / step)) for length in high - low)
    for row in range(down):
        for column in range(across):
            x = float(low[0]) + (column + 0.5) * float(high[0] - low[0]) / across - side / 2
            y = float(low[1]) + (row + 0.5) * float(high[1] - low[1]) / down - side / 2
            square = ((x, y), (x + side, y), (x + side, y + side), (x, y + side))
            inside = all(cv2.pointPolygonTest(field, corner, False) >= 0 for corner in square) and found.covers(square)
            apart, _ = cv2.intersectConvexConvex(np.array(square, np.float32), hole.astype(np.float32))
            if inside and apart <= 0:
                specs.append(AreaSpec(str(len(specs) + 1), rect=(x, y, side, side)))
    if not specs:
        raise NotComparable(
            "The photographs agree in too small a field to lay patches into.",
            "Name the areas to compare, or use photographs that show the piece larger.",
        )
    return tuple(specs)


def _measured(
    photos: list[Photo],
    fits: list[reading.Calibration],
    found: Registration,
    specs: Sequence[AreaSpec],
    formula: str,
) -> tuple[tuple[PatchChange, ...], tuple[tuple[str, str], ...]]:
    patches, skipped = [], []
    for spec in specs:
        here = polygon_of(spec, photos[0].width, photos[0].height)
        there = found.to_after([(float(x), float(y)) for x, y in here])
        try:
            one, _ = reading.read_area(photos[0], spec, here, fits[0])
            other = _read_at(photos[1], spec.name, there, fits[1])
            placing = _placing_de00(photos[1], other, fits[1], max(1.0, 2 * found.misfit_px * found.scale))
        except PatinaError as trouble:
            skipped.append((spec.name, trouble.what))
            continue
        uncertainty = hypot(one.correction_de00, other.correction_de00, placing)
        patches.append(PatchChange(spec.name, one, other, compare(one.lab, other.lab, formula), uncertainty, placing))
    if not patches:
        raise NotComparable(
            "None of the patches can be read in both photographs.",
            "Choose areas that both photographs show sharp, unclipped and clear of the chart.",
        )
    return tuple(patches), tuple(skipped)


def _read_at(photo: Photo, name: str, corners: Sequence[Point], fit: reading.Calibration) -> AreaReading:
    spec = AreaSpec(name, polygon=tuple(corners))
    return reading.read_area(photo, spec, polygon_of(spec, photo.width, photo.height), fit)[0]


def _placing_de00(photo: Photo, read: AreaReading, fit: reading.Calibration, by_px: float) -> float:
    """How much the reading moves, in CIEDE2000, when its outline is shifted right and down by ``by_px``."""
    moved = []
    for dx, dy in ((by_px, 0.0), (0.0, by_px)):
        corners = [(x + dx, y + dy) for x, y in read.polygon]
        try:
            moved.append(compare(read.lab, _read_at(photo, read.name, corners, fit).lab).delta_e)
        except PatinaError:  # shifted out of the frame or onto the chart: the other way tells as much
            corners = [(x - dx, y - dy) for x, y in read.polygon]
            moved.append(compare(read.lab, _read_at(photo, read.name, corners, fit).lab).delta_e)
    return hypot(*moved)
