"""Reading colour from a photograph, with or without keeping it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.readings.charts import as_read, list_charts
from patina.colour.values import CARDS, EDITIONS, AreaSpec, PhotoReading
from patina.entries import WARMTH, WAX_STATES, HowRead, NewReading
from patina.errors import BadChart, BadQuantity, Refused

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
    wax_state: str = "not stated",
    warmth: str = "not stated",
    card: str | Path | None = None,
    flat: Path | None = None,
    chart_photo: Path | None = None,
    scale: str = "",
) -> PhotoReading:
    """The colour of areas in a photograph.

    chart: "auto", "none", "white-card", "step-card" or the path of a file with the chart's own values.
    edition: one of "before-2014", "after-2014", "unknown". corners: "x,y;x,y;x,y;x,y", centres of
    patches 1, 6, 24 and 19, or a card's outer corners. areas: "NAME=x,y,w,h" in pixels of the upright
    picture, or AreaSpec. wax_state, warmth: of the surface. card: what the card reflects, "90 %" or a
    CSV file. flat: a photograph of plain card in the same place and light. chart_photo: another
    photograph, which shows the chart. scale: "12.4 px/mm", or what an area measures, "face=80x60 mm";
    empty: that of a placard in the picture, if there is one.
    Raises BadPhotograph, NoChart, BadChart, BadQuantity.
    """
    from patina.colour.reading import read_photo

    if edition not in EDITIONS:
        raise BadQuantity(
            f"'{edition}' is no edition of the chart.", f"Use one of: {', '.join(EDITIONS)}.", field="edition"
        )
    if card is not None and chart not in CARDS:
        raise BadQuantity(
            "A card's reflectances were given, but no card is used.",
            "Say which: step-card for a row of steps, white-card for a plain one.",
            field="card",
        )
    specs = [area if isinstance(area, AreaSpec) else parse_area(area) for area in areas]
    names = [spec.name for spec in specs]
    for name in names:
        if names.count(name) > 1:
            raise BadQuantity(f"Two areas are called '{name}'.", "Give each area its own name.", field="area")
    found = read_photo(
        photo,
        chart=chart if chart in ("auto", "none", *CARDS) else Path(chart),
        edition=edition,
        corners=None if corners is None else parse_corners(corners),
        areas=specs,
        state=_state(wax_state, warmth),
        card=card,
        flat_frame=flat,
        chart_frame=chart_photo,
    )
    return with_scale(found, scale) if scale.strip() else _by_placard(photo, found)


def _by_placard(photo: Path, found: PhotoReading) -> PhotoReading:
    """By the scale of a placard in the picture, where there is one and a mottle to be measured."""
    if all(area.grain_px is None for area in found.areas):
        return found
    from patina.colour.placard_reading import scaled_by_placard

    return scaled_by_placard(photo, found)


def check_card(kind: str, given: str) -> None:
    """Whether a card's reflectances can be used, as ``read`` takes them. Raises BadChart."""
    from patina.colour.card_values import card_values

    try:
        card_values(kind, given)
    except BadChart as trouble:
        trouble.field = "card"
        raise


def with_scale(found: PhotoReading, scale: str) -> PhotoReading:
    """The same with each area's grain in mm by a typed scale, empty for none; forms as in ``read``.
    Raises BadQuantity."""
    from patina.colour.scale import with_scale as scaled

    return scaled(found, scale)


def _state(wax_state: str, warmth: str) -> str | None:
    """The surface's state in words, None where a part of it was not stated. Raises BadQuantity."""
    for word, known, field in ((wax_state, WAX_STATES, "wax_state"), (warmth, WARMTH, "warmth")):
        if word not in known:
            raise BadQuantity(f"'{word}' is no state.", f"Use one of: {', '.join(known)}.", field=field)
    return None if "not stated" in (wax_state, warmth) else f"{wax_state}, {warmth}"


def parse_state(text: str) -> tuple[str, str]:
    """Wax and warmth from words such as "waxed, cold"; what is not said is "not stated". Raises BadQuantity.

    >>> parse_state("cold, unwaxed"), parse_state("wet")
    (('unwaxed', 'cold'), ('wet', 'not stated'))
    """
    wax, warmth = "not stated", "not stated"
    for word in text.split(","):
        if word.strip() in WAX_STATES[:-1] and wax == "not stated":
            wax = word.strip()
        elif word.strip() in WARMTH[:-1] and warmth == "not stated":
            warmth = word.strip()
        else:
            raise BadQuantity(
                f"'{text}' is no state of a surface.",
                f"Write one of {', '.join(WAX_STATES[:-1])} and one of {', '.join(WARMTH[:-1])}, as waxed,cold.",
                field="state",
            )
    return wax, warmth


_AREA_FORMS = "Write NAME=x,y,width,height or NAME=x,y;x,y;x,y in pixels, or NAME=tile for the whole tile."


def parse_area(text: str) -> AreaSpec:
    """An area: "NAME=x,y,w,h" (pixels), "NAME=x,y;x,y;x,y…" (corners of a polygon), or "NAME=tile" or
    "NAME=tile:x,y,w,h" (the tile found by its outline, near the middle of that box). Raises BadQuantity.
    """
    name, equals, rest = text.rpartition("=")
    if not equals or not name.strip():
        raise BadQuantity(f"'{text}' does not describe an area.", _AREA_FORMS, field="area")
    if ";" in rest:
        return AreaSpec(name.strip(), polygon=parse_outline(rest))
    word, colon, box = rest.strip().partition(":")
    if word == "tile" and not colon:
        return AreaSpec(name.strip(), whole_tile=True)
    whole = word == "tile"
    numbers = _numbers(box if whole else rest)
    if numbers is None or len(numbers) != 4:
        raise BadQuantity(f"'{text}' does not describe an area.", _AREA_FORMS, field="area")
    x, y, w, h = numbers
    if w <= 0 or h <= 0:
        raise BadQuantity(
            f"Area '{name}' has no width or no height.", "Give a width and height above 0 pixels.", field="area"
        )
    return AreaSpec(name.strip(), rect=(x, y, w, h), whole_tile=whole)


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
    card: str | Path | None = None,
    flat: Path | None = None,
    chart_photograph: str | None = None,
    scale: str = "",
) -> tuple[tuple[ReadingRow, ...], PhotoReading]:
    """Read areas of a stored photograph and keep the readings with a tile or cast.

    target: id of the tile or cast. photograph: SHA-256 of a photograph that belongs to it. All
    readings are kept, or none. chart_photograph: SHA-256 of another stored photograph, which shows the
    chart. chart: also the name of one of the studio's charts. An edition that is not known is taken
    from that chart, or from the studio's setting. Returns the readings kept, and all that was read.
    """
    from patina.bench.readings.tiles import add_readings, photograph_path

    if not areas:
        raise Refused("No area was set.", "Set the area to be measured on the picture first.", field="area")
    with as_read(studio, chart, edition) as (named, known):
        result = read(
            photograph_path(studio, photograph),
            chart=named,
            edition=known,
            corners=corners,
            areas=areas,
            wax_state=wax_state,
            warmth=warmth,
            card=card,
            flat=flat,
            chart_photo=None if chart_photograph is None else photograph_path(studio, chart_photograph),
            scale=scale,
        )
    how = how_read(
        studio,
        areas,
        chart=chart,
        edition=known,
        corners=corners,
        card=card,
        flat=flat is not None,
        chart_photograph=chart_photograph,
    )
    readings = as_readings(result, photograph, wax_state=wax_state, warmth=warmth, by=by, how=how)
    return add_readings(studio, target, readings), result


def how_read(
    studio: Studio,
    areas: Sequence[str | AreaSpec],
    *,
    chart: str,
    edition: str,
    corners: str | None = None,
    card: str | Path | None = None,
    flat: bool = False,
    chart_photograph: str | None = None,
) -> list[HowRead]:
    """How each area is read, to be kept with its reading, so that it can be read again; as ``read_into`` takes
    them. A file that is no record cannot be asked for again: that it was one is kept."""
    names = {own.name for own in list_charts(studio)}
    kept = chart if chart in names or chart in ("auto", "none", *CARDS) else "file"
    words = "" if card is None else "file" if Path(card).is_file() else str(card)
    specs = [area if isinstance(area, AreaSpec) else parse_area(area) for area in areas]
    return [
        HowRead("areas", kept, edition, corners, area_document(spec), words, flat, chart_photograph) for spec in specs
    ]


def area_document(spec: AreaSpec) -> dict[str, Any]:
    """An area as plain values."""
    return {"name": spec.name, "rect": spec.rect, "polygon": spec.polygon, "whole_tile": spec.whole_tile}


def keep_read(
    studio: Studio, target: str, photo: Path, result: PhotoReading, *, wax_state: str, warmth: str, by: str = ""
) -> tuple[ReadingRow, ...]:
    """File a photograph that was read with a tile or cast, and keep what was read of it.

    A photograph that is with it already stands as it is. Raises Refused without an area, NotFound.
    """
    from patina.bench.readings.tiles import add_photograph, add_readings, target_of
    from patina.records.photographs.rows import is_with

    if not result.areas:
        raise Refused("No area was set.", "Name the area to be measured: --area face=x,y,w,h.", field="area")
    own = None if result.facts is None else result.facts.sha256
    with studio.store.view() as session:
        owner = target_of(session, target)
        here = own is not None and is_with(session, own, owner)
    stored = own if here and own else add_photograph(studio, target, photo, by=by).sha256
    readings = as_readings(result, stored, wax_state=wax_state, warmth=warmth, by=by)
    return add_readings(studio, target, readings)


def as_readings(
    result: PhotoReading,
    photograph: str,
    *,
    wax_state: str,
    warmth: str,
    by: str,
    how: Sequence[HowRead] = (),
) -> list[NewReading]:
    """What was read from a stored photograph, as readings to keep. photograph: its SHA-256. how: for each area.

    A warning that the state was not stated is dropped where it is stated here.
    """
    told = _state(wax_state, warmth) is not None
    warnings = [w.text for w in result.warnings if not (told and w.code == "state-not-stated")]
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
            note=" ".join(warnings),
            parts=tuple((p.lab.L, p.lab.a, p.lab.b, p.share) for p in area.parts),
            doubt_de00=(area.sampling_de00, area.correction_de00),
            grain_px=area.grain_px,
            grain_mm=area.grain_mm,
            scale_from=area.scale_from,
            how=how[number] if how else None,
        )
        for number, area in enumerate(result.areas)
    ]


def _instrument(result: PhotoReading) -> str:
    from patina.records.photographs.rows import WITHOUT_CHART

    if not result.chart.found:
        return WITHOUT_CHART
    where = ", in another photograph" if any(w.code == "chart-elsewhere" for w in result.warnings) else ""
    if result.chart.kind.endswith("card"):
        return f"camera, {result.chart.kind}{where}, {result.chart.method}"
    return f"camera, 24-patch chart ({result.chart.edition}){where}, {result.chart.method}"
