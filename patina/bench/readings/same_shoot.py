"""Photographs of one shoot: those that may show the chart for one that does not."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from patina.records.photographs.rows import find_photograph, photograph_row, uses_of_day

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import PhotographRow

MOST = 60


@dataclass(frozen=True, slots=True)
class OfShoot:
    """A photograph of the same shoot. target: id of its tile or cast. apart_min: minutes between the two, None
    where a camera did not say. same_camera: None where a camera is not known."""

    target: str
    photograph: PhotographRow
    apart_min: float | None
    same_camera: bool | None


def same_shoot(studio: Studio, sha256: str) -> tuple[OfShoot, ...]:
    """Other photographs of the day on which one was taken: those of its camera first, the nearest in time first.

    Where the camera did not say when, those that were added on the same day. Raises NotFound.
    """
    found: dict[str, OfShoot] = {}
    with studio.store.view() as session:
        own = find_photograph(session, sha256)
        taken = _moment(own.taken_at)
        for use in uses_of_day(session, own):
            other = use.photograph
            when = _moment(other.taken_at)
            apart = None if taken is None or when is None else abs((when - taken).total_seconds()) / 60
            camera = other.camera == own.camera if own.camera and other.camera else None
            target = f"T{use.tile_id}" if use.tile_id is not None else f"C{use.cast_id}"
            found.setdefault(other.sha256, OfShoot(target, photograph_row(use), apart, camera))

    def order(one: OfShoot) -> tuple[bool, float]:
        return one.same_camera is False, float("inf") if one.apart_min is None else one.apart_min

    return tuple(sorted(found.values(), key=order)[:MOST])


def _moment(taken_at: str) -> datetime | None:
    """The camera's moment, whatever stands between its figures; None where it is none.

    >>> _moment("2026:03:04 10:20:30"), _moment("")
    (datetime.datetime(2026, 3, 4, 10, 20, 30), None)
    """
    figures = re.findall(r"\d+", taken_at)[:6]
    try:
        return datetime.strptime(" ".join(figures), "%Y %m %d %H %M %S") if len(figures) == 6 else None
    except ValueError:
        return None
