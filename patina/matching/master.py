"""The agreed finish: what was agreed, by whom, under which light, and how far a piece may be from it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from patina.colour.difference import FORMULAS
from patina.colour.values import Lab, Part
from patina.errors import BadQuantity
from patina.matching.constants import constant


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How far a piece may be from the master.

    delta_e: limit of the difference, above zero. dL, dC, dH: limits of lightness, chroma and hue
    apart, above zero; None: not agreed. formula: as in ``patina.colour.difference``.
    mottle: limit of the distance between tones and shares; None: the same as delta_e.
    Raises BadQuantity.
    """

    delta_e: float
    dL: float | None = None
    dC: float | None = None
    dH: float | None = None
    formula: str = "de2000"
    mottle: float | None = None

    def __post_init__(self) -> None:
        for name in ("delta_e", "dL", "dC", "dH", "mottle"):
            value = getattr(self, name)
            if value is not None and not (math.isfinite(value) and 0 < value <= 100):
                raise BadQuantity(
                    f"A limit of {value:g} for {name} is not above 0 and at most 100.",
                    "Give each limit above zero, or leave it out.",
                    field=name,
                )
        if self.formula not in FORMULAS:
            raise BadQuantity(
                f"'{self.formula}' is not a difference formula known here.", f"Use one of {', '.join(FORMULAS)}."
            )


def starting_tolerance() -> Tolerance:
    """Where to start for a dark brown waxed finish: 2 CIEDE2000. Source: [PRACTICE]."""
    return Tolerance(constant("start_delta_e"))


@dataclass(frozen=True, slots=True)
class ZoneTarget:
    """The agreed colour of one zone (face, drapery, base: each its own population).

    lab: mean of the readings. sd: their spread in L*, a*, b* (standard deviation). readings: how
    many. light_limit, dark_limit: colours of the limit tiles, or None. parts: tones and shares of an
    uneven finish, empty where it is even. fixed_u: expanded (95 %) uncertainty in delta E that more
    readings do not lessen (instrument, camera correction). spread, grain: as in
    ``patina.matching.mottle.Surface``, None where not known.
    """

    zone: str
    lab: Lab
    sd: tuple[float, float, float] = (0.0, 0.0, 0.0)
    readings: int = 1
    light_limit: Lab | None = None
    dark_limit: Lab | None = None
    parts: tuple[Part, ...] = ()
    fixed_u: float = 0.0
    spread: tuple[float, float, float] | None = None
    grain: float | None = None
