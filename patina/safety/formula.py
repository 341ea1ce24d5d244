"""Counting groups and atoms in a formula as the catalogue writes it.

Source: [IUPAC] notation of hydrates with a full stop
"""

from __future__ import annotations

import re
from functools import cache

ATOM = re.compile(r"([A-Z][a-z]?)(\d*)|([(\[])|([)\]])(\d*)")


@cache
def count_of(formula: str, wanted: str) -> float:
    """How many of a group ("NO3") or element ("Cu") one formula unit holds; 0 where it holds none.

    A formula that is words (a mixture) holds nothing that can be counted.

    >>> count_of("Cu(NO3)2.3H2O", "NO3"), count_of("CuCO3.Cu(OH)2", "Cu"), count_of("Na2S.9H2O", "S")
    (2.0, 2.0, 1.0)
    >>> count_of("(NH4)2S", "NH4"), count_of("K2Sx with K2S2O3, K2SO4, KHCO3", "S")
    (2.0, 0.0)
    """
    if " " in formula:
        return 0.0
    if re.fullmatch(r"[A-Z][a-z]?", wanted):
        return _atoms(formula, wanted)
    grouped = re.findall(rf"\({re.escape(wanted)}\)(\d*)", formula)
    alone = re.findall(rf"(?<!\(){re.escape(wanted)}(?!\d)", formula)
    return float(sum(int(n or 1) for n in grouped) + len(alone))


def _atoms(formula: str, element: str) -> float:
    total = 0.0
    for part in re.split(r"[.·](?=\d*[A-Z(\[])", formula):
        multiple = re.match(r"(\d+(?:\.\d+)?)?(.*)", part)
        if multiple is None:
            continue
        times, rest = multiple.groups()
        total += float(times or 1) * _plain(rest, element)
    return total


def _plain(formula: str, element: str) -> float:
    """Atoms in a formula without water of crystallisation; brackets may be nested."""
    counts = [0.0]
    for match in ATOM.finditer(formula):
        symbol, number, opens, closes, times = match.groups()
        if symbol and symbol == element:
            counts[-1] += int(number or 1)
        elif opens:
            counts.append(0.0)
        elif closes and len(counts) > 1:
            inner = counts.pop()
            counts[-1] += inner * int(times or 1)
    return sum(counts)
