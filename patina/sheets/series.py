"""An edition cast by cast: register, charts, alarms, what changed, what the casts prove."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from patina.colour.values import Lab
from patina.matching.series import Alarm, Chart
from patina.matching.tolerance import ToleranceInterval
from patina.sheets.casts import PieceRow


@dataclass(frozen=True, slots=True)
class SeriesCast:
    """A cast in its series. lab: mean of its readings in the state looked at, None where it has none. n: single
    readings. delta_e: from the agreed finish, to_before: from the cast read before it, both in the formula
    agreed. verdict: against the agreed finish, "" without one. changed: what differs from the cast before."""

    id: str
    label: str
    cast_on: date | None
    lab: Lab | None
    n: int
    delta_e: float | None
    to_before: float | None
    verdict: str
    changed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SharedRow:
    """A cast against the one before: what they share, what differs, what was not written down, and the changes that
    ask for a tile before the torch."""

    cast: str
    before: str
    same: tuple[str, ...]
    different: tuple[str, ...]
    blank: tuple[str, ...]
    tiles: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class SeriesSheet:
    """A piece's casts as a series.

    order: "number" or "date". state: wax and warmth of the readings looked at. register: numbers of the edition
    not on record. centre: the agreed colour, or None. charts: of L*, a*, b*, empty with fewer than two casts read;
    labels: of their points. widest: the largest difference between two casts, and whether it is inside the
    starting limit. intervals: per component. variation: within and between casts, in words. spread_from: where
    the spread between casts was taken from. words: the whole in sentences.
    """

    piece: PieceRow
    order: str
    state: str
    zone: str
    casts: tuple[SeriesCast, ...]
    unnumbered: int
    not_on_record: tuple[str, ...]
    master: str | None
    centre: Lab | None
    labels: tuple[str, ...]
    charts: tuple[Chart, ...]
    alarms: tuple[Alarm, ...]
    changes: tuple[tuple[int, str], ...]
    widest_de: float | None
    widest_inside: bool | None
    intervals: tuple[ToleranceInterval, ...]
    variation: tuple[str, ...]
    shared: tuple[SharedRow, ...]
    spread_from: str
    words: tuple[str, ...]
    master_name: str = ""
