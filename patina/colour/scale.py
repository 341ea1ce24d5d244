"""How large things are in a photograph: from pixels to millimetres, so that a mottle's grain can be compared.

The scale is that of the plane the areas lie in. A photograph taken at an angle has another scale near and
far; only the placard, whose corner marks show the slant, gives it where the tile lies.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import replace

from patina.colour.values import AreaReading, PhotoReading, Point
from patina.errors import BadQuantity

PLACARD, TYPED = "placard", "typed"
_FORMS = "Write pixels to the millimetre, as 12.4 px/mm, or what an area measures, as face=80x60 mm."
_PER_MM = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:px|pixels?)\s*(?:/|per|to the)\s*mm", re.IGNORECASE)
_SIZE = re.compile(
    r"(?:(?P<name>.+?)\s*=\s*)?(?P<wide>\d+(?:[.,]\d+)?)\s*[x×]\s*(?P<high>\d+(?:[.,]\d+)?)\s*(?P<unit>mm|cm)",
    re.IGNORECASE,
)


def outline_area(outline: Sequence[Point]) -> float:
    """What a polygon encloses, in the square of its own unit; 0 for fewer than three corners.

    >>> outline_area([(0, 0), (4, 0), (4, 3), (0, 3)])
    12.0
    """
    turned = [*outline[1:], *outline[:1]]
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(outline, turned, strict=True))) / 2


def scale_px_per_mm(text: str, areas: Sequence[AreaReading]) -> float:
    """Pixels to the millimetre, as typed ("12.4 px/mm") or from what one of the areas measures ("face=80x60 mm",
    or "80x60 mm" where one area was read). A size without its unit is refused. Raises BadQuantity."""
    told = _PER_MM.fullmatch(text.strip())
    if told is not None:
        return _sound(_number(told[1]), text)
    size = _SIZE.fullmatch(text.strip())
    if size is None:
        raise BadQuantity(f"'{text}' says no scale.", _FORMS, field="scale")
    named = [a for a in areas if size["name"] is None or a.name.casefold() == size["name"].casefold()]
    if len(named) != 1:
        said = f"No area is called '{size['name']}'" if size["name"] else "It is not said which area has that size"
        raise BadQuantity(f"{said}.", f"Name one of: {', '.join(a.name for a in areas)}. {_FORMS}", field="scale")
    unit = 10.0 if size["unit"].casefold() == "cm" else 1.0
    mm2 = _number(size["wide"]) * _number(size["high"]) * unit**2
    if mm2 <= 0:
        raise BadQuantity(f"'{text}' has no area.", _FORMS, field="scale")
    return _sound(math.sqrt(outline_area(named[0].polygon) / mm2), text)


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def _sound(px_per_mm: float, text: str) -> float:
    if not 0.01 <= px_per_mm <= 1000:
        raise BadQuantity(
            f"'{text}' makes {px_per_mm:.3g} pixels to the millimetre, which no photograph of a surface has.",
            "Look whether millimetres are meant, and which area.",
            field="scale",
        )
    return px_per_mm


def to_scale(reading: AreaReading, px_per_mm: float, scale_from: str) -> AreaReading:
    """The reading with its grain in millimetres. px_per_mm: above 0, where the area lies."""
    if reading.grain_px is None:
        return reading
    return replace(reading, grain_mm=reading.grain_px / px_per_mm, scale_from=scale_from)


def with_scale(found: PhotoReading, text: str) -> PhotoReading:
    """All areas of a photograph with their grain in mm by a typed scale; empty leaves all as it is.

    Raises BadQuantity.
    """
    if not text.strip():
        return found
    px_per_mm = scale_px_per_mm(text, found.areas)
    return replace(found, areas=tuple(to_scale(a, px_per_mm, f"{TYPED}: {text.strip()}"[:200]) for a in found.areas))
