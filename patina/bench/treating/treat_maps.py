"""Condition maps: the overlay picture, two maps laid over each other, and images held against each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.readings.tiles import photograph_path
from patina.bench.saving import write_whole
from patina.bench.studio import Studio
from patina.bench.treating.treat import treatment_sheet
from patina.bench.treating.treat_gather import gather
from patina.conservation.condition import MapChange, Share, map_change, map_shares, share_drawn
from patina.conservation.overlay import overlay_svg
from patina.conservation.polygons import Polygon, in_order
from patina.conservation.record import plain
from patina.errors import NotFound, PatinaError, Refused
from patina.records.treating import treatments as treatment_store
from patina.sheets.treatment import ImageComparison

if TYPE_CHECKING:
    from patina.conservation.record import Kept
    from patina.conservation.values import ConditionMap
    from patina.sheets.treatment import TreatmentSheet

Point = tuple[float, float]
COPY_PX = 1600


def sheet_with_map(studio: Studio, which: str) -> tuple[TreatmentSheet, Kept[ConditionMap]]:
    """The treatment that a condition map belongs to, and the map. Raises NotFound."""
    with studio.store.view() as session:
        part = treatment_store.find_part(session, which, "map")
        row = treatment_store.find_treatment(session, f"CT{part.conservation_id}")
        sheet = gather(studio, session, row, date.today())
    return sheet, _map(sheet, which)


def _map(sheet: TreatmentSheet, which: str) -> Kept[ConditionMap]:
    wanted = "".join(which.split()).upper()
    for one in sheet.record.maps:
        if one.id == wanted:
            return one
    raise NotFound(f"{sheet.id} has no condition map '{which}' that stands.", "Give a map such as CM1.", field="map")


def size_of(sheet: TreatmentSheet, one: Kept[ConditionMap]) -> tuple[int, int]:
    """Width and height of a map's photograph in pixels. Raises NotFound."""
    for photo in sheet.photographs:
        if photo.sha256 == one.value.photograph:
            return photo.width_px, photo.height_px
    raise NotFound("The map's photograph is not with the cast.", "Add the photograph to the cast.", field="photograph")


def share_while_drawn(sheet: TreatmentSheet, which: str, polygons: Sequence[Polygon]) -> Share | None:
    """What polygons that are not on record yet would cover; None where they enclose nothing, or cross themselves."""
    one = _map(sheet, which)
    try:
        shapes = [in_order(polygon) for polygon in polygons]
    except PatinaError:
        return None
    wide, high = size_of(sheet, one)
    return share_drawn(shapes, one.value.outline, wide / high) if shapes else None


def overlay(studio: Studio, which: str, *, with_photograph: bool = False) -> str:
    """A condition map as SVG text, apart from its photograph. with_photograph: a small copy of it lies beneath.

    Raises NotFound, Damaged, BadPhotograph.
    """
    sheet, one = sheet_with_map(studio, which)
    size = size_of(sheet, one)
    shares = map_shares(one, sheet.record.zones, size[0] / size[1])
    beneath = _small_copy(photograph_path(studio, one.value.photograph)) if with_photograph else ""
    return overlay_svg(one, sheet.record.zones, shares, size, patches=sheet.record.patches, photograph=beneath)


def _small_copy(path: Path) -> str:
    """The photograph as a data URL of a picture that is large enough to see a zone in."""
    import base64

    from patina.colour.small import small_jpeg

    return f"data:image/jpeg;base64,{base64.b64encode(small_jpeg(path, COPY_PX)).decode()}"


def write_overlay(studio: Studio, which: str, path: Path, *, with_photograph: bool = False) -> Path:
    """Write the overlay of a condition map. Raises Refused for a name that does not end in .svg."""
    if path.suffix.casefold() != ".svg":
        raise Refused(f"'{path.name}' does not end in .svg.", "Give it such a name.", field="to")
    write_whole(path, overlay(studio, which, with_photograph=with_photograph).encode())
    return path


def change_of_maps(studio: Studio, before: str, after: str, *, lay_over: bool = False) -> MapChange:
    """How areas changed between two maps of one treatment. lay_over: find how the photographs lie on each other
    and carry the later map over; otherwise what that leaves open is added.

    Raises NotFound, NotComparable, BadPhotograph, Refused.
    """
    sheet, one = sheet_with_map(studio, before)
    other = _map(sheet, after)
    if one.id == other.id:
        raise Refused("A map is not compared with itself.", "Give two maps.", field="map")
    first, second = size_of(sheet, one), size_of(sheet, other)
    aspects = (first[0] / first[1], second[0] / second[1])
    zones = sheet.record.zones
    if not lay_over or one.value.photograph == other.value.photograph:
        return map_change(one, other, zones, aspects=aspects)
    carry, within = _carrier(studio, one.value.photograph, other.value.photograph)
    moved = replace(other, value=replace(other.value, outline=one.value.outline))
    carried = [
        replace(z, value=replace(z.value, polygons=tuple(tuple(map(carry, p)) for p in z.value.polygons)))
        if z.value.map == other.id
        else z
        for z in zones
    ]
    return map_change(one, moved, carried, aspects=(aspects[0], aspects[0]), registered=True, laid_within=within)


def _carrier(studio: Studio, before: str, after: str):  # type: ignore[no-untyped-def]
    """A function from places in the later photograph to places in the earlier, and its misfit in heights."""
    import numpy as np

    from patina.colour.photograph import open_photo
    from patina.colour.register import LONG_SIDE_PX, register

    smalls = [open_photo(photograph_path(studio, sha)).reduced(LONG_SIDE_PX)[0] for sha in (before, after)]
    found = register(smalls[0], smalls[1])
    back = np.linalg.inv(found.matrix)
    (h1, w1), (h2, w2) = smalls[0].shape[:2], smalls[1].shape[:2]

    def carry(point: Point) -> Point:
        x, y, z = back @ np.array([point[0] * w2 - 0.5, point[1] * h2 - 0.5, 1.0])
        return float((x / z + 0.5) / w1), float((y / z + 0.5) / h1)

    return carry, found.misfit_px / h1


def compare_images(studio: Studio, which: str) -> tuple[ImageComparison, ...]:
    """Hold each view's image before treatment against that after, as ``patina change`` does: what speaks against
    comparing them. Raises NotFound."""
    from patina.bench.readings.change import change

    found = []
    for pair in treatment_sheet(studio, which).pairs:
        one, other = pair.before.value.photograph, pair.after.value.photograph
        try:
            seen = change(studio, one, other)
        except PatinaError as trouble:
            found.append(ImageComparison(pair.view, pair.before.id, pair.after.id, False, (), trouble.what))
            continue
        words = f"They lie on each other within {seen.misfit_px:.1f} pixels."
        found.append(ImageComparison(pair.view, pair.before.id, pair.after.id, not seen.warnings, seen.warnings, words))
    return tuple(found)


def as_json(change: MapChange) -> dict[str, Any]:
    """A change of maps as JSON has it."""
    found: dict[str, Any] = plain(change)
    return found
