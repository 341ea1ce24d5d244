"""Tones, shares, spread and grain of a zone against the agreed ones."""

from __future__ import annotations

from dataclasses import replace

from patina.bench.matched.surfaces import Seen, grain_words, grains, seen_zone
from patina.colour.values import Part
from patina.matching.master import Tolerance, ZoneTarget
from patina.matching.mottle import Surface, compare_mottle
from patina.matching.piece import ZoneReadings, judge_mottle
from patina.matching.pooled import Pooled
from patina.matching.verdict import ZoneVerdict
from patina.sheets.matching import ZoneRow
from patina.sheets.verdicts import MottleRow

_NAMES = ("the agreed finish", "the piece")


def judged_mottle(
    zone: ZoneRow, target: ZoneTarget, pooled: Pooled, seen: Seen | None, tolerance: Tolerance, found: ZoneVerdict
) -> MottleRow | None:
    """A zone compared as a distribution, None where neither side is uneven or nothing of it was read.

    Where tones were read on one side only, an uneven side keeps the zone from passing; so does a spread or
    a grain that is plainly another, since no limit for either is agreed.
    """
    agreed = seen_zone(zone)
    seen = seen or Seen(pooled.mean)
    if agreed.parts and seen.parts:
        return _both(target, pooled, agreed, seen, tolerance, found)
    if agreed.parts or seen.parts:
        return _one_side(zone.zone, agreed, seen, tolerance)
    if agreed.spread is None or seen.spread is None or not (agreed.uneven or seen.uneven):
        return None
    ours, theirs = grains(agreed, seen)
    moved = compare_mottle(agreed.surface(ours), seen.surface(theirs))
    if not moved.apart:
        return None
    return _row(
        zone.zone, agreed, seen, moved.distance, "cannot be told", moved.words, moved.spread_ratio, _over(ours, theirs)
    )


def _both(
    target: ZoneTarget, pooled: Pooled, agreed: Seen, seen: Seen, tolerance: Tolerance, found: ZoneVerdict
) -> MottleRow:
    ours, theirs = grains(agreed, seen)
    moved, outcome = judge_mottle(
        replace(target, spread=agreed.spread, grain=ours),
        ZoneReadings(pooled.singles, seen.parts, spread=seen.spread, grain=theirs),
        tolerance,
        found.findings[0],
    )
    words = " ".join(w for w in (moved.words, _look(moved.apart), grain_words(agreed, seen, _NAMES)) if w)
    return _row(target.zone, agreed, seen, moved.distance, outcome, words, moved.spread_ratio, moved.grain_ratio)


def _look(apart: tuple[str, ...]) -> str:
    if not apart:
        return ""
    return f"No limit is agreed for {' and '.join(apart)}: look at both side by side under the agreed light."


def _one_side(zone: str, agreed: Seen, seen: Seen, tolerance: Tolerance) -> MottleRow | None:
    uneven = agreed if agreed.parts else seen
    which, other = _NAMES if agreed.parts else (_NAMES[1], _NAMES[0])
    surface = uneven.surface(None)
    moved = compare_mottle(Surface((Part(surface.mean, 1.0),)), surface)
    if moved.distance <= (tolerance.mottle or tolerance.delta_e):
        return None
    words = (
        f"{which[0].upper()}{which[1:]} is uneven (its tones lie {moved.distance:.1f} from their mean); the tones of "
        f"{other} were not read. Read them from a photograph."
    )
    return _row(zone, agreed, seen, moved.distance, "cannot be told", words, None, None)


def _over(ours: float | None, theirs: float | None) -> float | None:
    return None if not ours or theirs is None else theirs / ours


def _row(
    zone: str,
    agreed: Seen,
    seen: Seen,
    distance: float,
    outcome: str,
    words: str,
    spread_ratio: float | None,
    grain_ratio: float | None,
) -> MottleRow:
    return MottleRow(
        zone,
        distance,
        outcome,
        words,
        agreed.parts,
        seen.parts,
        spread_ratio,
        grain_ratio,
        agreed.grain_mm if agreed.uneven else None,
        seen.grain_mm if seen.uneven else None,
    )
