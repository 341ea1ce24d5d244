"""Alloys of cast, tile and sheet, from ``data/alloys.csv``."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from patina.datafile import Parser, number, one_of, optional_number, read_table, text, words
from patina.errors import BadData, NotFound


@dataclass(frozen=True, slots=True)
class Alloy:
    """A copper alloy as it is bought or cast.

    key: designation used in recipes ("C87300"). composition: element symbol to nominal wt%; a range
    is named in ``note``. density_g_ml: at 20 C, within 1 to 1.5 % between suppliers.
    specific_heat_j_kg_k: near 20 C. conductivity_w_m_k: near 20 C, None where unknown.
    use: "cast", "sheet" or "both". source: where composition and density come from;
    heat_source: where the two heat figures come from.
    """

    key: str
    name: str
    other_names: tuple[str, ...]
    composition: Mapping[str, float]
    density_g_ml: float
    note: str
    source: str
    specific_heat_j_kg_k: float
    conductivity_w_m_k: float | None
    use: str
    heat_source: str


def _composition(cell: str) -> Mapping[str, float]:
    shares: dict[str, float] = {}
    for part in words(cell):
        found = re.fullmatch(r"([A-Z][a-z]?) (\d+(?:\.\d+)?)", part)
        if not found:
            raise ValueError(f"'{part}' is not an element and its wt%")
        shares[found[1]] = float(found[2])
    if not 90 <= sum(shares.values()) <= 101.5:
        raise ValueError(f"'{cell}' adds up to {sum(shares.values()):g} wt%")
    return MappingProxyType(shares)


def _positive(cell: str) -> float:
    value = number(cell)
    if value <= 0:
        raise ValueError(f"'{cell}' is not above zero")
    return value


_COLUMNS: dict[str, Parser] = {
    "key": text,
    "name": text,
    "other_names": words,
    "composition": _composition,
    "density_g_ml": _positive,
    "specific_heat_j_kg_k": _positive,
    "conductivity_w_m_k": optional_number,
    "use": one_of("cast", "sheet", "both"),
    "note": str,
    "source": text,
    "heat_source": text,
}


def read_alloys(source: str | Path = "alloys.csv") -> dict[str, Alloy]:
    """Alloys of a file by key. Raises BadData naming row and column, or a name that two alloys claim."""
    found: dict[str, Alloy] = {}
    claimed: dict[str, str] = {}
    for row in read_table(source, _COLUMNS):
        alloy = Alloy(**row)
        for name in {_plain(n) for n in (alloy.key, alloy.name, *alloy.other_names)}:
            if name in claimed:
                raise BadData(f"'{name}' names both {claimed[name]} and {alloy.key}.", "Give it to one alloy only.")
            claimed[name] = alloy.key
        found[alloy.key] = alloy
    return found


@cache
def alloys() -> Mapping[str, Alloy]:
    """The packaged alloys by key, in the order of the file."""
    return MappingProxyType(read_alloys())


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", " ", name.casefold()).strip()


@cache
def _by_name() -> Mapping[str, str]:
    return {_plain(n): alloy.key for alloy in alloys().values() for n in (alloy.key, alloy.name, *alloy.other_names)}


def find_alloy(name: str) -> Alloy:
    """The alloy behind a key, a name or another name; case, spaces and hyphens do not matter.

    Raises NotFound with the nearest names.

    >>> find_alloy("95-4-1").key
    'C87300'
    """
    names = _by_name()
    plain = _plain(name)
    if plain in names:
        return alloys()[names[plain]]
    near = [alloys()[names[n]].key for n in difflib.get_close_matches(plain, names, n=3, cutoff=0.5)]
    hint = f"Did you mean {', '.join(dict.fromkeys(near))}? " if near else ""
    raise NotFound(
        f"No alloy is called '{name}'.", f"{hint}Known are {', '.join(alloys())}.", title="Unknown alloy", field="alloy"
    )
