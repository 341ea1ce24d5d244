"""The larger reports: a series and a conservator's treatment, with the charts that stand in them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.paper.print_pictures import Progress, ToPrint, pictures, quiet
from patina.errors import NotFound, PatinaError

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.document import Chart
    from patina.sheets.series import SeriesSheet
    from patina.sheets.treatment import Extraction, TreatmentSheet

Written = tuple[Path, ...]


def series_report(
    studio: Studio,
    piece: str,
    path: Path,
    *,
    order: str = "number",
    zone: str = "",
    master: str = "",
    progress: Progress = quiet,
) -> Written:
    """An edition on paper: register, charts of L*, a*, b*, what changed, ageing of twins, temperatures at the torch.

    piece, order, zone, master: as ``series`` takes them. Raises NotFound, BadQuantity.
    """
    from patina.bench.matched.series import series
    from patina.bench.paper.printing import photographs_to_print
    from patina.bench.pieces.casts import cast_sheet
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.reports.publish import publish
    from patina.reports.series_report import series_document

    sheet = series(studio, piece, order=order, zone=zone, master=master)
    casts = [cast_sheet(studio, c.id) for c in sheet.casts]
    wanted = [p for c in casts for p in photographs_to_print(c.photographs, c.readings)]
    document = series_document(
        sheet,
        made_on=date.today(),
        colour_of=screen_colour,
        near_only=near_only,
        studio=studio.setting("studio_name"),
        more_charts=(*ageing_charts(studio, sheet), *torch_charts(studio, [c.id for c in sheet.casts])),
        pictures=pictures(studio, wanted, progress),
    )
    return publish(document, path, progress=progress)


def agreed_finish(
    studio: Studio, master: str, path: Path, *, show_recipe: bool = True, progress: Progress = quiet
) -> Written:
    """An agreed finish on paper: zones with their limits, tolerances, light, state, who agreed, holders of tiles,
    next check, concessions, approvals. master: id or name. show_recipe: False seals the recipe's name.
    Raises NotFound, BadPhotograph."""
    from patina.bench.matched.agreed import agreed_sheet
    from patina.bench.paper.printing import photographs_to_print
    from patina.bench.readings.showing import near_only, screen_colour
    from patina.bench.readings.tiles import tile_sheet
    from patina.reports.agreed_finish import agreed_document
    from patina.reports.publish import publish

    sheet = agreed_sheet(studio, master)
    tile = None if sheet.master.tile is None else tile_sheet(studio, sheet.master.tile)
    wanted = [] if tile is None else photographs_to_print(tile.photographs, tile.readings)
    document = agreed_document(
        sheet,
        made_on=date.today(),
        colour_of=screen_colour,
        near_only=near_only,
        studio=studio.setting("studio_name"),
        show_recipe=show_recipe,
        pictures=pictures(studio, wanted, progress),
    )
    return publish(document, path, progress=progress)


def torch_charts(studio: Studio, targets: Sequence[str]) -> tuple[Chart, ...]:
    """Temperatures of the works on some casts or tiles, oldest first; a work without temperatures has no chart."""
    from patina.bench.torch.work import list_works, work_sheet
    from patina.reports.figures_time import torch_chart

    mine = [w for w in list_works(studio, open_only=False) if w.target in targets]
    charts = [torch_chart(work_sheet(studio, w.id)) for w in reversed(mine)]
    return tuple(c for c in charts if c is not None)


def ageing_charts(studio: Studio, sheet: SeriesSheet) -> tuple[Chart, ...]:
    """How twins of the recipe aged, by where they were kept; none where no cast was read or no twin is old enough."""
    from patina.bench.matched.ageing import foretell
    from patina.reports.figures_time import ageing_chart

    for cast in sheet.casts:
        if cast.lab is None:
            continue
        try:
            courses = foretell(studio, cast.id).courses
        except NotFound:
            continue
        except PatinaError:
            return ()
        return tuple(ageing_chart(course, sheet.piece.id) for course in courses)
    return ()


def treatment_report(studio: Studio, treatment: str, path: Path, progress: Progress = quiet) -> Written:
    """A conservator's treatment on paper: all that was written down, condition maps over their photographs, the curve
    of salts, images side by side, what is missing and who asks for it. Raises NotFound, BadPhotograph."""
    from patina.bench.readings.showing import screen_colour
    from patina.bench.sealing import seal_of
    from patina.bench.treating.treat import treatment_sheet
    from patina.conservation.vocabulary import terms
    from patina.reports.publish import publish
    from patina.reports.treatment_report import treatment_document
    from patina.reports.treatment_words import Shown

    sheet = treatment_sheet(studio, treatment)
    made = pictures(studio, _of_treatment(sheet), progress)
    shown = Shown(
        pictures={p.sha256: p for p in made},
        salts={e.bath: c for e in sheet.extractions if (c := salt_chart_of(sheet, e)) is not None},
        names={key: term.name for key, term in terms().items()},
        studio=studio.setting("studio_name"),
        seal=seal_of(studio, sheet.record.id),
    )
    return publish(treatment_document(sheet, shown, colour_of=screen_colour), path, progress=progress)


def _of_treatment(sheet: TreatmentSheet) -> list[ToPrint]:
    """Photographs that condition maps and images name, each once."""
    from patina.bench.paper.printing import photograph_notes

    rows = {p.sha256: p for p in sheet.photographs}
    maps = [(m.value.photograph, f"{m.value.view}, {m.value.visit}") for m in sheet.record.maps]
    images = [(i.value.photograph, i.value.view) for i in sheet.record.images]
    named: dict[str, str] = {}
    for sha256, words in (*maps, *images):
        named.setdefault(sha256, words)
    return [
        ToPrint(sha256, words, photograph_notes(rows[sha256], sheet.readings) if sha256 in rows else ())
        for sha256, words in named.items()
    ]


def salt_chart_of(sheet: TreatmentSheet, extraction: Extraction) -> Chart | None:
    """The readings of an extraction with the law that fits best, where it ends and how sure that is."""
    from patina.conservation.salts import MODELS
    from patina.reports.figures_time import salt_chart

    bath = next(b.value for b in sheet.record.baths if b.id == extraction.bath)
    points = extraction.points
    curve: list[tuple[float, float]] = []
    low = high = None
    if points and extraction.all_out is not None and extraction.rate is not None:
        law, total = MODELS[extraction.model], points[-1].total
        ends = 1.3 * points[-1].root_h
        roots = [ends * n / 120 for n in range(121)]
        curve = [(root, extraction.all_out * law(extraction.rate * root * root)) for root in roots]
        low = total / (extraction.high_pct / 100.0) if extraction.high_pct else None
        high = total / (extraction.low_pct / 100.0) if extraction.low_pct and extraction.low_pct > 5.0 else None
    return salt_chart(
        bath.name,
        [p.root_h for p in points],
        [p.total for p in points],
        curve=curve,
        plateau=extraction.all_out,
        low=low,
        high=high,
        upright=f"drawn out, {extraction.unit}",
        words=f"The end is {extraction.verdict} by the law that fits the readings best.",
    )
