"""A whole piece against its master: every agreed zone, its colour and its mottle."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from patina.colour.values import Lab, Part
from patina.errors import NotComparable
from patina.matching.constants import constant
from patina.matching.master import Master, Tolerance, ZoneTarget
from patina.matching.mottle import MottleDifference, Surface, compare_mottle
from patina.matching.verdict import Finding, Outcome, Vector, ZoneVerdict, judge, judge_zone


@dataclass(frozen=True, slots=True)
class ZoneReadings:
    """What was read on one zone of a piece.

    readings: colours of spots. parts: tones and shares, empty where the zone was taken as even or
    not looked at. fixed_u: expanded uncertainty in delta E that more readings do not lessen.
    wax, geometry: as in Master, or "" where not written down. spread, grain: as in Surface.
    """

    readings: tuple[Lab, ...]
    parts: tuple[Part, ...] = ()
    fixed_u: float = 0.0
    wax: str = ""
    geometry: str = ""
    spread: Vector | None = None
    grain: float | None = None


@dataclass(frozen=True, slots=True)
class PieceVerdict:
    """The verdict on a piece. zones: one verdict per zone read; mottle: per zone where tones were read on both
    sides; missing: agreed zones not read; cautions: sentences; words: the whole in one sentence."""

    outcome: Outcome
    zones: tuple[ZoneVerdict, ...]
    mottle: tuple[tuple[str, MottleDifference, Outcome], ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    words: str


def judge_piece(
    master: Master, read: Mapping[str, ZoneReadings], *, usual_sd: Vector | None = None, usual_df: int = 30
) -> PieceVerdict:
    """A piece judged zone by zone.

    read: readings by zone name. A zone fails or passes as judge_zone says; where the master or the
    piece is mottled the distributions are compared too, so that a two-tone finish does not pass for
    an even one of the same mean. A zone not read keeps the piece from passing.
    Raises NotFound for a zone the master does not have, NotComparable where the wax state differs.
    """
    zones: list[ZoneVerdict] = []
    mottle: list[tuple[str, MottleDifference, Outcome]] = []
    cautions: list[str] = []
    for name, seen in read.items():
        target = master.zone(name)
        cautions.extend(_comparable(master, name, seen))
        verdict = judge_zone(
            target, seen.readings, master.tolerance, fixed_u=seen.fixed_u, usual_sd=usual_sd, usual_df=usual_df
        )
        zones.append(verdict)
        if target.parts or seen.parts:
            mottle.append((name, *judge_mottle(target, seen, master.tolerance, verdict.findings[0])))
    missing = tuple(z.zone for z in master.zones if z.zone not in read)
    outcome = _together([*(z.outcome for z in zones), *(m[2] for m in mottle)], missing)
    words = f"{master.name}: {outcome}."
    if missing:
        words += f" Not read: {', '.join(missing)}."
    return PieceVerdict(outcome, tuple(zones), tuple(mottle), missing, tuple(cautions), words)


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


def _comparable(master: Master, zone: str, seen: ZoneReadings) -> list[str]:
    if seen.wax and seen.wax != master.wax:
        raise NotComparable(
            f"{zone} was read {seen.wax}, the master was agreed {master.wax}.",
            "Read it in the agreed state, or predict that state with the shift learnt for this recipe.",
        )
    cautions = []
    if not seen.wax:
        cautions.append(f"{zone}: whether it was waxed when read is not written down; agreed is {master.wax}.")
    if seen.geometry != master.geometry:
        cautions.append(
            f"{zone}: read with geometry '{seen.geometry or 'unknown'}', agreed is '{master.geometry}'; "
            f"on gloss that alone can be more than the limit of {master.tolerance.delta_e:g}."
        )
    return cautions


def _together(outcomes: Sequence[Outcome], missing: Sequence[str]) -> Outcome:
    if "fail" in outcomes:
        return "fail"
    if "cannot be told" in outcomes or missing or not outcomes:
        return "cannot be told"
    return "pass"


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
