"""Supplemental statements of the EU: toxic gas with acids, dry skin, corrosive to the airways, traces of sensitisers.

Source: [CLP_ANNEX_II] 1.2, 2.8
"""

from __future__ import annotations

from collections.abc import Sequence

from patina.safety.rules import (
    Finding,
    Share,
    classes_of,
    counted_pct,
    limit,
    lowest,
    reaches,
    show,
    specific,
)

SULPHIDE_WHY = (
    "sulphide and acid give hydrogen sulphide. The harmonised list prints EUH031 for sulphides although hydrogen "
    "sulphide is Acute Tox. 2, which by Annex II would be EUH032; the list is followed"
)


def supplemental(shares: Sequence[Share], found: Sequence[Finding], regime: str) -> list[Finding]:
    """EUH statements of the mixture, given the classes found; none under HCS."""
    if regime == "HCS":
        return []
    result = _gas_with_acids(shares)
    if any(f.family == "acute inhalation" for f in found):
        carriers = [s for s in shares if "EUH071" in s.substance.euh and reaches(s.pct, 1.0)]
        if carriers:
            why = ", ".join(f"{s.substance.name} {show(s.pct)} %" for s in carriers)
            result.append(_statement("EUH071", f"{why}: its toxicity when breathed is corrosion (1.2.6)"))
    drying = [s for s in shares if "EUH066" in s.substance.euh]
    bound = limit("euh066.share", regime)
    total = sum(s.pct for s in drying)
    if drying and reaches(total, bound.value):
        result.append(_statement("EUH066", f"{show(total)} % of ingredients with EUH066, from {bound.value:g} % on"))
    result += _others(shares)
    if not any(f.family in ("Skin Sens.", "Resp. Sens.") for f in found):
        result += _elicitation(shares, regime)
    return sorted(result, key=lambda f: f.code)


def _statement(code: str, why: str, names: tuple[str, ...] = ()) -> Finding:
    return Finding(code, 0, code, code, why, "CLP_ANNEX_II", names)


def _gas_with_acids(shares: Sequence[Share]) -> list[Finding]:
    result = []
    for code in ("EUH031", "EUH032"):
        reasons = []
        for share in shares:
            if not _sets_free(share, code):
                continue
            low = lowest(specific(share.substance, code))
            if low is None or reaches(share.pct, low):
                bound = "no lower limit" if low is None else f"specific limit {low:g} %"
                reasons.append(f"{share.substance.name} {show(share.pct)} % ({bound})")
        if reasons:
            more = f"; {SULPHIDE_WHY}" if any("sulphide" in s.substance.tags for s in shares) else ""
            result.append(_statement(code, ", ".join(reasons) + more))
    return result


def _sets_free(share: Share, code: str) -> bool:
    """Listed with the statement, or (EUH031) a sulphide by its chemistry though the list is silent."""
    return code in share.substance.euh or (code == "EUH031" and "sulphide" in share.substance.tags)


def _others(shares: Sequence[Share]) -> list[Finding]:
    handled = {"EUH031", "EUH032", "EUH066", "EUH071", "EUH208"}
    codes = sorted({code for s in shares for code in s.substance.euh} - handled)
    result = []
    for code in codes:
        names = [
            f"{s.substance.name} {show(s.pct)} %" for s in shares if code in s.substance.euh and reaches(s.pct, 1.0)
        ]
        if names:
            result.append(_statement(code, f"{', '.join(names)} carries it"))
    return result


def _elicitation(shares: Sequence[Share], regime: str) -> list[Finding]:
    reasons, names = [], []
    for share in shares:
        bound = _elicitation_limit(share, regime)
        if bound is not None and reaches(counted_pct(share, stated=False)[0], bound):
            reasons.append(f"{share.substance.name} {show(share.pct)} % (from {bound:g} % on, Table 3.4.6)")
            names.append(share.substance.name)
    return [_statement("EUH208", f"contains {', '.join(reasons)}", tuple(names))] if reasons else []


def _elicitation_limit(share: Share, regime: str) -> float | None:
    codes = classes_of(share.substance, "Skin Sens.", "Resp. Sens.")
    own = lowest(specific(share.substance, "Skin Sens.", "Resp. Sens."))
    if not codes and own is None:
        return None
    key = "elicitation.1A" if any(code.endswith("1A") for code in codes) else "elicitation.1"
    generic = limit(key, regime).value
    if own is not None and own < 0.1:
        return own * limit("elicitation.specific_share", regime).value / 100.0
    return generic
