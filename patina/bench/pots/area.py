"""How much bronze there is, from what a person writes down."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import BadQuantity, NotFound

if TYPE_CHECKING:
    from patina.bench.studio import Studio
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


def by_mesh(path: Path, *, unit: str | None, enlarge: float = 1.0, shrinkage: str | None = None) -> AreaEstimate:
    """Area of a mesh file. unit: of the file's coordinates; asked for, never guessed. shrinkage: how much
    shorter the metal is than the mesh, "1.5 %"."""
    from patina.surface.mesh import from_mesh
    from patina.units import share

    shorter_pct = 100.0 * share(shrinkage, field="shrinkage") if shrinkage else 0.0
    return _believable(from_mesh(path, unit, enlarge=enlarge, shrinkage_pct=shorter_pct))


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


# What is asked for each method; the first ones must be filled in.
METHODS = {
    "weight": (("mass", "wall", "alloy"), ("solids",)),
    "mesh": (("file", "unit"), ("enlarge",)),
    "enlarge": (("area", "from", "to"), ()),
    "wrap": ((), ("foil", "thickness", "paper", "per_m2", "overlap")),
    "shapes": (("sketch",), ()),
}


def by_form(method: str, values: Mapping[str, str]) -> AreaEstimate:
    """Area by one of METHODS from what was typed for it. Raises BadQuantity, BadMesh, NotFound, Refused."""
    if method not in METHODS:
        raise NotFound(f"'{method}' is no method.", f"Choose one of {', '.join(METHODS)}.", field="method")
    typed = {key: values.get(key, "").strip() for group in METHODS[method] for key in group}
    missing = [key for key in METHODS[method][0] if not typed[key]]
    if missing:
        raise BadQuantity(
            f"Still to say: {', '.join(missing)}.", "Fill it in; a figure with its unit.", field=missing[0]
        )
    if method == "weight":
        return by_weight(mass=typed["mass"], wall=typed["wall"], alloy=typed["alloy"], solids=typed["solids"] or None)
    if method == "mesh":
        from patina.units import number

        scale = number(typed["enlarge"], field="enlarge") if typed["enlarge"] else 1.0
        return by_mesh(Path(typed["file"]).expanduser(), unit=typed["unit"], enlarge=scale)
    if method == "enlarge":
        return by_enlargement(area=typed["area"], from_=typed["from"], to=typed["to"])
    if method == "wrap":
        return by_wrap(
            foil=typed["foil"] or None,
            thickness=typed["thickness"] or None,
            paper=typed["paper"] or None,
            per_m2=typed["per_m2"] or None,
            overlap=typed["overlap"] or "0 %",
        )
    return by_shapes(typed["sketch"])


@dataclass(frozen=True, slots=True)
class TextureOffer:
    """A texture factor to begin with. words: what it is for and how far it spreads. learnt: by this house."""

    factor: float
    words: str
    learnt: bool = False


def texture_offers(studio: Studio | None, recipe: str | None = None) -> tuple[TextureOffer, ...]:
    """What works by a recipe taught, with its spread, then the starting values by kind of surface. Raises NotFound.

    Source: [PRACTICE], [ISO25178] for the starting values
    """
    from patina.surface.constants import texture_factors

    found = []
    if studio is not None and recipe is not None:
        from patina.bench.pots.outlook import learnt

        for line in learnt(studio, recipe):
            if line.texture is not None and line.texture >= 1:
                works = ", ".join(line.works)
                found.append(TextureOffer(line.texture, f"learnt with {line.solution} in {works}: {line.words}", True))
    for band in texture_factors().values():
        spread = f"{band.low:g}" if band.low == band.high else f"{band.low:g} to {band.high:g}"
        found.append(TextureOffer(band.start, f"{band.name}, usually {spread}"))
    return tuple(found)
