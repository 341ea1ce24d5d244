"""Tiles, their photographs and readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from patina.colour.values import Lab, Part


@dataclass(frozen=True, slots=True)
class PhotographRow:
    """A stored photograph. name: the file name it came with. taken_at: as the camera says, local."""

    sha256: str
    name: str
    width_px: int
    height_px: int
    format: str
    bits: int
    profile: str
    taken_at: str
    camera: str
    state: str
    note: str
    added_at: datetime


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading as kept. uncertainty_de00: expanded (95 %), None where unknown. grain_px, grain_mm: size of the
    mottle in pixels of its photograph and in mm, None where not known; scale_from: what gave the scale."""

    id: str
    lab: Lab
    source: str
    area: str
    sd: tuple[float, float, float] | None
    n: int
    uncertainty_de00: float | None
    geometry: str
    instrument: str
    wax_state: str
    warmth: str
    read_at: datetime
    read_by: str
    photograph: str | None
    note: str
    parts: tuple[Part, ...] = ()
    tile: str | None = None
    cast: str | None = None
    grain_px: float | None = None
    grain_mm: float | None = None
    scale_from: str = ""


@dataclass(frozen=True, slots=True)
class TileRow:
    """A tile in a list. lab: its latest reading, None where it has none. wax_state: of the tile as it was made;
    read_wax: of its latest reading, which may have been taken later."""

    id: str
    engraved: str
    alloy: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    made_on: date | None
    wax_state: str
    lab: Lab | None
    parts: tuple[Part, ...] = ()
    readings: int = 0
    photographs: int = 0
    read_wax: str = "not stated"


@dataclass(frozen=True, slots=True)
class TileSheet:
    """A tile with how it was made, its photographs and its readings (newest first). batch_name: the solution that was
    in the pot."""

    row: TileRow
    preparation: str
    wall_mm: float | None
    size: str
    as_done: tuple[str, ...]
    made_by: str
    note: str
    batch: str | None
    photographs: tuple[PhotographRow, ...]
    readings: tuple[ReadingRow, ...]
    version: int
    batch_name: str = ""


@dataclass(frozen=True, slots=True)
class Match:
    """A tile near a colour. reading: which of its readings; wax_state: of that reading."""

    tile: str
    engraved: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    lab: Lab
    delta_e: float
    reading: str = ""
    wax_state: str = ""
