"""Reading colour from a photograph, with or without keeping it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from patina.colour.values import EDITIONS, AreaSpec, PhotoReading
from patina.entries import NewReading
from patina.errors import BadQuantity, Refused

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import ReadingRow

Corners = tuple[tuple[float, float], tuple[float, float], tuple[float, float], tuple[float, float]]


def read(
    photo: Path,
    *,
    chart: str = "auto",
    edition: str = "unknown",
    corners: str | None = None,
    areas: Sequence[str | AreaSpec] = (),
) -> PhotoReading:
    """The colour of areas in a photograph.

    chart: "auto", "none" or the path of a file with the chart's own values. edition: one of
    "before-2014", "after-2014", "unknown". corners: "x,y;x,y;x,y;x,y", centres of patches 1, 6, 24
    and 19. areas: "NAME=x,y,w,h" in pixels of the upright picture, or AreaSpec.
    Raises BadPhotograph, NoChart, BadChart, BadQuantity.
    """
    from patina.colour.reading import read_photo

    if edition not in EDITIONS:
        raise BadQuantity(
            f"'{edition}' is no edition of the chart.", f"Use one of: {', '.join(EDITIONS)}.", field="edition"
        )
    specs = [area if isinstance(area, AreaSpec) else parse_area(area) for area in areas]
    names = [spec.name for spec in specs]
    for name in names:
        if names.count(name) > 1:
            raise BadQuantity(f"Two areas are called '{name}'.", "Give each area its own name.", field="area")
    return read_photo(
        photo,
        chart=chart if chart in ("auto", "none") else Path(chart),
        edition=edition,
        corners=None if corners is None else parse_corners(corners),
        areas=specs,
    )


def parse_area(text: str) -> AreaSpec:
    """An area from "NAME=x,y,w,h" (pixels). Raises BadQuantity."""
    name, equals, rest = text.rpartition("=")
    numbers = _numbers(rest)
    if not equals or not name.strip() or numbers is None or len(numbers) != 4:
        raise BadQuantity(
            f"'{text}' does not describe an area.", "Write NAME=x,y,width,height in pixels.", field="area"
        )
    x, y, w, h = numbers
    if w <= 0 or h <= 0:
        raise BadQuantity(
            f"Area '{name}' has no width or no height.", "Give a width and height above 0 pixels.", field="area"
        )
    return AreaSpec(name.strip(), rect=(x, y, w, h))


def parse_corners(text: str) -> Corners:
    """Four patch centres from "x,y;x,y;x,y;x,y" (pixels). Raises BadQuantity."""
    points = [_numbers(part) for part in text.split(";")]
    if len(points) != 4 or any(p is None or len(p) != 2 for p in points):
        raise BadQuantity(
            f"'{text}' does not give four points.",
            "Write the centres of patches 1, 6, 24 and 19 as x,y;x,y;x,y;x,y in pixels.",
            field="corners",
        )
    a, b, c, d = ((p[0], p[1]) for p in points if p is not None)
    return (a, b, c, d)


def parse_outline(text: str) -> tuple[tuple[float, float], ...]:
    """Three or more corners from "x,y;x,y;x,y…" (pixels). Raises BadQuantity."""
    points = [_numbers(part) for part in text.split(";")]
    if len(points) < 3 or any(p is None or len(p) != 2 for p in points):
        raise BadQuantity(
            f"'{text}' is no outline.", "Write three or more corners as x,y;x,y;x,y in pixels.", field="piece"
        )
    return tuple((p[0], p[1]) for p in points if p is not None)


def _numbers(text: str) -> list[float] | None:
    try:
        values = [float(part) for part in text.split(",")]
    except ValueError:
        return None
    return values if all(abs(v) < 1e7 for v in values) else None


def read_into(
    studio: Studio,
    target: str,
    photograph: str,
    *,
    areas: Sequence[str | AreaSpec],
    chart: str = "auto",
    edition: str = "unknown",
    corners: str | None = None,
    wax_state: str = "not stated",
    warmth: str = "not stated",
    by: str = "",
) -> tuple[tuple[ReadingRow, ...], PhotoReading]:
    """Read areas of a stored photograph and keep the readings with a tile or cast.

    target: id of the tile or cast. photograph: SHA-256 of a photograph that belongs to it. All
    readings are kept, or none. Returns the readings kept, and all that was read.
    """
    from patina.bench.tiles import add_readings, photograph_path

    if not areas:
        raise Refused("No area was set.", "Set the area to be measured on the picture first.", field="area")
    result = read(photograph_path(studio, photograph), chart=chart, edition=edition, corners=corners, areas=areas)
    readings = as_readings(result, photograph, wax_state=wax_state, warmth=warmth, by=by)
    return add_readings(studio, target, readings), result


def as_readings(result: PhotoReading, photograph: str, *, wax_state: str, warmth: str, by: str) -> list[NewReading]:
    """What was read from a stored photograph, as readings to keep. photograph: its SHA-256."""
    return [
        NewReading(
            L=area.lab.L,
            a=area.lab.a,
            b=area.lab.b,
            source="photograph",
            area=area.name,
            illuminant=area.illuminant,
            observer=area.observer,
            geometry=area.geometry,
            instrument=_instrument(result),
            sd=area.sd,
            uncertainty_de00=area.uncertainty_de00,
            wax_state=wax_state,
            warmth=warmth,
            read_by=by,
            photograph=photograph,
            note=" ".join(w.text for w in result.warnings),
            parts=tuple((p.lab.L, p.lab.a, p.lab.b, p.share) for p in area.parts),
        )
        for area in result.areas
    ]


def _instrument(result: PhotoReading) -> str:
    if not result.chart.found:
        return "camera without chart"
    return f"camera, 24-patch chart ({result.chart.edition}), {result.chart.method}"
