"""Acute toxicity of a mixture, by the additivity formula, for each way into the body.

Source: [GHS_REV11] 3.1.3, [CLP_ANNEX_I] 3.1.3
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from patina.safety.rules import (
    Finding,
    Findings,
    Open,
    Share,
    acute_bands,
    in_band,
    limit,
    reaches,
    show,
    specific,
    within,
)

ROUTE_OF = {"gas_ppmV": "inhalation", "vapour_mg_L": "inhalation", "dust_mist_mg_L": "inhalation"}
FORM_WORDS = {"gas_ppmV": "gas", "vapour_mg_L": "vapour", "dust_mist_mg_L": "dust or mist", "oral": "", "dermal": ""}
NONE = 5  # one past the mildest category


@dataclass(frozen=True, slots=True)
class Contribution:
    """What one ingredient puts into the sum of one route. sure: False where its form in the air is not known."""

    share: Share
    value: float
    category: int
    words: str
    sure: bool = True


@dataclass(frozen=True, slots=True)
class Estimate:
    """The estimate of one route for the whole mixture; category 5 stands for none."""

    category: int
    value: float
    working: str


def category_of(value: float, route: str) -> int:
    """The category an estimate falls into; 5 where it is above the mildest.

    >>> category_of(300, "oral"), category_of(300.1, "oral"), category_of(2001, "oral")
    (3, 4, 5)
    """
    return next((band.category for band in acute_bands(route) if within(value, band.upper)), NONE)


def acute(shares: Sequence[Share], regime: str) -> Findings:
    """Classes of acute toxicity by mouth, skin and breath, and what stays unknown."""
    result = Findings.none()
    unknown = [s for s in shares if s.substance.hazard_basis == "unknown"]
    known = [s for s in shares if s.substance.hazard_basis != "unknown"]
    floor = limit("acute.relevant_4", regime)
    unknown_pct = sum(s.pct for s in unknown if reaches(s.pct, floor.value))
    if unknown_pct:
        result.notes.append(
            f"{show(unknown_pct)} % of the mixture consists of ingredients of unknown acute toxicity "
            f"({', '.join(s.substance.name for s in unknown)}; 3.1.3.6.2.3)."
        )
    for route in ("oral", "dermal"):
        parts = _contributions(known, route, regime)
        estimate = _estimate(parts, route, unknown_pct, regime)
        if estimate.category < NONE:
            result.found.append(_finding(estimate, route))
    _inhalation(known, unknown_pct, regime, result)
    return result


def _inhalation(known: Sequence[Share], unknown_pct: float, regime: str, result: Findings) -> None:
    """Vapour and mist are judged apart; where an ingredient's form decides, the class is left open."""
    forms = ("gas_ppmV", "vapour_mg_L", "dust_mist_mg_L")
    parts = {form: _contributions(known, form, regime) for form in forms}
    with_all = {form: _estimate(parts[form], form, unknown_pct, regime) for form in forms}
    sure = {form: _estimate([p for p in parts[form] if p.sure], form, unknown_pct, regime) for form in forms}
    open_forms = [form for form in forms if any(not p.sure for p in parts[form])]
    mildest_open = max((with_all[f].category for f in open_forms), default=NONE)
    certain = min(min(e.category for e in sure.values()), mildest_open)
    worst_form = min(forms, key=lambda f: (with_all[f].category, forms.index(f)))
    if certain < NONE:
        form = next(f for f in forms if with_all[f].category <= certain)
        band = next(b for b in acute_bands(form) if b.category == certain)
        text = f"{with_all[form].working} ({FORM_WORDS[form]})"
        result.found.append(Finding("acute inhalation", certain, f"Acute Tox. {certain}", band.h, text, band.source))
    worst = with_all[worst_form].category
    if worst < certain:
        band = next(b for b in acute_bands(worst_form) if b.category == worst)
        result.open.append(
            Open(
                "acute inhalation",
                worst,
                f"Acute Tox. {worst}",
                f"whether it is breathed as vapour or as mist: as {FORM_WORDS[worst_form]} it is Acute Tox. {worst} "
                f"({band.h}), {with_all[worst_form].working}",
            )
        )


def _finding(estimate: Estimate, route: str) -> Finding:
    band = next(b for b in acute_bands(route) if b.category == estimate.category)
    return Finding(
        f"acute {ROUTE_OF.get(route, route)}",
        estimate.category,
        f"Acute Tox. {estimate.category}",
        band.h,
        f"{route}: {estimate.working}",
        band.source,
    )


def _contributions(shares: Sequence[Share], route: str, regime: str) -> list[Contribution]:
    found = []
    for share in shares:
        part = _contribution(share, route)
        if part is None or part.category >= NONE:
            continue
        key = "acute.relevant_4" if part.category == 4 else "acute.relevant_1_to_3"
        if reaches(share.pct, limit(key, regime).value):
            found.append(part)
    return found


def _contribution(share: Share, route: str) -> Contribution | None:
    """The ingredient's own estimate for the route, else the point that stands for its category."""
    substance = share.substance
    entry = _own_entry(share, route)
    if entry is not None:
        return entry
    own = [a for a in substance.ates if a.route == route]
    if own:
        value = min(a.value for a in own)
        return Contribution(share, value, category_of(value, route), f"ATE {value:g}")
    bare = ROUTE_OF.get(route, route)
    listed = [h for h in substance.hazards if h.code.startswith("Acute Tox.") and h.route == bare]
    if not listed:
        return None
    sure = True
    if bare == "inhalation":
        if any(ROUTE_OF.get(a.route) == "inhalation" for a in substance.ates):
            return None  # its estimate is for another form in the air
        form_of = {"solid": "dust_mist_mg_L", "paste": "dust_mist_mg_L", "gas": "gas_ppmV"}
        expected = form_of.get(substance.form)
        if (expected is not None and expected != route) or route == "gas_ppmV" != expected:
            return None
        sure = expected is not None
    category = min(int(h.code.split()[-1]) for h in listed)
    minimum = " (minimum classification)" if any(h.minimum for h in listed) else ""
    value = next(b.converted for b in acute_bands(route) if b.category == category)
    return Contribution(share, value, category, f"category {category}{minimum}, taken as {value:g}", sure)


def _own_entry(share: Share, route: str) -> Contribution | None:
    """Where the list has another entry from some share on (nitric acid above 70 %), that entry's category counts."""
    substance = share.substance
    letters = {"oral": "H30", "dermal": "H31"}.get(route, "H33")
    forms = {a.route for a in substance.ates if ROUTE_OF.get(a.route) == "inhalation"}
    if letters == "H33" and forms and route not in forms:
        return None
    for x in specific(substance, "Acute Tox."):
        if x.h.startswith(letters) and in_band(share.pct, x.low_pct, x.high_pct):
            category = int(x.class_code.split()[-1])
            value = next(b.converted for b in acute_bands(route) if b.category == category)
            return Contribution(
                share, value, category, f"category {category} from {x.low_pct:g} % on, taken as {value:g}"
            )
    return None


def additivity(
    parts: Sequence[tuple[float, float]], unknown_pct: float = 0.0, regime: str = "CLP"
) -> tuple[float, float]:
    """The acute toxicity estimate of a mixture and the share (in %) of it that the sum stands for.

    parts: share in % and estimate of each ingredient that counts. unknown_pct: share of ingredients of unknown
    toxicity, which leaves the sum only where it is above 10 %.
    Source: [GHS_REV11] 3.1.3.6.1 and 3.1.3.6.2.3; the example is [UN_GHS_EXAMPLES]

    >>> round(additivity([(16, 1600), (4, 200), (80, 3450)])[0])
    1880
    """
    bound = limit("acute.unknown_share", regime).value
    whole = 100.0 if within(unknown_pct, bound) else 100.0 - unknown_pct
    return whole / sum(pct / value for pct, value in parts), whole


def _estimate(parts: Sequence[Contribution], route: str, unknown_pct: float, regime: str) -> Estimate:
    """ATE of the mixture: 100 / sum(C/ATE), less the unknown share where that is above 10 %.

    Never more severe than its most toxic ingredient: several of the points that stand for a category
    lie on the lower edge of their own band.
    """
    if not parts:
        return Estimate(NONE, float("inf"), "")
    value, whole = additivity([(p.share.pct, p.value) for p in parts], unknown_pct, regime)
    category = max(category_of(value, route), min(p.category for p in parts))
    unit = acute_bands(route)[0].unit
    terms = " + ".join(f"{show(p.share.pct)}/{p.value:g}" for p in parts)
    names = ", ".join(f"{p.share.substance.name} {show(p.share.pct)} % ({p.words})" for p in parts)
    bound = "" if category == NONE else f"; category {category} reaches to {acute_bands(route)[category - 1].upper:g}"
    working = f"{names}: {whole:g}/({terms}) = {value:.4g} {unit}{bound} (Table 3.1.1)"
    return Estimate(category, value, working)
