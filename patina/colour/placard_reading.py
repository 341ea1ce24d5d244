"""A photograph that shows a placard: straightened, named and read without a click."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from patina.colour.photograph import Photo, open_photo
from patina.colour.placard import FIDUCIAL_MM, LAYOUTS, Box, PlacardLayout, PlacardName, layout_of, name_in_code
from patina.colour.scale import PLACARD, outline_area, to_scale
from patina.colour.values import AreaSpec, Caution, PhotoReading, Point
from patina.errors import BadPhotograph

Array = np.ndarray[Any, np.dtype[Any]]

LONG_SIDE_PX = 1600
MIN_PX_PER_MM = 1.2
TILE_INSET = 0.08
BENT_SHARE = 0.03  # of the sheet's width: a corner mark so far off its place is refused
FOREIGN_SHARE = 0.12  # so far off they are marks of something else, which bear the same numbers
BARE_L = 4.0  # L* and a*, b* by which light falling off may change paper within the window
BARE_AB = 3.0


@dataclass(frozen=True, slots=True)
class PlacardFinding:
    """A placard found in a photograph.

    name: what its code says. markers: numbers of the corner marks that were seen. sheet_to_photo:
    homography, nine numbers by rows, from mm on the sheet to pixels of the upright picture.
    misfit_mm: how far the marks' corners lie from where the flat sheet would have them, at the
    worst. px_per_mm: scale in the middle of the sheet.
    """

    name: PlacardName
    markers: tuple[int, ...]
    sheet_to_photo: tuple[float, ...]
    misfit_mm: float
    px_per_mm: float

    def to_photo(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Points in mm on the sheet as pixels of the photograph."""
        matrix = np.array(self.sheet_to_photo).reshape(3, 3)
        moved = cv2.perspectiveTransform(np.array([points], float), matrix)[0]
        return tuple((float(x), float(y)) for x, y in moved)

    def to_sheet(self, points: Sequence[Point]) -> tuple[Point, ...]:
        """Pixels of the photograph as points in mm on the sheet's plane."""
        matrix = np.linalg.inv(np.array(self.sheet_to_photo).reshape(3, 3))
        moved = cv2.perspectiveTransform(np.array([points], float), matrix)[0]
        return tuple((float(x), float(y)) for x, y in moved)

    def window(self, which: str) -> tuple[Point, ...]:
        """Corners in pixels of the "chart", "tile", "code" or "fields" box."""
        x, y, wide, high = getattr(layout_of(self.name.paper), which)
        return self.to_photo(((x, y), (x + wide, y), (x + wide, y + high), (x, y + high)))


@dataclass(frozen=True, slots=True)
class PlacardReading:
    """What a photograph with a placard gave. tile: outline of the tile in pixels of the photograph, empty
    where nothing lies in its window. outlined: False where the tile fills the whole window, or did not
    stand out, and the middle of the window was read.
    """

    placard: PlacardFinding
    reading: PhotoReading
    tile: tuple[Point, ...]
    outlined: bool

    @property
    def name(self) -> PlacardName:
        """The record the photograph belongs to."""
        return self.placard.name


def find_placard(picture: Array) -> PlacardFinding | None:
    """The placard in an upright RGB picture (height, width, 3) uint8, or None where no corner mark is seen
    or the marks are not set as a placard's are.

    Raises BadPhotograph where marks are seen but the sheet cannot be used: fewer than three, a code
    that cannot be read or is another's, a sheet that is bent.
    """
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY))
    seen = _marks(grey)
    if not seen:
        return None
    layout = _layout_of_marks(seen)
    on_sheet, in_photo = [], []
    for (x, y), number in zip(layout.fiducials, layout.markers, strict=True):
        if number in seen:
            side = FIDUCIAL_MM
            on_sheet += [(x, y), (x + side, y), (x + side, y + side), (x, y + side)]
            in_photo += seen[number].tolist()
    matrix, _ = cv2.findHomography(np.array(on_sheet), np.array(in_photo), cv2.LMEDS if len(on_sheet) > 12 else 0)
    if matrix is None:
        raise BadPhotograph("The placard's corner marks do not lie on one plane.", "Lay the placard flat and retake.")
    misfit = _misfit_mm(np.asarray(matrix), np.array(on_sheet), np.array(in_photo))
    if misfit > FOREIGN_SHARE * layout.width_mm:
        return None
    if misfit > BENT_SHARE * layout.width_mm:
        raise BadPhotograph(
            f"The placard is bent: its corner marks are off by up to {misfit:.0f} mm.",
            "Lay it on a flat bench, or glue it to a board, and retake.",
        )
    name = _name(grey, np.asarray(matrix), layout)
    if name.paper != layout.paper:
        raise BadPhotograph(
            "The placard's corner marks and its code belong to different sizes of sheet.",
            "Leave only one placard in the picture.",
        )
    middle = np.array([[layout.width_mm / 2, layout.height_mm / 2], [layout.width_mm / 2 + 1, layout.height_mm / 2]])
    ends = cv2.perspectiveTransform(middle[None], np.asarray(matrix))[0]
    return PlacardFinding(
        name=name,
        markers=tuple(sorted(seen)),
        sheet_to_photo=tuple(float(value) for value in np.asarray(matrix).ravel()),
        misfit_mm=misfit,
        px_per_mm=float(np.linalg.norm(ends[1] - ends[0])),
    )


def _marks(grey: Array) -> dict[int, Array]:
    """Corner marks by number, each with its four corners in pixels, (4, 2), from its own upper left clockwise."""
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(grey)
    ours = {number for layout in LAYOUTS.values() for number in layout.markers}
    found: dict[int, Array] = {}
    listed = [] if numbers is None else [int(number) for number in np.asarray(numbers).ravel()]
    for corner, number in zip(corners, listed, strict=True):
        if number not in ours:
            continue
        if number in found:
            raise BadPhotograph(
                "Two placards, or one and its reflection, are in the picture.", "Leave only one placard in the picture."
            )
        found[number] = corner.reshape(4, 2)
    return found


def _layout_of_marks(seen: dict[int, Array]) -> PlacardLayout:
    layouts = [layout for layout in LAYOUTS.values() if set(layout.markers) & set(seen)]
    if len(layouts) > 1:
        raise BadPhotograph("Marks of two placards are in the picture.", "Leave only one placard in the picture.")
    layout = layouts[0]
    if len(seen) < 3:
        raise BadPhotograph(
            f"Only {len(seen)} of the placard's four corner marks can be seen.",
            "Take the whole sheet into the picture, with nothing lying on its corners.",
        )
    return layout


def _misfit_mm(matrix: Array, on_sheet: Array, in_photo: Array) -> float:
    back = cv2.perspectiveTransform(in_photo[None].astype(float), np.linalg.inv(matrix))[0]
    return float(np.linalg.norm(np.asarray(back) - on_sheet, axis=1).max())


def straighten(picture: Array, finding: PlacardFinding, box: Box | None = None, px_per_mm: float = 4.0) -> Array:
    """The sheet, or a box of it in mm, as if seen from straight above: uint8 or as given, RGB."""
    layout = layout_of(finding.name.paper)
    x, y, wide, high = box or (0.0, 0.0, layout.width_mm, layout.height_mm)
    return _crop(picture, np.array(finding.sheet_to_photo).reshape(3, 3), (x, y, wide, high), px_per_mm)


def _crop(picture: Array, sheet_to_photo: Array, box: Box, px_per_mm: float) -> Array:
    x, y, wide, high = box
    to_sheet = np.array([[1 / px_per_mm, 0, x], [0, 1 / px_per_mm, y], [0, 0, 1]])
    size = (round(wide * px_per_mm), round(high * px_per_mm))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpPerspective(picture, sheet_to_photo @ to_sheet, size, flags=flags))


def _name(grey: Array, matrix: Array, layout: PlacardLayout) -> PlacardName:
    x, y, wide, high = layout.code
    detector = cv2.QRCodeDetector()
    for px_per_mm, margin in ((8.0, 4.0), (5.0, 4.0), (12.0, 3.0), (8.0, 6.0)):
        box = (x - margin, y - margin, wide + 2 * margin, high + 2 * margin)
        crop = _crop(grey, matrix, box, px_per_mm)
        _, black_white = cv2.threshold(crop, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
        for candidate in (crop, np.asarray(black_white)):
            text, _, _ = detector.detectAndDecode(candidate)
            if text:
                return name_in_code(text)
    raise BadPhotograph(
        "The placard was found but its code cannot be read.",
        "Keep the code free and sharp, or file the photograph by hand.",
    )


def tile_outline(picture: Array, finding: PlacardFinding) -> tuple[Point, ...] | None:
    """Corners in mm on the sheet of what lies in the tile's window, or None where nothing stands out from the paper.

    The paper's colour is taken as a plane through the window's rim, so that fall-off does not matter.
    """
    step = 3.0
    x, y, wide, high = layout_of(finding.name.paper).tile
    box = (x + 1.5, y + 1.5, wide - 3.0, high - 3.0)
    crop = np.asarray(cv2.cvtColor(straighten(picture, finding, box, step), cv2.COLOR_RGB2LAB)).astype(np.float32)
    away = _off_paper(crop)
    bound = _bound(away)
    # A second look at half the tile's own distance from the paper leaves soft shadows outside.
    inside = away[away > bound]
    mask: Any = (away > max(bound, 0.5 * float(np.median(inside)) if inside.size else 0.0)).astype(np.uint8)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (7, 7))
    mask = cv2.morphologyEx(cv2.morphologyEx(mask, cv2.MORPH_CLOSE, kernel), cv2.MORPH_OPEN, kernel)
    found, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        return None
    largest = max(found, key=cv2.contourArea)
    hull = cv2.convexHull(largest)
    if cv2.contourArea(hull) < 0.01 * mask.size or cv2.contourArea(largest) < 0.6 * cv2.contourArea(hull):
        return None
    rectangle = cv2.minAreaRect(hull)
    corners: Array = np.asarray(cv2.boxPoints(rectangle))
    if cv2.contourArea(hull) < 0.85 * rectangle[1][0] * rectangle[1][1]:
        corners = np.asarray(cv2.approxPolyDP(hull, 0.01 * cv2.arcLength(hull, True), True)).reshape(-1, 2)
    return tuple((float(px / step + box[0]), float(py / step + box[1])) for px, py in corners)


def _off_paper(crop: Array) -> Array:
    """Distance of each pixel of an 8-bit Lab picture from the paper at the picture's rim, (height, width)."""
    high, wide = crop.shape[:2]
    rows, columns = np.mgrid[0:high, 0:wide].astype(np.float32)
    rim = np.ones((high, wide), bool)
    depth = max(4, min(high, wide) // 30)
    rim[depth:-depth, depth:-depth] = False
    # A tile may touch the rim: paper is the lighter three quarters there.
    rim &= crop[..., 0] >= np.quantile(crop[rim][:, 0], 0.25)
    base = np.stack([np.ones(rim.sum()), columns[rim], rows[rim]], axis=1)
    planes, *_ = np.linalg.lstsq(base, crop[rim].astype(float), rcond=None)
    paper = np.stack([np.ones_like(rows), columns, rows], axis=-1) @ planes
    return np.asarray(np.linalg.norm((crop - paper) * np.array([100 / 255, 1, 1]), axis=2))


def _bound(away: Array) -> float:
    """Where paper ends: between the rim's noise and what lies there (Otsu), and never within the noise."""
    scaled = np.clip(away * 4, 0, 255).astype(np.uint8)
    otsu, _ = cv2.threshold(scaled, 0, 255, cv2.THRESH_BINARY | cv2.THRESH_OTSU)
    return float(np.clip(otsu / 4 * 0.6, 3.0, 14.0))


def inset(corners: Sequence[Point], share: float = TILE_INSET) -> tuple[Point, ...]:
    """The corners drawn towards their middle by a share, so that worn edges and shadows stay out."""
    points = np.array(corners, float)
    middle = points.mean(axis=0)
    return tuple((float(x), float(y)) for x, y in middle + (points - middle) * (1 - 2 * share))


def read_placard_photo(path: Path, *, chart: str | Path = "auto", edition: str = "unknown") -> PlacardReading | None:
    """Read a photograph by its placard; None where it shows none.

    chart, edition: as for reading any photograph. The area is called "tile" and lies a little inside
    the tile's outline. A placard of a piece, not of a tile, may have an empty window: then only the
    chart is read. Raises BadPhotograph, NoChart or BadChart where it cannot be measured.
    """
    from patina.colour.reading import read_photo

    photo = open_photo(path)
    finding, picture, grow = _look(photo)
    if finding is None:
        return None
    del photo  # reading opens it again: a large photograph should not be held twice
    outline = tile_outline(picture, finding)
    layout = layout_of(finding.name.paper)
    empty = outline is None and _is_bare(picture, finding)
    if empty and finding.name.record.startswith("T"):
        raise BadPhotograph(
            "Nothing lies in the tile's window of the placard.", "Lay the tile flat in its window and retake."
        )
    area: tuple[Point, ...] = ()
    if not empty:
        area = inset(outline, TILE_INSET) if outline is not None else _middle(layout.tile)
    finding = _scaled(finding, grow)
    areas = (AreaSpec("tile", polygon=finding.to_photo(area)),) if area else ()
    reading = read_photo(path, chart=chart, edition=edition, areas=areas)
    if area:  # the scale where the tile lies
        px_per_mm = (outline_area(finding.to_photo(area)) / outline_area(area)) ** 0.5
        reading = replace(reading, areas=tuple(to_scale(one, px_per_mm, PLACARD) for one in reading.areas))
    warnings = reading.warnings + _cautions(finding, outline is not None, empty, reading)
    shown = finding.to_photo(outline or area) if area else ()
    return PlacardReading(finding, replace(reading, warnings=warnings), shown, outline is not None)


def _look(photo: Photo) -> tuple[PlacardFinding | None, Array, float]:
    """The placard in a photograph, the copy it was found in, and how many pixels stand for one of that copy."""
    picture, grow = photo.reduced(LONG_SIDE_PX)
    finding = find_placard(picture)
    if finding is None and grow > 1:
        picture, grow = photo.reduced(2 * LONG_SIDE_PX)
        finding = find_placard(picture)
    return finding, picture, grow


def scaled_by_placard(path: Path, found: PhotoReading) -> PhotoReading:
    """A reading of a photograph with each mottle's grain in mm, where a placard lies in the picture.

    The scale is that of the sheet's plane at the area, so it holds for areas on the sheet; of one beside it nobody
    knows how near it is, and its grain stays unknown, which is said. The same is said of a placard that cannot be
    used. Areas with a scale, and pictures without a mottle, are left as they are.
    """
    if not any(area.grain_px is not None and area.grain_mm is None for area in found.areas):
        return found
    try:
        finding, _, grow = _look(open_photo(path))
    except BadPhotograph as trouble:
        said = Caution("placard-no-scale", f"The placard gives no scale: {trouble.what}", None, trouble.remedy)
        return replace(found, warnings=(*found.warnings, said))
    if finding is None:
        return found
    finding = _scaled(finding, grow)
    layout = layout_of(finding.name.paper)
    scaled, beside = [], []
    for area in found.areas:
        outline = finding.to_sheet(area.polygon)
        on_sheet = all(0 <= x <= layout.width_mm and 0 <= y <= layout.height_mm for x, y in outline)
        if on_sheet and outline_area(outline) > 0:
            area = to_scale(area, (outline_area(area.polygon) / outline_area(outline)) ** 0.5, PLACARD)
        elif area.grain_px is not None:
            beside.append(area.name)
        scaled.append(area)
    cautions = [
        Caution(
            "beside-placard",
            f"'{name}' lies beside the placard's sheet: its scale does not hold there.",
            None,
            "Type a scale, or lay the tile on the sheet.",
        )
        for name in beside
    ]
    return replace(found, areas=tuple(scaled), warnings=(*found.warnings, *cautions))


def _is_bare(picture: Array, finding: PlacardFinding) -> bool:
    """Whether the middle of the tile's window is paper, as the strip to the right of it is."""
    layout = layout_of(finding.name.paper)
    x, y, wide, high = layout.tile
    strip = (x + wide + 2.0, y + 20.0, layout.width_mm - x - wide - 4.0, high - 40.0)
    middle = (x + wide / 2 - 10.0, y + high / 2 - 10.0, 20.0, 20.0)
    paper, there = (
        np.asarray(cv2.cvtColor(straighten(picture, finding, box, 3.0), cv2.COLOR_RGB2LAB)).reshape(-1, 3)
        for box in (strip, middle)
    )
    away = np.abs(np.median(paper, axis=0).astype(float) - np.median(there, axis=0)) * np.array([100 / 255, 1, 1])
    return bool(away[0] < BARE_L and away[1:].max() < BARE_AB and there[:, 0].std() < 3 * BARE_L)


def _middle(box: Box) -> tuple[Point, ...]:
    x, y, wide, high = box
    side = 0.15 * min(wide, high)
    middle_x, middle_y = x + wide / 2, y + high / 2
    return tuple((middle_x + dx * side, middle_y + dy * side) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))


def _scaled(finding: PlacardFinding, grow: float) -> PlacardFinding:
    # Pixel centres lie on whole numbers: shrinking by s moves a centre from x to s (x + 0.5) - 0.5.
    shift = 0.5 * grow - 0.5
    matrix = np.array([[grow, 0, shift], [0, grow, shift], [0, 0, 1]]) @ np.array(finding.sheet_to_photo).reshape(3, 3)
    matrix /= matrix[2, 2]
    return replace(finding, sheet_to_photo=tuple(float(v) for v in matrix.ravel()), px_per_mm=finding.px_per_mm * grow)


def _cautions(finding: PlacardFinding, outlined: bool, empty: bool, reading: PhotoReading) -> tuple[Caution, ...]:
    found = []
    if empty:
        text = "Nothing lies in the placard's window: the chart was read, but no area."
        found.append(Caution("window-empty", text, None, "Mark the area to read on the piece by hand."))
    elif not outlined:
        text = "The tile does not stand out from the paper; the middle of its window was read."
        found.append(Caution("tile-not-outlined", text, None, "Check the area, or lay a grey card under the tile."))
    if finding.px_per_mm < MIN_PX_PER_MM:
        text = f"The placard is small in the picture: {finding.px_per_mm:.1f} pixels to the millimetre."
        found.append(Caution("placard-small", text, finding.px_per_mm, "Come nearer or fill the frame."))
    if finding.misfit_mm > 1.5:
        text = f"The placard is not quite flat: a corner mark is off by {finding.misfit_mm:.1f} mm."
        found.append(Caution("placard-bent", text, finding.misfit_mm, "Lay it flat or glue it to a board."))
    corners = reading.chart.corners
    if corners is not None:
        window = np.array(finding.window("chart"), np.float32)
        if any(cv2.pointPolygonTest(window, corner, False) < 0 for corner in corners):
            text = "The chart that was read does not lie in the chart's window."
            found.append(Caution("chart-outside-window", text, None, "Lay the chart in its window; leave only one."))
    return tuple(found)
