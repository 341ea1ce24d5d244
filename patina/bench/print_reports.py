"""The larger reports: a series with its charts, and what stands in them of works and of ageing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.print_pictures import Progress, pictures, quiet
from patina.errors import NotFound, PatinaError

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.document import Chart
    from patina.sheets.series import SeriesSheet

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
    from patina.bench.casts import cast_sheet
    from patina.bench.printing import photographs_to_print
    from patina.bench.series import series
    from patina.bench.showing import near_only, screen_colour
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


def torch_charts(studio: Studio, casts: Sequence[str]) -> tuple[Chart, ...]:
    """Temperatures of the works on some casts, oldest first; a work without temperatures has no chart."""
    from patina.bench.work import list_works, work_sheet
    from patina.reports.figures_time import torch_chart

    mine = [w for w in list_works(studio, open_only=False) if w.target in casts]
    charts = [torch_chart(work_sheet(studio, w.id)) for w in reversed(mine)]
    return tuple(c for c in charts if c is not None)


def ageing_charts(studio: Studio, sheet: SeriesSheet) -> tuple[Chart, ...]:
    """How twins of the recipe aged, by where they were kept; none where no cast was read or no twin is old enough."""
    from patina.bench.ageing import foretell
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
