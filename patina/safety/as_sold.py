"""A substance as it stands on the shelf: its own classes, or those of the grade where it is sold dissolved."""

from __future__ import annotations

from patina.chemistry.substances import Catalogue, HazardClass, Substance
from patina.recipe import Solution
from patina.safety.composition import Composition
from patina.safety.label import label, statement
from patina.safety.mixture import Component
from patina.safety.notes import solution_safety
from patina.safety.rules import Finding
from patina.safety.values import ClassNote, SolutionSafety, Undecided

# Above this share of the named substance a grade is classed as the substance itself.
PURE_PCT = 95.0
_FAMILIES = (
    ("Ox.", "oxidising"),
    ("Flam.", "flammable"),
    ("Met. Corr.", "metals"),
    ("Asp. Tox.", "aspiration"),
    ("Skin Corr.", "skin"),
    ("Skin Irrit.", "skin"),
    ("Eye", "eye"),
    ("Resp. Sens.", "Resp. Sens."),
    ("Skin Sens.", "Skin Sens."),
    ("Aquatic Acute", "aquatic acute"),
    ("Aquatic Chronic", "aquatic chronic"),
)


def as_sold(substance: Substance, catalogue: Catalogue, assay_pct: float | None = None) -> SolutionSafety:
    """The safety of a substance as sold.

    assay_pct: % w/w of the lot, None for the catalogue's grade. A liquid sold dissolved is classed
    at that strength; everything else carries the substance's own classes.
    """
    assay = assay_pct if assay_pct is not None else substance.assay_pct
    if substance.is_liquid and assay is not None and assay < PURE_PCT:
        water = catalogue.get("water")
        parts = (Component(substance, assay), Component(water, 100.0 - assay))
        made = Composition(parts, None, "% w/w as the label says", water, ())
        return solution_safety(Solution(f"{substance.name} {assay:g} %", water.key, ()), made)
    return _own(substance)


def _own(substance: Substance) -> SolutionSafety:
    found = [_finding(h) for h in substance.hazards]
    tag = label(found)
    unknown = substance.hazard_basis == "unknown"
    needs = (Undecided("all classes", "no hazard information is on record: read the safety data sheet"),)
    return SolutionSafety(
        name=substance.name,
        signal_word=tag.signal_word,
        classes=tuple(ClassNote(f.code, f.h, statement(f.h), f.why, f.source, f.h in tag.statements) for f in found),
        euh=substance.euh,
        pictograms=tag.pictograms,
        p_statements=tag.p_statements,
        undecided=needs if unknown else (),
        density_g_ml=substance.density_g_ml,
        density_note="as sold",
        statements=tag.statements,
        supplemental=tuple(
            ClassNote(code, code, statement(code), "the substance itself", substance.source) for code in substance.euh
        ),
        shares=((substance.name, 100.0),),
    )


def _finding(hazard: HazardClass) -> Finding:
    family = next((name for start, name in _FAMILIES if hazard.code.startswith(start)), hazard.code)
    if hazard.code.startswith("Acute Tox."):
        family = f"acute {hazard.route or 'inhalation'}"
    why = "the substance itself" + (" (minimum classification)" if hazard.minimum else "")
    return Finding(family, 0, hazard.code, hazard.h, why, hazard.source)
