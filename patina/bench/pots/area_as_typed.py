"""The field for an area, as hands use it: "1.8 m2", the sides of a plate, simple shapes, the weight of a cast."""

from __future__ import annotations

import re
from dataclasses import dataclass

from patina.errors import BadQuantity, PatinaError

_TIMES = re.compile(r"\s*[x×*]\s*|\s+by\s+", re.I)
_SIDE = re.compile(r"[\d½¼¾][\d\s.,½¼¾/]*[^\d]*")
_SHAPES_BEGIN = re.compile(r"(?:\d+\s*[x×]?\s+)?([a-z]+)\s+[\d½¼¾.]", re.I)


@dataclass(frozen=True, slots=True)
class Begun:
    """What typed words give to the sheet of methods. method: one of METHODS of ``area``. key: the field of that
    method which they fill in."""

    method: str
    key: str
    words: str


def area_as_typed(written: str, field: str = "area") -> str:
    """An area as ``mixing.mix`` reads it: as written, or worked out from two sides (one face) or from simple shapes.

    Raises BadQuantity; for a weight, and for three sides, it says what works the area out.

    >>> area_as_typed("1.8 m2"), area_as_typed("40 x 30 cm"), area_as_typed("1.2 m × 80 cm")
    ('1.8 m2', '0.12 m2', '0.96 m2')
    """
    from patina.bench.pots.area import by_shapes

    begun = begin_with(written)
    if begun is None:
        return written.strip()
    sides = _sides(written)
    try:
        if begun.method == "shapes" and sides < 3:
            return f"{by_shapes(begun.words).area_m2:.6g} m2"
    except BadQuantity as trouble:
        trouble.field = field
        raise
    text = written.strip()
    weight = begun.method == "weight"
    what = f"'{text}' is a weight, not an area." if weight else f"'{text}' has three sides: a box, not an area."
    raise BadQuantity(what, "F3 works the area out from it.", field=field)


def begin_with(written: str) -> Begun | None:
    """What an entry that is no area gives to the sheet of methods; None where it gives nothing.

    >>> begin_with("14 kg")
    Begun(method='weight', key='mass', words='14 kg')
    >>> begin_with("40 x 30 x 2 cm").words
    'box 40 x 30 x 2 cm'
    >>> begin_with("1.8 m2") is None, begin_with("") is None
    (True, True)
    """
    from patina.surface.primitives import SHAPES
    from patina.units import mass_g

    text = written.strip()
    if body := {2: "plate", 3: "box"}.get(_sides(text)):
        return Begun("shapes", "sketch", f"{body} {text}")
    named = _SHAPES_BEGIN.match(text)
    if named and any(named[1].casefold().startswith(shape) for shape in SHAPES):
        return Begun("shapes", "sketch", text)
    try:
        mass_g(text)
    except PatinaError:
        return None
    return Begun("weight", "mass", text)


def _sides(text: str) -> int:
    """How many lengths "40 x 30 cm" names; 0 for anything else."""
    parts = _TIMES.split(text.strip())
    return len(parts) if len(parts) > 1 and all(_SIDE.fullmatch(part) for part in parts) else 0
