"""How much bronze there is: area from weight, enlargement, wrapping, and two methods held side by side.

Areas from mesh files are in ``patina.surface.mesh``, from simple bodies in ``patina.surface.primitives``.
Every estimate carries its standard uncertainty (one standard deviation, in % of the area) and its sums.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from patina.datafile import read_table, text
from patina.errors import BadQuantity, Refused
from patina.surface.alloys import Alloy
from patina.surface.constants import constant


@dataclass(frozen=True, slots=True)
class Notice:
    """Something a person should know about an estimate. code: stable word for programs; text: a sentence."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Doubt:
    """One share of an uncertainty. of: what it comes from; pct: standard uncertainty in % of the area."""

    of: str
    pct: float


@dataclass(frozen=True, slots=True)
class AreaEstimate:
    """An area to be coloured, with its doubt and its sums.

    area_m2: plain area in m², without texture factor. uncertainty_pct: standard uncertainty (one
    standard deviation) in %. method: weight, mesh, enlarge, foil, paper, primitives, typed or
    reconciled. working: the sums in words. doubts: what the uncertainty is made of.
    """

    area_m2: float
    uncertainty_pct: float
    method: str
    working: str
    warnings: tuple[Notice, ...] = ()
    doubts: tuple[Doubt, ...] = field(default=())

    def as_json(self) -> dict[str, Any]:
        """As ``patina area --json`` prints it: area_m2, uncertainty_pct, method, working, then warnings and doubts."""
        return {
            "area_m2": self.area_m2,
            "uncertainty_pct": self.uncertainty_pct,
            "method": self.method,
            "working": self.working,
            "warnings": [{"code": w.code, "text": w.text} for w in self.warnings],
            "doubts": [{"of": d.of, "pct": d.pct} for d in self.doubts],
        }


def positive(value: float, what: str, unit: str, *, most: float, field_name: str | None = None) -> float:
    """The value, if it is finite, above zero and not absurd; raises BadQuantity otherwise."""
    if not math.isfinite(value) or value <= 0:
        raise BadQuantity(
            f"{what} is {value:g} {unit}.", f"Give {what.lower()} as a number above zero.", field=field_name
        )
    if value > most:
        raise BadQuantity(
            f"{what} is {value:g} {unit}, more than {most:g} {unit}.",
            "Check the unit and the figure.",
            field=field_name,
        )
    return value


def root_sum(doubts: Sequence[Doubt]) -> float:
    """Independent doubts added as squares, in %. Source: [GUM]."""
    return math.sqrt(sum(d.pct**2 for d in doubts))


def doubts_text(doubts: Sequence[Doubt]) -> str:
    """The doubts in words: "wall ±15 %, density ±1 %; together ±15.0 %"."""
    listed = ", ".join(f"{d.of} ±{d.pct:g} %" for d in doubts if d.pct)
    return f"{listed}; together ±{root_sum(doubts):.1f} %"


def from_weight(
    mass_g: float,
    wall_mm: float,
    alloy: Alloy,
    solids_g: float = 0.0,
    *,
    wall_spread_pct: float | None = None,
    radius_mm: float | None = None,
) -> AreaEstimate:
    """Area of a hollow cast from its mass and wall.

    mass_g: the cast as weighed, in g. wall_mm: mean wall in mm. solids_g: armature, solid parts and
    base that were weighed with it, in g; 0 where nothing is known, which makes the doubt larger.
    wall_spread_pct: standard uncertainty of the wall, 15 % for one calliper reading or the wax,
    7.5 % for ten ultrasonic readings. radius_mm: mean radius of the form; with it the mid-wall area
    is turned into that of the outside (1 + wall / 2 radius).
    Raises BadQuantity for amounts that are not above zero or absurd, and for solids not below the mass.
    Source: [PRACTICE] for the spreads, [CALC] for the sums.

    >>> from patina.surface.alloys import find_alloy
    >>> round(from_weight(96_000, 5, find_alloy("C87300")).area_m2, 2)
    2.3
    """
    positive(mass_g, "The mass", "g", most=5e7, field_name="mass")
    positive(wall_mm, "The wall", "mm", most=100, field_name="wall")
    if not math.isfinite(solids_g) or solids_g < 0 or solids_g >= mass_g:
        raise BadQuantity(
            f"Solid parts of {solids_g / 1000:g} kg cannot be taken from a cast of {mass_g / 1000:g} kg.",
            "Give the mass of solid parts as less than the whole, or 0.",
            field="solids",
        )
    shell_g = mass_g - solids_g
    area = shell_g / (alloy.density_g_ml * wall_mm * 1000)
    working = (
        f"({mass_g / 1000:g} kg − {solids_g / 1000:g} kg solid) / ({alloy.density_g_ml:g} g/cm³ × {wall_mm:g} mm) "
        f"= {area:.2f} m² at the middle of the wall"
    )
    warnings = _wall_notices(wall_mm)
    if radius_mm is not None:
        positive(radius_mm, "The radius", "mm", most=1e5, field_name="radius")
        area *= 1 + wall_mm / (2 * radius_mm)
        working += f"; × (1 + {wall_mm:g}/(2 × {radius_mm:g})) = {area:.2f} m² outside"
    doubts = (
        Doubt("wall", constant("wall_spread_pct") if wall_spread_pct is None else wall_spread_pct),
        Doubt("solid parts and base", _solids_doubt(mass_g, solids_g)),
        Doubt("density", constant("density_spread_pct")),
    )
    return AreaEstimate(area, root_sum(doubts), "weight", f"{working}. Doubt: {doubts_text(doubts)}.", warnings, doubts)


def _solids_doubt(mass_g: float, solids_g: float) -> float:
    if solids_g == 0:
        return constant("solids_spread_pct")
    return round(constant("solids_entered_spread_pct") * solids_g / (mass_g - solids_g), 2)


def _wall_notices(wall_mm: float) -> tuple[Notice, ...]:
    if wall_mm < 2 or wall_mm > 15:
        return (
            Notice(
                "wall_unusual", f"A wall of {wall_mm:g} mm is unusual: lost wax is mostly 4 to 6 mm, sand 5 to 8 mm."
            ),
        )
    return ()


def enlarge(area_m2: float, from_mm: float, to_mm: float) -> AreaEstimate:
    """Area of an enlargement from that of its maquette: the square of the heights' ratio.

    area_m2: area of the maquette in m². from_mm, to_mm: the same height on both, in mm.
    Raises BadQuantity. Source: [CALC], spreads [PRACTICE].

    >>> round(enlarge(0.062, 450, 1800).area_m2, 3)
    0.992
    """
    positive(area_m2, "The area of the maquette", "m2", most=1e4, field_name="area")
    positive(from_mm, "The height of the maquette", "mm", most=1e5, field_name="from")
    positive(to_mm, "The height of the enlargement", "mm", most=1e6, field_name="to")
    ratio = to_mm / from_mm
    area = positive(area_m2 * ratio**2, "The area of the enlargement", "m2", most=1e5, field_name="to")
    length = constant("enlarge_length_spread_pct")
    doubts = (
        Doubt("two heights, squared", round(2 * math.hypot(length, length), 1)),
        Doubt("form and detail", constant("enlarge_form_spread_pct")),
    )
    warnings: tuple[Notice, ...] = ()
    if ratio > 20 or ratio < 0.05:
        warnings = (Notice("scale_unusual", f"A scale of {ratio:g} is unusual: check that both heights are in mm."),)
    working = (
        f"{area_m2:g} m² × ({to_mm:g} mm / {from_mm:g} mm)² = {area_m2:g} × {ratio**2:.4g} = {area:.3g} m²; "
        f"a shell weighs {ratio**2:.3g} times as much at the same wall. Doubt: {doubts_text(doubts)}, "
        "and that of the maquette's area on top."
    )
    return AreaEstimate(area, root_sum(doubts), "enlarge", working, warnings, doubts)


def wrap_foil(
    mass_g: float, foil_mm: float, overlap: float, *, measured_overlap: bool = False, density_g_ml: float | None = None
) -> AreaEstimate:
    """Area from the aluminium foil that covers the piece once.

    mass_g: foil used in g. foil_mm: its thickness in mm (0.015 is usual). overlap: share of the foil that lies double,
    0 to 0.8 (0.2 to 0.4 is usual). measured_overlap: it was measured on a patch, not guessed.
    Raises BadQuantity. Source: [ALUMINIUM] density, [PRACTICE] spreads.

    >>> round(wrap_foil(310, 0.015, 0).area_m2, 2)
    7.65
    """
    positive(mass_g, "The foil", "g", most=1e5, field_name="mass")
    positive(foil_mm, "The foil's thickness", "mm", most=0.5, field_name="thickness")
    density = constant("foil_density_g_ml") if density_g_ml is None else density_g_ml
    grammage = density * foil_mm * 1000
    doubt = Doubt("thickness of the foil", constant("foil_thickness_spread_pct"))
    return _wrapped(
        "foil", mass_g, grammage, f"{density:g} g/cm³ × {1000 * foil_mm:g} µm", overlap, measured_overlap, doubt
    )


def wrap_paper(
    mass_g: float, grammage_g_m2: float, overlap: float = 0.0, *, measured_overlap: bool = False
) -> AreaEstimate:
    """Area from patches of paper that cover the piece once.

    mass_g: paper used in g. grammage_g_m2: its weight per area in g/m². overlap: share that lies
    double, 0 to 0.8; patches trimmed edge to edge have none. Raises BadQuantity. Source: [PRACTICE].

    >>> round(wrap_paper(168, 80).area_m2, 2)
    2.1
    """
    positive(mass_g, "The paper", "g", most=1e5, field_name="mass")
    positive(grammage_g_m2, "The grammage", "g/m2", most=2000, field_name="grammage")
    doubt = Doubt("grammage", constant("paper_grammage_spread_pct"))
    return _wrapped("paper", mass_g, grammage_g_m2, f"{grammage_g_m2:g} g/m²", overlap, measured_overlap, doubt)


def _wrapped(
    method: str, mass_g: float, grammage: float, shown: str, overlap: float, measured: bool, doubt: Doubt
) -> AreaEstimate:
    if not math.isfinite(overlap) or not 0 <= overlap <= 0.8:
        raise BadQuantity(
            f"An overlap of {overlap:g} is not a share between 0 and 0.8.",
            "Give the share of the wrapping that lies double, for instance 30 %.",
            field="overlap",
        )
    gross = mass_g / grammage
    area = gross * (1 - overlap)
    spread = "overlap_measured_spread_pct" if measured else "overlap_guess_spread_pct"
    doubts = (
        doubt,
        Doubt("overlap", constant(spread) if overlap or method == "foil" else 0.0),
        Doubt("fit in hollows", constant("wrap_fit_spread_pct")),
    )
    warnings: tuple[Notice, ...] = ()
    if method == "foil" and overlap == 0:
        warnings = (Notice("overlap_missing", "Foil always overlaps, by 20 to 40 %: measure it on a patch of 1 m²."),)
    working = (
        f"{mass_g:g} g / ({shown}) = {gross:.2f} m² of {method}; × (1 − {overlap:g} overlap) = {area:.2f} m². "
        f"Doubt: {doubts_text(doubts)}."
    )
    return AreaEstimate(area, root_sum(doubts), method, working, warnings, doubts)


def primitives(sketch: str) -> AreaEstimate:
    """Area of simple bodies sketched in words; see ``patina.surface.primitives``. Raises BadQuantity."""
    from patina.surface.primitives import from_primitives

    return from_primitives(sketch)


def typed(area_m2: float, uncertainty_pct: float = 10.0) -> AreaEstimate:
    """An area a person gives, with their own doubt in %. Raises BadQuantity."""
    positive(area_m2, "The area", "m2", most=1e5, field_name="area")
    positive(uncertainty_pct, "The doubt", "%", most=100, field_name="uncertainty")
    return AreaEstimate(area_m2, uncertainty_pct, "typed", f"{area_m2:g} m² as given, ±{uncertainty_pct:g} %.", (), ())


def causes_apart(*methods: str) -> tuple[str, ...]:
    """What is usually wrong when areas by these methods disagree, in sentences. Source: [PRACTICE]."""
    wanted = {"any", *("wrap" if m in ("foil", "paper") else m for m in methods)}
    rows = read_table("area_causes.csv", {"key": text, "when": text, "text": text, "source": text})
    return tuple(row["text"] for row in rows if row["when"] in wanted)


def apart_pct(a: AreaEstimate, b: AreaEstimate) -> float:
    """How far two areas lie apart, in % of their mean."""
    return 200 * abs(a.area_m2 - b.area_m2) / (a.area_m2 + b.area_m2)


def reconcile(a: AreaEstimate, b: AreaEstimate) -> AreaEstimate:
    """One area from two methods, each weighted by how well it is known.

    Raises Refused where they lie more than 25 % of their mean apart, naming what is usually wrong.
    Where they disagree by more than their doubts allow, the doubt of the result is widened.
    Source: [GUM] weighted mean, [PRACTICE] limit.
    """
    apart = apart_pct(a, b)
    limit = constant("reconcile_limit_pct")
    if apart > limit:
        causes = "; ".join(causes_apart(a.method, b.method))
        raise Refused(
            f"{a.method} gives {a.area_m2:.2f} m² and {b.method} {b.area_m2:.2f} m²: "
            f"{apart:.0f} % apart, more than {limit:g} %.",
            f"Look for the mistake before mixing. Usual causes: {causes}.",
            title="Two areas that do not agree",
        )
    ua, ub = (e.area_m2 * max(e.uncertainty_pct, 0.1) / 100 for e in (a, b))
    wa, wb = 1 / ua**2, 1 / ub**2
    area = (wa * a.area_m2 + wb * b.area_m2) / (wa + wb)
    birge = max(1.0, abs(a.area_m2 - b.area_m2) / math.hypot(ua, ub))
    pct = 100 * birge / math.sqrt(wa + wb) / area
    working = (
        f"{a.method} {a.area_m2:.2f} m² ±{a.uncertainty_pct:.0f} % and {b.method} {b.area_m2:.2f} m² "
        f"±{b.uncertainty_pct:.0f} % are {apart:.0f} % apart; weighted by their doubts: {area:.2f} m² ±{pct:.0f} %."
    )
    return AreaEstimate(area, pct, "reconciled", working, a.warnings + b.warnings, ())
