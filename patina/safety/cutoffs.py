"""Classes that one ingredient passes on alone: sensitisers, CMR, organ damage; and STOT SE 3, which adds up.

Source: [CLP_ANNEX_I] 3.4 to 3.9, 3.11, 4.2 to 4.4; [HCS_APP_A] A.4 to A.9
"""

from __future__ import annotations

from collections.abc import Sequence

from patina.chemistry.substances import HazardClass, SpecificLimit
from patina.safety.rules import (
    CutOff,
    Finding,
    Findings,
    Share,
    counted_pct,
    cut_offs,
    in_band,
    limit,
    lowest,
    reaches,
    show,
    specific,
)

ORDER = ("1A", "1", "1B", "2", "Lact.")
EFFECTS = {"H335": "irritation of the airways", "H336": "drowsiness"}


def stem_of(code: str) -> str:
    """The class without its category.

    >>> stem_of("Carc. 1B"), stem_of("STOT RE 2"), stem_of("Lact."), stem_of("vPvB")
    ('Carc.', 'STOT RE', 'Lact.', 'vPvB')
    """
    head, _, tail = code.rpartition(" ")
    return head if head and tail[0].isdigit() else code


def rank_of(code: str) -> int:
    """Severity within the class: smaller is worse; 1A, 1 and 1B in this order."""
    tail = code.rpartition(" ")[2]
    return ORDER.index(tail) if tail in ORDER else 0


def cut_off_classes(shares: Sequence[Share], regime: str) -> Findings:
    """Each class at its worst category, with every statement that category is reached for."""
    result = Findings.none()
    found: list[Finding] = []
    for share in shares:
        for hazard in _with_specific_only(share):
            found += _passed_on(share, hazard, regime)
    for stem in sorted({f.family for f in found}):
        own = [f for f in found if f.family == stem]
        worst = min(f.rank for f in own)
        top = [f for f in own if f.rank == worst]
        for h in sorted({f.h for f in top}):
            same = sorted((f for f in top if f.h == h), key=lambda f: f.why)
            result.found.append(
                Finding(stem, worst, same[0].code, h, "; ".join(dict.fromkeys(f.why for f in same)), same[0].source)
            )
    return result


def _with_specific_only(share: Share) -> list[HazardClass]:
    """The substance's classes, and those that only its specific limits name."""
    hazards = list(share.substance.hazards)
    stems = {stem_of(h.code) for h in hazards}
    for own in share.substance.limits:
        if stem_of(own.class_code) not in stems and stem_of(own.class_code) != "STOT SE":
            hazards.append(HazardClass(own.class_code, "", own.h, False, own.source))
    return hazards


def _passed_on(share: Share, hazard: HazardClass, regime: str) -> list[Finding]:
    table = cut_offs(regime).get(hazard.code, ())
    if not table:
        return []
    stem = stem_of(hazard.code)
    own = [x for x in specific(share.substance, stem) if not x.class_code.startswith("STOT SE 3")]
    if own and not (regime == "HCS" and min(c.low_pct for c in table) <= min(x.low_pct for x in own)):
        return _by_own_limit(share, own, hazard)
    return _by_table(share, hazard, table)


def _by_own_limit(share: Share, own: Sequence[SpecificLimit], hazard: HazardClass) -> list[Finding]:
    pct, word = counted_pct(share, stated=True)
    return [
        Finding(
            stem_of(x.class_code),
            rank_of(x.class_code),
            x.class_code,
            x.h or hazard.h,
            f"{share.substance.name} {show(share.pct)} %{word} at or above its specific limit {x.low_pct:g} %",
            x.source,
        )
        for x in own
        if in_band(pct, x.low_pct, x.high_pct)
    ]


def _by_table(share: Share, hazard: HazardClass, table: Sequence[CutOff]) -> list[Finding]:
    pct, word = counted_pct(share, stated=False)
    return [
        Finding(
            stem_of(c.mixture),
            rank_of(c.mixture),
            c.mixture,
            c.h or hazard.h,
            f"{share.substance.name} {show(share.pct)} %{word} ({hazard.code}) at or above {c.low_pct:g} % ({c.table})",
            c.source,
        )
        for c in table
        if in_band(pct, c.low_pct, c.high_pct)
    ]


def stot_se3(shares: Sequence[Share], regime: str) -> Findings:
    """Irritation of the airways (H335) and drowsiness (H336), each summed by itself; own limits first."""
    result = Findings.none()
    bound = limit("stot_se3.sum", regime)
    relevant = limit("stot_se3.relevant", regime).value
    for h, effect in EFFECTS.items():
        parts: list[tuple[float, str]] = []
        for share in shares:
            own = lowest([x for x in specific(share.substance, "STOT SE 3") if x.h == h])
            listed = any(c.code == "STOT SE 3" and c.h == h for c in share.substance.hazards)
            if own is None and not listed:
                continue
            value = own if own is not None else bound.value
            pct, word = counted_pct(share, stated=own is not None)
            if reaches(pct, min(relevant, value)):
                kind = "specific limit" if own is not None else "limit"
                parts.append((pct / value, f"{share.substance.name} {show(share.pct)} %{word} ({kind} {value:g} %)"))
        if parts and reaches(sum(part for part, _ in parts), 1.0):
            why = f"{effect}: {', '.join(word for _, word in parts)} ({bound.table})"
            result.found.append(Finding(f"STOT SE 3 {h}", 0, "STOT SE 3", h, why, bound.source))
    return result
