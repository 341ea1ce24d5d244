"""A zone's tones and shares against the agreed ones, and how far apart the casts of an edition are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.colour.values import Lab, Part
from patina.matching.constants import constant
from patina.matching.master import Tolerance, ZoneTarget
from patina.matching.mottle import MottleDifference, Surface, compare_mottle
from patina.matching.verdict import Finding, Outcome, Vector, judge


@dataclass(frozen=True, slots=True)
class ZoneReadings:
    """What was read on one zone of a piece.

    readings: colours of spots. parts: tones and shares, empty where the zone was taken as even or
    not looked at. spread, grain: as in Surface.
    """

    readings: tuple[Lab, ...]
    parts: tuple[Part, ...] = ()
    spread: Vector | None = None
    grain: float | None = None


def judge_mottle(
    target: ZoneTarget, seen: ZoneReadings, tolerance: Tolerance, colour: Finding
) -> tuple[MottleDifference, Outcome]:
    """Tones and shares of a zone against the agreed ones, with the doubt of the colours themselves.

    A side without tones is taken as one even tone of its mean. colour: the finding on ΔE, whose
    uncertainty is taken for the tones. Spread and grain have no agreed limit: where either is apart
    by more than the factor ``texture_apart``, a zone whose tones agree cannot be told to pass.
    """
    n = len(seen.readings)
    first = seen.readings[0]
    mean = Lab(
        math.fsum(r.L for r in seen.readings) / n,
        math.fsum(r.a for r in seen.readings) / n,
        math.fsum(r.b for r in seen.readings) / n,
        first.illuminant,
        first.observer,
    )
    found = compare_mottle(
        Surface(target.parts or (Part(target.lab, 1.0),), target.spread, target.grain),
        Surface(seen.parts or (Part(mean, 1.0),), seen.spread, seen.grain),
    )
    limit = tolerance.mottle or tolerance.delta_e
    doubt = colour.expanded if math.isfinite(colour.expanded) else limit
    outcome = judge(found.distance, doubt, limit)
    return found, "cannot be told" if outcome == "pass" and found.apart else outcome


def edition_spread(casts: Sequence[Lab], formula: str = "de2000") -> tuple[float, bool]:
    """The largest difference between any two casts of an edition, and whether it is inside the starting limit.

    casts: mean colours of one zone, two or more. Source: [PRACTICE] limit of 3.
    """
    from patina.colour.difference import compare

    widest = max(
        (compare(a, b, formula).delta_e for i, a in enumerate(casts) for b in casts[i + 1 :]),
        default=0.0,
    )
    return widest, widest <= constant("start_edition_spread")
