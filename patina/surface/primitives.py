"""Area of a piece put together from simple bodies, sketched in words.

"sphere 0.20 m; cylinder 0.32 x 0.62 m; 2 cylinder 0.09 x 0.68 m" is a head, a torso and two arms.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass

from patina.errors import BadQuantity
from patina.surface.area import AreaEstimate, Doubt, Notice, doubts_text, positive, root_sum
from patina.surface.constants import constant

_SEPARATOR = re.compile(r"\s*[x×*]\s*|\s+by\s+", re.IGNORECASE)
_UNIT = re.compile(r"([a-zµ\"'″′]+)\.?$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Body:
    """One simple body. count: how many of it; sizes_m: its sizes in m; area_m2: of all of them together."""

    shape: str
    count: float
    sizes_m: tuple[float, ...]
    area_m2: float
    sketch: str


def _sphere(d: float) -> float:
    return math.pi * d * d


def _dome(d: float) -> float:
    return math.pi * d * d / 2


def _cylinder(d: float, h: float) -> float:
    return math.pi * d * h


def _cone(d: float, h: float) -> float:
    return math.pi * d / 2 * math.hypot(d / 2, h)


def _frustum(d1: float, d2: float, h: float) -> float:
    return math.pi * (d1 + d2) / 2 * math.hypot((d1 - d2) / 2, h)


def _plate(a: float, b: float) -> float:
    return a * b


def _disc(d: float) -> float:
    return math.pi * d * d / 4


def _box(a: float, b: float, c: float) -> float:
    return 2 * (a * b + b * c + a * c)


def _ellipsoid(a: float, b: float, c: float) -> float:
    # Knud Thomsen's approximation, p = 1.6075: within 1.1 % for any three axes.
    p = 1.6075
    ab, ac, bc = ((x * y / 4) ** p for x, y in ((a, b), (a, c), (b, c)))
    return 4 * math.pi * ((ab + ac + bc) / 3) ** (1 / p)


def _torus(d: float, thickness: float) -> float:
    return math.pi * math.pi * d * thickness


SHAPES: dict[str, tuple[Callable[..., float], tuple[str, ...]]] = {
    "sphere": (_sphere, ("diameter",)),
    "dome": (_dome, ("diameter",)),
    "cylinder": (_cylinder, ("diameter", "length")),
    "cone": (_cone, ("diameter", "height")),
    "frustum": (_frustum, ("diameter below", "diameter above", "height")),
    "plate": (_plate, ("width", "length")),
    "disc": (_disc, ("diameter",)),
    "box": (_box, ("width", "depth", "height")),
    "ellipsoid": (_ellipsoid, ("width", "depth", "height")),
    "torus": (_torus, ("middle diameter", "thickness")),
}

_PLURALS = {f"{name}{'es' if name.endswith('x') else 's'}": name for name in SHAPES} | {"tori": "torus"}


def parse_bodies(sketch: str) -> tuple[Body, ...]:
    """Bodies from a sketch in words.

    Each part, parted by semicolons or new lines: an optional count, a shape and its sizes with a
    unit ("2 cylinder 0.14 x 0.86 m"; each size may have its own unit). Cylinders and cones have no
    end faces, plates one face. Raises BadQuantity naming the part that cannot be read.
    """
    parts = [p.strip() for p in re.split(r"[;\n]", sketch) if p.strip()]
    if not parts:
        raise BadQuantity("The sketch is empty.", f"Name bodies with sizes: {_example()}.", field="sketch")
    return tuple(_body(part) for part in parts)


def _example() -> str:
    return "sphere 0.20 m; cylinder 0.32 x 0.62 m"


def _body(part: str) -> Body:
    found = re.fullmatch(r"(?:(\d+)\s*[x×]?\s+)?([a-z]+)\s+(.+)", part, re.IGNORECASE)
    shape = found[2].lower() if found else ""
    shape = shape if shape in SHAPES else _PLURALS.get(shape, shape)
    if found is None or shape not in SHAPES:
        raise BadQuantity(
            f"'{part}' names no body that is known.",
            f"Use {', '.join(SHAPES)}, each with its sizes, as in {_example()}.",
            field="sketch",
        )
    formula, names = SHAPES[shape]
    sizes = _sizes_m(found[3], part)
    if len(sizes) != len(names):
        raise BadQuantity(
            f"'{part}' has {len(sizes)} sizes; a {shape} takes {len(names)}: {', '.join(names)}.",
            f"Write the sizes with x between them and a unit: {_example()}.",
            field="sketch",
        )
    count = int(found[1] or 1)
    positive(count, "The count", "pieces", most=10_000, field_name="sketch")
    return Body(shape, count, sizes, count * formula(*sizes), part)


def _sizes_m(written: str, part: str) -> tuple[float, ...]:
    from patina.units import length_mm  # pint stands behind it

    sizes = _SEPARATOR.split(written.strip())
    last = _UNIT.search(sizes[-1])
    if last is None:
        raise BadQuantity(
            f"'{part}' has no unit.", f"Name mm, cm, m, in or ft after the sizes: {_example()}.", field="sketch"
        )
    shared = last[1]
    return tuple(length_mm(size if _UNIT.search(size) else f"{size} {shared}", field="sketch") / 1000 for size in sizes)


def from_primitives(sketch: str, *, spread_pct: float | None = None) -> AreaEstimate:
    """Area of bodies sketched in words, each with its sum. Raises BadQuantity.

    spread_pct: standard uncertainty in %, 15 where nothing else is known. Clothing, hair and folds
    are not in it. Source: [CALC] formulas of solids, [PRACTICE] spread.
    """
    bodies = parse_bodies(sketch)
    area = positive(sum(b.area_m2 for b in bodies), "The area", "m2", most=1e5, field_name="sketch")
    doubts = (
        Doubt("bodies against true skin", constant("primitives_spread_pct") if spread_pct is None else spread_pct),
    )
    listed = "; ".join(f"{b.sketch} = {b.area_m2:.3f} m²" for b in bodies)
    return AreaEstimate(
        area,
        root_sum(doubts),
        "primitives",
        f"{listed}; together {area:.2f} m². Doubt: {doubts_text(doubts)}.",
        (Notice("bare_form", "Drapery, hair and folds are not in it: a clothed figure has 30 to 80 % more."),),
        doubts,
    )


def body_surface_m2(mass_kg: float, height_cm: float) -> float:
    """Skin of a person, to check a life-size figure: 0.007184 × kg^0.425 × cm^0.725 in m². Source: [DUBOIS1916].

    >>> round(body_surface_m2(75, 180), 2)
    1.94
    """
    positive(mass_kg, "The person's mass", "kg", most=500)
    positive(height_cm, "The person's height", "cm", most=300)
    return 0.007184 * mass_kg**0.425 * height_cm**0.725
