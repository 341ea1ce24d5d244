"""Agreed finishes in full, verdicts, series, predictions, plans and approvals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from patina.colour.values import Lab, Part
from patina.sheets.comparing import MasterSheet

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """The agreed colour of one zone. readings: what it rests on, (id or "", colour). sd: spread of single
    readings. fixed_u: expanded (95 %) uncertainty in ΔE that more readings do not lessen, None: not known.
    surface_of: id of the reading that parts, spread (within a tone, in L*, a*, b*) and grain_mm come from.
    tile_name, light_tile_name, dark_tile_name: what is engraved on its tiles."""

    zone: str
    lab: Lab
    readings: tuple[tuple[str, Lab], ...] = ()
    sd: Vector | None = None
    n: int = 1
    light_limit: Lab | None = None
    dark_limit: Lab | None = None
    parts: tuple[Part, ...] = ()
    fixed_u: float | None = None
    tile: str | None = None
    light_tile: str | None = None
    dark_tile: str | None = None
    surface_of: str = ""
    spread: Vector | None = None
    grain_px: float | None = None
    grain_mm: float | None = None
    photograph: str | None = None
    tile_name: str = ""
    light_tile_name: str = ""
    dark_tile_name: str = ""


@dataclass(frozen=True, slots=True)
class HoldingRow:
    """Who holds a tile. kept: dark, shelf, outdoors or "". drift_de: ΔE00 of the tile's newest reading from its
    first in the same state, None where it was read once; drift_words says more."""

    tile: str
    engraved: str
    holder: str
    role: str
    kept: str
    place: str
    since: date | None
    next_check: date | None
    due: bool
    note: str
    drift_de: float | None = None
    drift_words: str = ""


@dataclass(frozen=True, slots=True)
class ConcessionRow:
    """A piece taken although it was outside. verdict: what was judged that day."""

    piece: str
    zone: str
    difference: float
    verdict: str
    reason: str
    agreed_by: str
    agreed_on: date
    piece_name: str = ""


@dataclass(frozen=True, slots=True)
class ApprovalRow:
    """A session in which somebody looked at a piece and said yes or no."""

    id: str
    master: str | None
    piece: str
    who: str
    role: str
    place: str
    light: str
    state: str
    seen: str
    answer: str
    remarks: str
    held_on: date
    by: str
    at: datetime
    piece_name: str = ""


@dataclass(frozen=True, slots=True)
class AgreedSheet:
    """An agreed finish with everything that belongs to it. aim: "as new" or "as today"."""

    master: MasterSheet
    zones: tuple[ZoneRow, ...]
    aim: str
    limit_mottle: float | None
    holdings: tuple[HoldingRow, ...]
    concessions: tuple[ConcessionRow, ...]
    approvals: tuple[ApprovalRow, ...]
