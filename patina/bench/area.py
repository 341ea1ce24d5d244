"""How much bronze there is, from what a person writes down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import BadQuantity

if TYPE_CHECKING:
    from patina.surface.area import AreaEstimate


def by_weight(*, mass: str, wall: str, alloy: str, solids: str | None = None) -> AreaEstimate:
    """Area from the weight of the shell and its wall. All words with units; alloy by name."""
    from patina.surface.alloys import find_alloy
    from patina.surface.area import from_weight
    from patina.units import length_mm, mass_g

    solids_g = mass_g(solids, field="solids") if solids else 0.0
    return from_weight(mass_g(mass, field="mass"), length_mm(wall, field="wall"), find_alloy(alloy), solids_g=solids_g)


def by_mesh(path: Path, *, unit: str | None, enlarge: float = 1.0) -> AreaEstimate:
    """Area of a mesh file. unit: of the file's coordinates; asked for, never guessed."""
    from patina.surface.mesh import from_mesh

    return from_mesh(path, unit, enlarge=enlarge)


def by_enlargement(*, area: str, from_: str, to: str) -> AreaEstimate:
    """Area of an enlargement from the maquette's area and the two heights."""
    from patina.surface.area import enlarge
    from patina.units import area_m2, length_mm

    return enlarge(area_m2(area, field="area"), length_mm(from_, field="from"), length_mm(to, field="to"))


def by_wrap(
    *, foil: str | None, thickness: str | None, paper: str | None, per_m2: str | None, overlap: str
) -> AreaEstimate:
    """Area from weighed foil (with its thickness) or paper (with the weight of 1 m²)."""
    from patina.surface.area import wrap_foil, wrap_paper
    from patina.units import length_mm, mass_g, share

    doubled = share(overlap, field="overlap")
    if foil and thickness and not paper:
        return wrap_foil(mass_g(foil, field="foil"), length_mm(thickness, field="thickness"), overlap=doubled)
    if paper and per_m2 and not foil:
        return wrap_paper(mass_g(paper, field="paper"), mass_g(per_m2, field="per-m2"), overlap=doubled)
    raise BadQuantity(
        "A wrap needs foil with its thickness, or paper with the weight of 1 m².",
        "Give --foil '310 g' --thickness '0.015 mm', or --paper '168 g' --per-m2 '80 g'.",
    )


def by_shapes(sketch: str) -> AreaEstimate:
    """Area of simple shapes added up, from a sketch in words."""
    from patina.surface.area import primitives

    return primitives(sketch)
