"""Hazard to water by summation, acute and long-term each with its own multiplying factor. CLP and UN GHS only.

A factor that nobody has published is not taken as 1: where the class hangs on it, the class is left open.

Source: [CLP_ANNEX_I] Tables 4.1.1, 4.1.2, 4.1.3
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from patina.safety.rules import (
    Finding,
    Findings,
    Open,
    RuleLimit,
    Share,
    classes_of,
    counted_pct,
    limit,
    reaches,
    show,
)

NONE = 9
ACUTE = "Aquatic Acute 1"
AT_LEAST_ONE = "where no factor is published it is at least 1, which is enough here"
Factor = Callable[[Share], float | None]


def aquatic(shares: Sequence[Share], regime: str) -> Findings:
    """Aquatic Acute 1 and Aquatic Chronic 1 to 4 of a mixture; nothing under HCS, which has no such classes."""
    result = Findings.none()
    if regime == "HCS":
        return result
    _decide(shares, lambda s: s.substance.m_acute, _acute_level, (ACUTE,), "aquatic acute", result)
    chronic = tuple(f"Aquatic Chronic {n}" for n in (1, 2, 3, 4))
    _decide(shares, lambda s: s.substance.m_chronic, _chronic_level, chronic, "aquatic chronic", result)
    return result


Level = Callable[[Sequence[tuple[Share, float]]], tuple[int, str, RuleLimit | None]]


def _decide(
    shares: Sequence[Share], factor: Factor, level: Level, codes: tuple[str, ...], family: str, result: Findings
) -> None:
    """The class with the factors that are known; left open where an unknown factor could make it worse."""
    first = codes[0]
    missing = [s for s in shares if first in classes_of(s.substance, "Aquatic") and factor(s) is None]
    known = [(s, factor(s) or 1.0) for s in shares if s not in missing]
    largest = limit("aquatic.largest_m").value
    settled = level(known)
    least = level([*known, *((s, 1.0) for s in missing)])
    most = level([*known, *((s, largest) for s in missing)])
    if least[0] == most[0]:
        settled = least if not missing or least[0] == NONE else (least[0], f"{least[1]}; {AT_LEAST_ONE}", least[2])
    elif most[0] < settled[0]:
        names = ", ".join(f"{s.substance.name} ({show(s.pct)} %)" for s in missing)
        floor = f"; whatever the factor, at least {codes[least[0] - 1]}" if least[0] < NONE else ""
        result.open.append(
            Open(
                family,
                most[0],
                codes[most[0] - 1],
                f"the {family.split()[1]} M-factor of {names}: none is published, and a blank is not 1; "
                f"{_needed(known, missing, level, most[0])}{floor}",
            )
        )
    if settled[0] < NONE:
        reached, why, table = settled
        source = table.source if table else "CLP_ANNEX_I"
        h = "H400" if family == "aquatic acute" else f"H41{reached - 1}"
        result.found.append(Finding(family, reached, codes[reached - 1], h, why, source))


def _needed(known: Sequence[tuple[Share, float]], missing: Sequence[Share], level: Level, wanted: int) -> str:
    """From which decade of the factor on the class would hold."""
    for m in (1.0, 10.0, 100.0, 1000.0, 10000.0):
        if level([*known, *((s, m) for s in missing)])[0] <= wanted:
            return f"from M = {m:g} on it is this class"
    return "it may be this class"


def _counted(parts: Sequence[tuple[Share, float]], code: str) -> list[tuple[Share, float, float]]:
    """Ingredients of one class above their cut-off, with their factor and share."""
    first = code in (ACUTE, "Aquatic Chronic 1")
    bound = limit("aquatic.relevant_1" if first else "aquatic.relevant_2").value
    counted = []
    for share, m in parts:
        pct = counted_pct(share, stated=False)[0]
        if code in classes_of(share.substance, "Aquatic") and reaches(pct, bound / (m if first else 1.0)):
            counted.append((share, m, pct))
    return counted


def _terms(counted: Sequence[tuple[Share, float, float]], weight: float) -> str:
    return ", ".join(
        f"{share.substance.name} {show(pct)} % × {weight * m:g}"
        if weight * m != 1
        else f"{share.substance.name} {show(pct)} %"
        for share, m, pct in counted
    )


def _acute_level(parts: Sequence[tuple[Share, float]]) -> tuple[int, str, RuleLimit | None]:
    counted = _counted(parts, ACUTE)
    total = sum(m * pct for _, m, pct in counted)
    bound = limit("aquatic.acute")
    if counted and reaches(total, bound.value):
        return 1, f"{_terms(counted, 1)}: sum {show(total)} at or above {bound.value:g} ({bound.table})", bound
    return NONE, "", None


def _chronic_level(parts: Sequence[tuple[Share, float]]) -> tuple[int, str, RuleLimit | None]:
    one, two, three, four = (_counted(parts, f"Aquatic Chronic {n}") for n in (1, 2, 3, 4))
    weights = {1: ((one, 1.0),), 2: ((one, 10.0), (two, 1.0)), 3: ((one, 100.0), (two, 10.0), (three, 1.0))}
    for level, columns in weights.items():
        bound = limit(f"aquatic.chronic_{level}")
        total = sum(weight * m * pct for column, weight in columns for _, m, pct in column)
        if any(column for column, _ in columns) and reaches(total, bound.value):
            terms = ", ".join(text for column, weight in columns if (text := _terms(column, weight)))
            return level, f"{terms}: sum {show(total)} at or above {bound.value:g} ({bound.table})", bound
    bound = limit("aquatic.chronic_4")
    plain = [*one, *two, *three, *four]
    total = sum(pct for _, _, pct in plain)
    if plain and reaches(total, bound.value):
        names = ", ".join(f"{s.substance.name} {show(pct)} %" for s, _, pct in plain)
        return 4, f"{names}: sum {show(total)} at or above {bound.value:g} ({bound.table})", bound
    return NONE, "", None
