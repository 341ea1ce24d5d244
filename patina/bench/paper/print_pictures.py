"""Photographs made small enough to print, several at once, with what tells their scale."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import Damaged, NotFound

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.reports.colour_words import Picture

# Told how many steps are done, of how many, and what is being done.
Progress = Callable[[int, int, str], None]
DOTS_PER_INCH = 225.0
HALF_MM, FULL_MM = 88.0, 182.0  # a photograph beside another, and one as wide as the text
MOST_WORKERS = 4


@dataclass(frozen=True, slots=True)
class ToPrint:
    """A photograph that goes on paper. notes: camera, day, readings taken from it. wide_mm: its width there."""

    sha256: str
    caption: str
    notes: tuple[str, ...] = ()
    wide_mm: float = HALF_MM


def quiet(_done: int, _of: int, _words: str) -> None:
    """The progress of somebody who does not look."""


def pictures(studio: Studio, wanted: Sequence[ToPrint], progress: Progress = quiet) -> tuple[Picture, ...]:
    """The photographs at print size, in the order asked for; one whose file is gone from the store is left out, and
    ``patina check`` tells of it.

    progress: told after each photograph. Raises BadPhotograph for a damaged one.
    """
    places = [(one, place) for one in wanted if (place := _place(studio, one.sha256)) is not None]
    if not places:
        return ()
    import patina.colour.print_copy as _  # noqa: F401  -- its heavy parts are loaded once, before the threads ask

    made = []
    with ThreadPoolExecutor(min(os.cpu_count() or 1, MOST_WORKERS)) as workers:
        for n, picture in enumerate(workers.map(_made, places), 1):
            made.append(picture)
            progress(n, len(places), f"photograph {n} of {len(places)}")
    return tuple(made)


def _place(studio: Studio, sha256: str) -> Path | None:
    from patina.bench.readings.tiles import photograph_path

    try:
        return photograph_path(studio, sha256)
    except (NotFound, Damaged):
        return None


def _made(one: tuple[ToPrint, Path]) -> Picture:
    from patina.colour.print_copy import print_copy
    from patina.reports.colour_words import Picture

    wanted, place = one
    copy = print_copy(place, round(wanted.wide_mm / 25.4 * DOTS_PER_INCH))
    scale = () if copy.px_per_mm is None else ("scale in the plane of the placard",)
    return Picture(
        copy.content,
        ".jpg",
        wanted.caption,
        copy.width_px,
        copy.height_px,
        None if copy.px_per_mm is None else copy.width_px / copy.px_per_mm,
        (*wanted.notes, *scale),
        wanted.sha256,
    )
