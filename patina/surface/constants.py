"""Numbers for area, heat and dew, read from ``data/surface_constants.csv`` and two small tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from patina.datafile import Parser, number, read_table, text
from patina.errors import BadData


@dataclass(frozen=True, slots=True)
class Constant:
    """One number with its unit (in words), the key of its source and a note."""

    key: str
    value: float
    unit: str
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Band:
    """A starting value with the range it is usually found in.

    key and name: what it belongs to (a surface, a state of the metal). low, high, start: in the
    unit of the table (texture factor and emissivity have none). source: key of the bibliography.
    """

    key: str
    name: str
    low: float
    high: float
    start: float
    source: str


@cache
def constants() -> dict[str, Constant]:
    """All constants by key."""
    columns: dict[str, Parser] = {"key": text, "value": number, "unit": text, "source": text, "note": str}
    return {row["key"]: Constant(**row) for row in read_table("surface_constants.csv", columns)}


def constant(key: str) -> float:
    """The value of one constant; raises BadData for a key that the file does not hold."""
    try:
        return constants()[key].value
    except KeyError:
        raise BadData(
            f"surface_constants.csv has no row '{key}'.", "Install the program again, or add the row."
        ) from None


@cache
def texture_factors() -> dict[str, Band]:
    """Developed area over plain area by kind of surface: where to start. Source: [PRACTICE], [ISO25178]."""
    return _bands("texture_factors.csv", "surface")


@cache
def emissivities() -> dict[str, Band]:
    """Emissivity by state of the surface, 0 to 1. Source: [EMISSIVITY_TABLES]."""
    return _bands("emissivity.csv", "state")


def _bands(file: str, name_column: str) -> dict[str, Band]:
    columns = {"key": text, name_column: text, "low": number, "high": number, "start": number, "source": text}
    found = {}
    for row in read_table(file, columns):
        if not 0 < row["low"] <= row["start"] <= row["high"]:
            raise BadData(f"{file}: '{row['key']}' starts outside its own range.", "Correct that row.")
        found[row["key"]] = Band(row["key"], row[name_column], row["low"], row["high"], row["start"], row["source"])
    return found
