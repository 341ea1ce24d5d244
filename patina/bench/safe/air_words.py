"""Rooms, air flows and air changes as people write them.

Source: [HB44] for the cubic foot
"""

from __future__ import annotations

import re
from functools import cache

from patina.datafile import number, read_table, text, words
from patina.errors import BadQuantity

LARGEST = {"room": 1e6, "flow": 1e6, "changes": 200.0}
NAMES = {"room": "a room", "flow": "an air flow", "changes": "a number of air changes"}
EXAMPLES = {"room": "60 m3", "flow": "0.5 m3/s or 600 m3/h", "changes": "6, or 6 per hour"}


@cache
def _units() -> dict[str, tuple[str, float]]:
    table = read_table("air_units.csv", {"kind": text, "spellings": words, "factor": number, "source": text})
    return {_plain(s): (row["kind"], row["factor"]) for row in table for s in row["spellings"]}


def _plain(word: str) -> str:
    return re.sub(r"[\s.·]+", "", word.replace("³", "3").casefold())


def room_m3(written: str, field: str | None = "room") -> float:
    """Cubic metres of a room.

    >>> room_m3("60 m³"), round(room_m3("2000 cu ft"), 2)
    (60.0, 56.63)
    """
    return _read(written, "room", field)


def flow_m3_h(written: str, field: str | None = "flow") -> float:
    """Cubic metres of air an hour.

    >>> flow_m3_h("0.5 m3/s"), round(flow_m3_h("350 cfm"), 1)
    (1800.0, 594.7)
    """
    return _read(written, "flow", field)


def changes_per_h(written: str, field: str | None = "changes") -> float:
    """Air changes an hour; a number alone is one too, for nothing else is meant by it.

    >>> changes_per_h("6"), changes_per_h("0.5 per hour")
    (6.0, 0.5)
    """
    return _read(written, "changes", field, bare=True)


def _read(written: str, kind: str, field: str | None, bare: bool = False) -> float:
    from patina.units import split_quantity

    figure, unit = split_quantity(written, field)
    asked = BadQuantity(
        f"'{written}' is not {NAMES[kind]} with its unit.", f"Write for example {EXAMPLES[kind]}.", field=field
    )
    found = _units().get(_plain(unit)) if unit else ((kind, 1.0) if bare else None)
    if found is None or found[0] != kind:
        raise asked
    value = figure * found[1]
    lowest_counts = kind != "room"
    if not 0.0 <= value <= LARGEST[kind] or (value == 0.0 and not lowest_counts):
        raise BadQuantity(
            f"'{written}' cannot be {NAMES[kind]} of a workshop.",
            f"Check the number and its unit; write for example {EXAMPLES[kind]}.",
            field=field,
        )
    return value
