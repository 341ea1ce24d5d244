"""Pieces, casts and what was done to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from patina.colour.values import Lab
from patina.sheets.tiles import PhotographRow, ReadingRow


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A work and how many of its casts are on record."""

    id: str
    title: str
    maker: str
    edition: int | None
    casts: int


@dataclass(frozen=True, slots=True)
class CastRow:
    """A cast in a list. lab: its latest reading. master: id of its agreed finish, and its name."""

    id: str
    piece: str
    piece_id: str
    number: str
    alloy: str
    owner: str
    place: str
    master: str | None
    lab: Lab | None
    treatments: int
    master_name: str = ""


@dataclass(frozen=True, slots=True)
class TreatmentRow:
    """One dated action on a cast. batch_name: the solution that was in the pot."""

    id: str
    did: str
    zone: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    batch: str | None
    as_done: tuple[str, ...]
    area_m2: float | None
    done_on: date | None
    done_by: str
    note: str
    batch_name: str = ""


@dataclass(frozen=True, slots=True)
class CastSheet:
    """A cast with its treatments (oldest first), photographs and readings (newest first). conserved: id and name of
    each conservator's treatment of it, newest first."""

    row: CastRow
    mass_g: float | None
    wall_mm: float | None
    area_m2: float | None
    cast_on: date | None
    note: str
    treatments: tuple[TreatmentRow, ...]
    photographs: tuple[PhotographRow, ...]
    readings: tuple[ReadingRow, ...]
    version: int
    conserved: tuple[tuple[str, str], ...] = ()
