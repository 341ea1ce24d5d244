"""The agreed finish: what was agreed, by whom, under which light, and how far a piece may be from it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date

from patina.colour.difference import FORMULAS
from patina.colour.values import Lab, Part
from patina.errors import BadQuantity, NotComparable, NotFound
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


@dataclass(frozen=True, slots=True)
class Held:
    """Who holds which tile. role: master, light limit, dark limit or sealed; next_check: when it is read again."""

    tile: str
    holder: str
    role: str = "master"
    place: str = ""
    next_check: date | None = None


@dataclass(frozen=True, slots=True)
class Concession:
    """A piece taken although it was outside. It is recorded and never moves the master."""

    piece: str
    zone: str
    difference: float
    reason: str
    agreed_by: str
    agreed_on: date


@dataclass(frozen=True, slots=True)
class Master:
    """An agreed finish.

    zones: one target each. light: under which it was agreed ("D50 booth, 1500 lx"). geometry: of the
    readings ("45/0", "d/8 SCI", "camera", "unknown"). wax: "waxed", "unwaxed" or "lacquered".
    metal: "cold" or "warm" when read. target: "as new" or "as today". agreed_by, agreed_on: who and
    when. tiles: who holds which. concessions: pieces taken although outside.
    Raises BadQuantity without zones or with one zone twice, NotComparable where the zones' colours
    are stated for different illuminants or observers.
    """

    name: str
    zones: tuple[ZoneTarget, ...]
    tolerance: Tolerance
    light: str
    geometry: str
    wax: str
    metal: str = "cold"
    target: str = "as new"
    agreed_by: tuple[str, ...] = ()
    agreed_on: date | None = None
    tiles: tuple[Held, ...] = ()
    concessions: tuple[Concession, ...] = ()

    def __post_init__(self) -> None:
        names = [z.zone for z in self.zones]
        if not names or len(set(names)) != len(names):
            raise BadQuantity("A master needs zones, each once.", "Name each zone once.", field="zones")
        if len({(z.lab.illuminant, z.lab.observer) for z in self.zones}) > 1:
            raise NotComparable("The zones are stated for different illuminants.", "State all for one.")

    def zone(self, name: str) -> ZoneTarget:
        """The target of one zone; raises NotFound naming the zones there are."""
        for target in self.zones:
            if target.zone == name:
                return target
        raise NotFound(f"{self.name} has no zone '{name}'.", f"Choose one of {', '.join(z.zone for z in self.zones)}.")

    def conceding(self, concession: Concession) -> Master:
        """The same master with a concession noted; zones and tolerance stay what they were."""
        self.zone(concession.zone)
        return replace(self, concessions=(*self.concessions, concession))

    def due(self, today: date) -> tuple[Held, ...]:
        """Tiles whose next check has come."""
        return tuple(t for t in self.tiles if t.next_check is not None and t.next_check <= today)
