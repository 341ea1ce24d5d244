"""How the steps of a recipe treat a solution: hot or cold, sprayed or brushed, what comes after what.

Source: [PRACTICE] for the temperatures, ``data/air_constants.csv``
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from patina.recipe import Recipe, Step
from patina.safety.air import constant

HOT_METHODS = ("torch", "oven")
MISTING = ("spray", "torch", "stipple")
BETWEEN = ("rinse", "neutralise", "scrub")


@dataclass(frozen=True, slots=True)
class Use:
    """One step with its number (from 1) and whether the cast was heated before it and has not been let cool."""

    number: int
    step: Step
    cast_hot: bool

    @property
    def hot(self) -> bool:
        """Done with flame or oven, or on a surface that is hot."""
        highest = highest_c(self.step)
        if self.step.method in HOT_METHODS or self.step.do == "heat":
            return True
        return self.cast_hot if highest is None else highest >= constant("hot_from_c")

    @property
    def reach_c(self) -> float:
        """How hot a thin layer may get, in °C: under a flame far hotter than the metal below."""
        highest = highest_c(self.step)
        if self.step.method in ("torch",) or self.step.do == "heat":
            return max(constant("torch_reach_c"), highest or 0.0)
        if highest is not None:
            return highest
        return constant("torch_reach_c") if self.hot else constant("cool_below_c")

    @property
    def words(self) -> str:
        """ "step 3, torch, surface 80 to 95 °C"."""
        parts = [f"step {self.number}", self.step.method or self.step.do]
        if self.step.surface_temperature_c is not None:
            low, high = self.step.surface_temperature_c
            parts.append(f"surface {low:g} to {high:g} °C")
        return ", ".join(parts)


def highest_c(step: Step) -> float | None:
    """The highest surface temperature a step says, None where it says none."""
    return step.surface_temperature_c[1] if step.surface_temperature_c is not None else None


def uses(recipe: Recipe) -> tuple[Use, ...]:
    """All steps with the state of the cast. A rinse, or a step that says a cool surface, cools it."""
    found = []
    hot = False
    for number, step in enumerate(recipe.steps, 1):
        highest = highest_c(step)
        cooled = highest is not None and highest < constant("cool_below_c")
        found.append(Use(number, step, hot and not cooled))
        if step.do == "heat" or step.method in HOT_METHODS or (highest or 0) >= constant("hot_from_c"):
            hot = True
        elif cooled or step.do in ("rinse", "read"):
            hot = False
    return tuple(found)


def uses_of(recipe: Recipe, solution: str) -> tuple[Use, ...]:
    """The steps that put a solution on the metal."""
    return tuple(use for use in uses(recipe) if use.step.solution == solution)


def follows_unrinsed(recipe: Recipe, first: str, second: str) -> tuple[int, int] | None:
    """Step numbers where one of two solutions follows the other with no rinse between; None where none does."""
    last: tuple[int, str] | None = None
    for use in uses(recipe):
        name = use.step.solution
        if use.step.do in BETWEEN and name is None:
            last = None
        elif name in (first, second) and use.step.do not in ("rinse",):
            if last is not None and last[1] != name:
                return last[0], use.number
            last = (use.number, str(name))
    return None


def burning_steps(recipe: Recipe) -> Iterator[Use]:
    """Steps with wax or lacquer."""
    return (use for use in uses(recipe) if use.step.do in ("wax", "lacquer"))
