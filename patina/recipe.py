"""The frozen values of a finish: recipe, its solutions and steps, and its revisions.

Nothing here computes; `chemistry` and `safety` do. Amounts are floats in the unit of their suffix.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from patina.chemistry.strength import Strength
from patina.errors import NotFound

FORMAT_VERSION = 1

DOINGS = (
    "prepare",
    "heat",
    "apply",
    "dwell",
    "rinse",
    "neutralise",
    "dry",
    "scrub",
    "wax",
    "lacquer",
    "buff",
    "read",
)
METHODS = ("torch", "cold brush", "spray", "stipple", "immersion", "fume", "oven")
VOLUME_IS = ("made up to", "added to")


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One substance of a solution. substance: catalogue key. strength: as written and parsed."""

    substance: str
    strength: Strength


@dataclass(frozen=True, slots=True)
class Solution:
    """What stands in one pot.

    volume_is: "made up to" (the solution is brought to the volume) or "added to" (the substance
    goes into the volume of solvent). use_within_h: hours after mixing, None where it keeps or
    nobody has said.
    """

    name: str
    solvent: str
    ingredients: tuple[Ingredient, ...]
    volume_is: str = "made up to"
    use_within_h: float | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the work.

    passes: whole number, at least 1. coverage_ml_per_m2: delivered to the metal per pass, None
    where nobody has said. transfer: share (0-1] of what leaves the pot that reaches the metal.
    surface_temperature_c: lowest and highest, None where it does not matter or is not known.
    """

    do: str
    note: str = ""
    solution: str | None = None
    method: str | None = None
    tool: str = ""
    passes: int = 1
    coverage_ml_per_m2: float | None = None
    transfer: float = 1.0
    surface_temperature_c: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Recipe:
    """A finish and how it is got.

    texture: developed area over plain area, at least 1. reserve: share kept back, 0-1.
    dead_volume_ml: what brush, pot and sprayer swallow, per solution.
    """

    name: str
    finish: str
    alloys: tuple[str, ...]
    provenance: str
    solutions: tuple[Solution, ...] = ()
    steps: tuple[Step, ...] = ()
    texture: float = 1.0
    reserve: float = 0.25
    dead_volume_ml: float = 0.0

    def solution(self, name: str) -> Solution:
        """The solution of that name. Raises NotFound."""
        for solution in self.solutions:
            if solution.name == name:
                return solution
        known = ", ".join(s.name for s in self.solutions) or "none"
        raise NotFound(f"'{self.name}' has no solution '{name}'.", f"Its solutions: {known}.")

    def steps_with(self, name: str) -> tuple[Step, ...]:
        """The steps that put the named solution on the metal, in order."""
        return tuple(step for step in self.steps if step.solution == name)

    @property
    def methods(self) -> tuple[str, ...]:
        """The methods its steps use, each once, in order of use."""
        return tuple(dict.fromkeys(step.method for step in self.steps if step.method))


@dataclass(frozen=True, slots=True)
class Revision:
    """A recipe as it stood from one day on; never altered, only followed by the next.

    number: 1 for the first. reason: why it was made. by: who made it. made_at: UTC.
    """

    recipe: Recipe
    number: int
    reason: str
    by: str
    made_at: datetime
    uid: str = field(default="")
