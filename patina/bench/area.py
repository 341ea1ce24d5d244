"""How much bronze there is, from what a person writes down."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import BadQuantity

if TYPE_CHECKING:
    from patina.surface.area import AreaEstimate


LEAST_M2, MOST_M2 = 1e-6, 100_000.0


def _believable(estimate: AreaEstimate) -> AreaEstimate:
    """The estimate, unless no piece can have such an area (1 mm2 to 100 000 m2). Raises BadQuantity."""
    if LEAST_M2 <= estimate.area_m2 <= MOST_M2:
        return estimate
    raise BadQuantity(
        f"That gives an area of {estimate.area_m2:.3g} m2, which no piece has.",
        "Check the figures and their units.",
        field="area",
    )


def by_weight(*, mass: str, wall: str, alloy: str, solids: str | None = None) -> AreaEstimate:
    """Area from the weight of the shell and its wall. All words with units; alloy by name."""
    from patina.surface.alloys import find_alloy
    from patina.surface.area import from_weight
    from patina.units import length_mm, mass_g

    solids_g = mass_g(solids, field="solids") if solids else 0.0
    estimate = from_weight(
        mass_g(mass, field="mass"), length_mm(wall, field="wall"), find_alloy(alloy), solids_g=solids_g
    )
    return _believable(estimate)


def by_mesh(path: Path, *, unit: str | None, enlarge: float = 1.0) -> AreaEstimate:
    """Area of a mesh file. unit: of the file's coordinates; asked for, never guessed."""
    from patina.surface.mesh import from_mesh

    return _believable(from_mesh(path, unit, enlarge=enlarge))


def by_enlargement(*, area: str, from_: str, to: str) -> AreaEstimate:
    """Area of an enlargement from the maquette's area and the two heights."""
    from patina.surface.area import enlarge
    from patina.units import area_m2, length_mm

    return _believable(enlarge(area_m2(area, field="area"), length_mm(from_, field="from"), length_mm(to, field="to")))


def by_wrap(
    *, foil: str | None, thickness: str | None, paper: str | None, per_m2: str | None, overlap: str
) -> AreaEstimate:
    """Area from weighed foil (with its thickness) or paper (with the weight of 1 m²)."""
    from patina.surface.area import wrap_foil, wrap_paper
    from patina.units import length_mm, mass_g, share

    doubled = share(overlap, field="overlap")
    if foil and thickness and not paper:
        foil_g, thickness_mm = mass_g(foil, field="foil"), length_mm(thickness, field="thickness")
        return _believable(wrap_foil(foil_g, thickness_mm, overlap=doubled))
    if paper and per_m2 and not foil:
        paper_g, per_m2_g = mass_g(paper, field="paper"), mass_g(per_m2, field="per-m2")
        return _believable(wrap_paper(paper_g, per_m2_g, overlap=doubled))
    raise BadQuantity(
        "A wrap needs foil with its thickness, or paper with the weight of 1 m².",
        "Give --foil '310 g' --thickness '0.015 mm', or --paper '168 g' --per-m2 '80 g'.",
    )


def by_shapes(sketch: str) -> AreaEstimate:
    """Area of simple shapes added up, from a sketch in words."""
    from patina.surface.area import primitives

    return _believable(primitives(sketch))


_SAID = re.compile(
    r"(?:(weight|mesh|enlarge|foil|paper|primitives)\s*:?\s+)?(.+?)(?:\s*(?:±|\+/?-)\s*(.+))?", re.I | re.S
)


def said(words: str) -> AreaEstimate:
    """An area as a person gives it: "2.3 m2", "2.3 m2 ± 16 %", "weight 2.3 m2 ± 16 %"; 10 % where no doubt is said.

    Raises BadQuantity.
    """
    from dataclasses import replace

    from patina.surface.area import typed
    from patina.units import area_m2, share

    found = _SAID.fullmatch(words.strip())
    if found is None:
        raise BadQuantity("No area was given.", "Write it as '2.3 m2 ± 16 %'.", field="area")
    method, area, doubt = found.groups()
    pct = 10.0 if doubt is None else 100 * share(doubt, field="uncertainty", zero=False)
    estimate = _believable(typed(area_m2(area, field="area"), pct))
    return estimate if method is None else replace(estimate, method=method.lower())


def reconciled(a: AreaEstimate, b: AreaEstimate) -> AreaEstimate:
    """One area of two methods' results. Raises Refused where they lie too far apart, with what is usually wrong."""
    from patina.surface.area import reconcile

    return reconcile(a, b)
