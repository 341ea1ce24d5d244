"""Physical hazards and the aspiration hazard: by specific limits where they exist, else by test.

No sum over ingredients exists for oxidisers, flammable liquids and corrosion of metals: where only a test decides,
the class is left open and the test is named.

Source: [CLP_ANNEX_I] 2.6, 2.13, 2.14, 2.16, 3.10
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from patina.datafile import number, read_table, text
from patina.safety.rules import (
    Finding,
    Findings,
    Open,
    Share,
    classes_of,
    in_band,
    limit,
    named,
    reaches,
    show,
    specific,
    within,
)

DRIED_NITRATE = (
    "Not an oxidiser in the bottle, but dried on cloth, paper or wood it is one again: soak rags and splashed "
    "clothing in water at once."
)


@cache
def _flammable_floors() -> dict[str, float]:
    rows = read_table("flammable_in_water.csv", {"key": text, "below_pct": number, "why": text, "source": text})
    return {row["key"]: row["below_pct"] for row in rows}


def physical(
    shares: Sequence[Share], viscosity_mm2_s: float | None, flash_point_c: float | None, regime: str
) -> Findings:
    """Oxidising, flammable, metal-corrosive and aspiration classes. viscosity at 40 °C, flash point closed cup."""
    result = Findings.none()
    _oxidising(shares, regime, result)
    _flammable(shares, flash_point_c, regime, result)
    _metal_corrosive(shares, regime, result)
    _aspiration(shares, viscosity_mm2_s, regime, result)
    return result


def _oxidising(shares: Sequence[Share], regime: str, result: Findings) -> None:
    found: list[Finding] = []
    for share in shares:
        own = specific(share.substance, "Ox. Liq.", "Ox. Sol.")
        for x in own:
            if in_band(share.pct, x.low_pct, x.high_pct):
                why = f"{share.substance.name} {show(share.pct)} % at or above its specific limit {x.low_pct:g} %"
                found.append(Finding("oxidising", int(x.class_code[-1]), x.class_code, x.h, why, x.source))
        if not own and reaches(share.pct, limit("physical.nearly_pure", regime).value):
            for hazard in share.substance.hazards:
                if hazard.code.startswith(("Ox. Liq.", "Ox. Sol.")):
                    why = f"{share.substance.name} {show(share.pct)} %: as the substance itself"
                    found.append(Finding("oxidising", int(hazard.code[-1]), hazard.code, hazard.h, why, hazard.source))
    if found:
        result.found.append(min(found, key=lambda f: (f.rank, f.why)))
    elif any("nitrate" in s.substance.tags or classes_of(s.substance, "Ox. Sol.") for s in shares):
        result.notes.append(DRIED_NITRATE)


def flash_category(flash_point_c: float) -> int | None:
    """Flam. Liq. 2 below 23 °C, 3 from 23 to 60 °C, None above (1 needs the boiling point as well).

    >>> flash_category(12), flash_category(23), flash_category(60), flash_category(61)
    (2, 3, 3, None)
    """
    if flash_point_c < 23:
        return 2
    return 3 if within(flash_point_c, 60) else None


def _flammable(shares: Sequence[Share], flash_point_c: float | None, regime: str, result: Findings) -> None:
    burning = [s for s in shares if classes_of(s.substance, "Flam. Liq.")]
    if flash_point_c is not None:
        category = flash_category(flash_point_c)
        if category is not None:
            why = f"flash point {flash_point_c:g} °C (Table 2.6.1)"
            h = {2: "H225", 3: "H226"}[category]
            result.found.append(Finding("flammable", category, f"Flam. Liq. {category}", h, why, "CLP_ANNEX_I"))
        return
    floors = _flammable_floors()
    burning = [s for s in burning if reaches(s.pct, floors.get(s.substance.key, floors["any"]))]
    if not burning:
        return
    worst = min(int(code[-1]) for s in burning for code in classes_of(s.substance, "Flam. Liq."))
    main = max(burning, key=lambda s: s.pct)
    no_water = reaches(sum(s.pct for s in shares), limit("physical.nearly_pure", regime).value)
    others_solid = no_water and all(s.substance.form in ("solid", "paste") for s in shares if s is not main)
    share_bound = limit("physical.solvent_share" if others_solid else "physical.nearly_pure", regime).value
    if reaches(main.pct, share_bound):
        code = min(classes_of(main.substance, "Flam. Liq."))
        hazard = next(h for h in main.substance.hazards if h.code == code)
        why = f"{main.substance.name} {show(main.pct)} %, no other liquid: its flash point (2.6.4.3)"
        result.found.append(Finding("flammable", int(code[-1]), code, hazard.h, why, hazard.source))
        return
    result.open.append(
        Open("flammable", worst, f"Flam. Liq. {worst}", f"the closed-cup flash point of the mixture ({named(burning)})")
    )


def _metal_corrosive(shares: Sequence[Share], regime: str, result: Findings) -> None:
    bound = limit("met_corr.relevant", regime)
    parts = [
        s
        for s in shares
        if (classes_of(s.substance, "Met. Corr.") or "strong acid" in s.substance.tags) and reaches(s.pct, bound.value)
    ]
    if parts:
        result.open.append(
            Open(
                "metals", 1, "Met. Corr. 1", f"the corrosion test on steel and aluminium (UN test C.1): {named(parts)}"
            )
        )


def _aspiration(shares: Sequence[Share], viscosity_mm2_s: float | None, regime: str, result: Findings) -> None:
    parts = [s for s in shares if classes_of(s.substance, "Asp. Tox. 1")]
    total = sum(s.pct for s in parts)
    bound, thin = limit("aspiration.sum", regime), limit("aspiration.viscosity", regime)
    if not parts or not reaches(total, bound.value):
        return
    why = f"{named(parts)}: sum {show(total)} % at or above {bound.value:g} % ({bound.table})"
    if viscosity_mm2_s is not None:
        if within(viscosity_mm2_s, thin.value):
            why = f"{why}, viscosity {viscosity_mm2_s:g} mm²/s at 40 °C"
            result.found.append(Finding("aspiration", 1, "Asp. Tox. 1", "H304", why, bound.source))
    elif reaches(total, limit("aspiration.nearly_pure", regime).value):
        result.found.append(Finding("aspiration", 1, "Asp. Tox. 1", "H304", why, bound.source))
    else:
        needs = f"the kinematic viscosity at 40 °C: at or below {thin.value:g} mm²/s it is this class; {why}"
        result.open.append(Open("aspiration", 1, "Asp. Tox. 1", needs))
