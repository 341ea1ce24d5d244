"""The air of a job: what a batch can give off at most, against each body's limit, in this room with this flow.

Upper bounds by stoichiometry times a stated fraction, spread evenly through the room: at the face it can be many
times more, and a smaller figure here is no leave to work without extraction.

Source: [VENT] for the balance of the room, ``release.csv`` and ``exposure_limits.csv`` for the rest
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from patina.chemistry.substances import Catalogue, Substance
from patina.errors import BadQuantity, NotFound
from patina.recipe import Recipe
from patina.safety.air import (
    AirLimit,
    air_limits,
    flow_needed_m3_h,
    gas,
    hours_to_limit,
    mg_m3_from_ppm,
    mixed_mg_m3,
    ppm_from_mg_m3,
    released_at_most_g,
    steady_mg_m3,
)
from patina.safety.composition import compose
from patina.safety.emissions import emissions
from patina.safety.values import Emission

LOCAL_EXHAUST = ("nitrogen dioxide", "nitric oxide", "hydrogen sulphide", "hydrogen chloride", "chromium(VI) mist")
HAND_WORK = "dilution does not do for this gas: local exhaust at the piece"


@dataclass(frozen=True, slots=True)
class Room:
    """Where the work is done. volume_m3: of the room. flow_m3_h: fresh air that really comes in. hours: over which
    the batch is used up. temperature_c: of the air. k: mixing factor, 1 (ideal) to 10 (poor)."""

    volume_m3: float
    flow_m3_h: float = 0.0
    hours: float = 1.0
    temperature_c: float = 20.0
    k: float = 5.0

    def __post_init__(self) -> None:
        if not (self.volume_m3 > 0 and self.flow_m3_h >= 0 and self.hours > 0):
            raise BadQuantity(
                "The room, its air flow or the hours cannot be.", "Give a room above 0 m³, a flow of 0 or more, hours."
            )


@dataclass(frozen=True, slots=True)
class AgainstLimit:
    """A release against one limit. times: mean of the room over the limit after the work. flow_needed_m3_h: with K.
    hours_to_limit: of steady release until the mean reaches the limit, None where it never does."""

    who: str
    kind: str
    limit_mg_m3: float
    limit_words: str
    times: float
    flow_needed_m3_h: float
    hours_to_limit: float | None
    source: str


@dataclass(frozen=True, slots=True)
class AirLine:
    """One gas of one substance. grams_at_most and what hangs on it: None where the amount cannot be told.
    ppm_at_once: if all came off at once into still air."""

    gas: str
    from_: str
    when: str
    grams_at_most: float | None
    working: str
    mg_m3_at_once: float | None
    ppm_at_once: float | None
    against: tuple[AgainstLimit, ...]
    note: str

    @property
    def over(self) -> bool:
        """Whether any limit is passed in the mean of the room by the end of the work."""
        return any(a.times > 1 for a in self.against)


def air_of(
    recipe: Recipe,
    catalogue: Catalogue,
    volumes_ml: Mapping[str, float],
    room: Room,
    *,
    fractions: Mapping[str, float] | None = None,
    density: Mapping[str, float] | None = None,
) -> tuple[AirLine, ...]:
    """What each pot of a recipe can give off in a room, the worst first.

    volumes_ml: mL used up, by solution. fractions: share (0-1) thought to be released, by gas; 1 where none is
    given, which is the upper bound. density: measured g/mL by solution.
    Raises NotFound for a solution the recipe does not have, BadQuantity for values that cannot be.
    """
    amounts: dict[str, tuple[Substance, float]] = {}
    contents: dict[str, list[Substance]] = {}
    for name, volume in volumes_ml.items():
        if volume < 0:
            raise BadQuantity(f"A volume of {volume:g} mL of '{name}' cannot be.", "Give 0 mL or more.")
        made = compose(recipe.solution(name), catalogue, (density or {}).get(name))
        contents[name] = [c.substance for c in made.components]
        for substance, grams in made.grams_per_l:
            before = amounts.get(f"{substance.name} in {name}", (substance, 0.0))[1]
            amounts[f"{substance.name} in {name}"] = (substance, before + grams * volume / 1000)
    lines = [_line(e, amounts.get(e.from_), room, fractions or {}) for e in emissions(recipe, contents)]
    return tuple(sorted(lines, key=lambda x: (-max((a.times for a in x.against), default=0.0), x.gas, x.from_)))


def _line(
    emission: Emission, amount: tuple[Substance, float] | None, room: Room, fractions: Mapping[str, float]
) -> AirLine:
    unknown = "how much is not known: treat it as over every limit"
    if amount is None:
        return AirLine(emission.gas, emission.from_, emission.when, None, unknown, None, None, (), emission.note)
    substance, grams = amount
    try:
        released, working = released_at_most_g(substance, grams, emission.gas, fractions.get(emission.gas, 1.0))
    except NotFound:
        return AirLine(emission.gas, emission.from_, emission.when, None, unknown, None, None, (), emission.note)
    known = gas(emission.gas)
    at_once = mixed_mg_m3(released, room.volume_m3)
    mass = known.molar_mass_g_mol
    vapour = mass is not None and any(x.ppm is not None for x in air_limits() if x.agent in known.agents)
    ppm = ppm_from_mg_m3(at_once, mass, room.temperature_c) if mass is not None and vapour else None
    rate = released * 1000 / room.hours
    against = tuple(_against(x, rate, mass, room) for x in air_limits() if x.agent in known.agents)
    note = f"{HAND_WORK}. {emission.note}" if emission.gas in LOCAL_EXHAUST else emission.note
    return AirLine(emission.gas, emission.from_, emission.when, released, working, at_once, ppm, against, note)


def _against(limit: AirLimit, rate_mg_h: float, molar_mass: float | None, room: Room) -> AgainstLimit:
    allowed = limit.mg_m3
    if limit.ppm is not None and molar_mass is not None:
        allowed = mg_m3_from_ppm(limit.ppm, molar_mass, room.temperature_c)
    if allowed is None:
        raise NotFound(f"{limit.who} of {limit.agent} has no figure.", "Correct patina/data/exposure_limits.csv.")
    return AgainstLimit(
        limit.who,
        limit.kind,
        allowed,
        limit.words(),
        steady_mg_m3(rate_mg_h, room.flow_m3_h, room.volume_m3, room.hours) / allowed,
        flow_needed_m3_h(rate_mg_h, allowed, room.k),
        hours_to_limit(rate_mg_h, room.flow_m3_h, room.volume_m3, allowed),
        limit.source,
    )
