"""The air of a job: gas per step from the real grams, in this room, with this extraction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from patina.bench.pots.mixing import find_recipe, mix
from patina.bench.safe.air_words import changes_per_h, flow_m3_h, room_m3
from patina.errors import BadQuantity, NotFound
from patina.recipe import Recipe, Step
from patina.sheets.air import AirSheet, AirStep

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.substances import Catalogue
    from patina.safety.air_sheet import AirLine, Room
    from patina.sheets import MixSheet

USUAL_MINUTES = 30.0
BURNING = ("wax", "lacquer")
NOTES = (
    "Upper bounds: everything the chemistry allows leaves at once or evenly, and spreads through the room. At the face "
    "it can be many times more.",
    "A low figure is no leave to work without extraction, and smell is no alarm.",
    "Each step is reckoned from clean air; the lines for the whole job take all pots in one such time.",
)


def air(
    studio: Studio | None,
    recipe: str,
    *,
    room: str,
    changes: str | None = None,
    hood: str | None = None,
    area: str | None = None,
    volumes: Sequence[str] = (),
    minutes: str | Sequence[str] = (),
    fractions: Sequence[str] = (),
    temperature: str | None = None,
    k: float | None = None,
    revision: int | None = None,
) -> AirSheet:
    """What each step of a recipe can give off, against each body's limit.

    room: "60 m3". changes: air changes an hour; hood: flow of an extraction "0.5 m3/s"; without either no air comes
    in. area or volumes: as for mixing. minutes: "20", or "3=10" for step 3 alone (30 where nothing is said).
    fractions: "5 %" for every gas or "ammonia=20 %"; all of it where nothing is said. k: mixing factor, 1 to 10.
    Raises BadQuantity, NotFound, and what mixing raises.
    """
    from patina.safety.air import constant
    from patina.safety.air_sheet import Room, air_of
    from patina.units import temperature_c

    found, known = find_recipe(studio, recipe, revision)
    volume = room_m3(room, "room")
    flow, flow_words = _flow(volume, changes, hood)
    factor = constant("k_usual") if k is None else k
    if not constant("k_ideal") <= factor <= constant("k_poor"):
        raise BadQuantity(f"A mixing factor of {factor:g} cannot be.", "Give 1 (ideal) to 10 (poor).", field="k")
    air_c = 20.0 if temperature is None else temperature_c(temperature, "temperature")
    place = Room(volume, flow, USUAL_MINUTES / 60, air_c, factor)
    mixed = mix(studio, recipe, area=area, volumes=volumes, revision=revision) if found.recipe.solutions else None
    job = _Job(found.recipe, known, mixed, place, _minutes(minutes, found.recipe), _fractions(fractions))
    steps = tuple(s for n, step in enumerate(found.recipe.steps, 1) if (s := job.step(n, step)) is not None)
    pots = {} if mixed is None else {s.name: s.volume_ml for s in mixed.solutions}
    usual = job.minutes.get(0, USUAL_MINUTES)
    whole = air_of(found.recipe, known, pots, replace(place, hours=usual / 60), fractions=job.fractions)
    return AirSheet(
        recipe=found.recipe.name,
        revision=found.revision,
        room_m3=volume,
        flow_m3_h=flow,
        flow_words=flow_words,
        k=factor,
        temperature_c=air_c,
        steps=steps,
        whole=whole,
        notes=NOTES,
    )


def _flow(volume: float, changes: str | None, hood: str | None) -> tuple[float, str]:
    parts, total = [], 0.0
    if changes is not None:
        per_h = changes_per_h(changes, "changes")
        total += per_h * volume
        parts.append(f"{per_h:g} changes an hour × {volume:g} m³ = {per_h * volume:g} m³/h")
    if hood is not None:
        drawn = flow_m3_h(hood, "hood")
        total += drawn
        parts.append(f"the hood draws {drawn:g} m³/h (reckoned as if it caught nothing at the source)")
    return total, " + ".join(parts) or "no fresh air: nothing was said of air changes or a hood"


def _minutes(written: str | Sequence[str], recipe: Recipe) -> dict[int, float]:
    """Minutes by step number; 0 stands for every step."""
    found: dict[int, float] = {}
    for one in [written] if isinstance(written, str) else written:
        name, equals, amount = one.rpartition("=")
        if equals and not (name.strip().isdigit() and 1 <= int(name) <= len(recipe.steps)):
            raise NotFound(f"There is no step '{name.strip()}'.", f"The steps go from 1 to {len(recipe.steps)}.")
        found[int(name) if equals else 0] = _minutes_of(amount)
    return found


def _minutes_of(written: str) -> float:
    from patina.units import duration_h, split_quantity

    figure, unit = split_quantity(written, "minutes")
    value = figure if not unit else duration_h(written, "minutes") * 60
    if not 0.0 < value <= 1440.0:
        raise BadQuantity(f"'{written}' cannot be.", "Give minutes above 0, at most a day.", field="minutes")
    return value


def _fractions(written: Sequence[str]) -> dict[str, float]:
    """Share thought to be released, for every gas that is known; a gas that is named goes before the rest."""
    from patina.safety.air import gas, gases
    from patina.units import share

    usual, named = 1.0, {}
    for one in written:
        name, _, amount = one.rpartition("=")
        if name.strip():
            named[gas(name.strip()).name] = share(amount, "fraction")
        else:
            usual = share(amount, "fraction")
    return dict.fromkeys(gases(), usual) | named


@dataclass(frozen=True)
class _Job:
    recipe: Recipe
    known: Catalogue
    mixed: MixSheet | None
    room: Room
    minutes: Mapping[int, float]
    fractions: Mapping[str, float]

    def step(self, number: int, step: Step) -> AirStep | None:
        """One step in this room; None for a step that puts nothing on and burns nothing."""
        if step.solution is None and step.do not in BURNING:
            return None
        minutes = self.minutes.get(number, self.minutes.get(0, USUAL_MINUTES))
        volume, words = self._volume(step) if step.solution is not None else (0.0, "as it comes from the tin")
        lines = self._lines(number, step, volume or 0.0, minutes) if volume is not None else ()
        return AirStep(number, step.do, step.solution, volume if step.solution else None, minutes, words, lines)

    def _volume(self, step: Step) -> tuple[float | None, str]:
        area = None if self.mixed is None else self.mixed.area_m2
        if step.coverage_ml_per_m2 is not None and area is not None and self.mixed is not None:
            from patina.chemistry.solution import Application, volume_ml

            each = Application(step.coverage_ml_per_m2, step.passes, step.transfer)
            return volume_ml([each], area, self.mixed.texture, 0.0, 0.0)
        pot = next((s for s in self.mixed.solutions if s.name == step.solution), None) if self.mixed else None
        if pot is None:
            return None, f"how much of '{step.solution}' is used is not said: give its volume"
        return pot.volume_ml, f"the whole pot: {pot.volume_ml:g} mL"

    def _lines(self, number: int, step: Step, volume: float, minutes: float) -> tuple[AirLine, ...]:
        from patina.safety.air_sheet import air_of

        alone = tuple(s if n == number else replace(s, solution=None) for n, s in enumerate(self.recipe.steps, 1))
        pots = {s.name: volume if s.name == step.solution else 0.0 for s in self.recipe.solutions}
        room = replace(self.room, hours=minutes / 60)
        lines = air_of(replace(self.recipe, steps=alone), self.known, pots, room, fractions=self.fractions)
        if step.solution is None:
            return tuple(line for line in lines if f"(step {number}," in line.from_)
        return tuple(line for line in lines if line.from_.endswith(f" in {step.solution}"))
