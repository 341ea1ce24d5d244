"""Where a solution's classes change as one ingredient gets stronger: "above 5 % this becomes corrosive".

The turns are worked out in % w/w by the mixture rules and put back into the unit the strength is written in. Where
density or pH hang on it, they are those the rules estimate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from patina.bench.mixing import find_recipe
from patina.errors import BadQuantity, NotFound, PatinaError
from patina.safety.values import CAUTION, SolutionSafety

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.strength import Strength
    from patina.chemistry.substances import Catalogue, Substance
    from patina.recipe import Ingredient, Recipe, Solution

# Strengths are looked for up to here; above, nothing dissolves or the basis ends.
TOPS = {"g_per_l": 3000.0, "pct_wv": 300.0, "pct_ww": 100.0, "pct_vv": 100.0, "mol_per_l": 60.0, "parts_in": 1.0}
WRITTEN = {
    "g_per_l": "{:.4g} g/L",
    "pct_wv": "{:.4g} % w/v",
    "pct_ww": "{:.4g} % w/w",
    "pct_vv": "{:.4g} % v/v",
    "mol_per_l": "{:.4g} mol/L",
}


@dataclass(frozen=True, slots=True)
class TurnRow:
    """From pct_ww on the classes are others. at: in the unit of the strength, None where that unit does not reach it.
    passed: whether the strength as it stands is at it or above. words: a sentence."""

    pct_ww: float
    at: str | None
    gains: tuple[str, ...]
    loses: tuple[str, ...]
    passed: bool
    words: str


@dataclass(frozen=True, slots=True)
class ThresholdSheet:
    """One ingredient of one solution. strength, pct_ww: as it stands; safety: of the pot at that strength."""

    recipe: str
    solution: str
    substance: str
    strength: str
    pct_ww: float
    turns: tuple[TurnRow, ...]
    safety: SolutionSafety
    caution: str = CAUTION

    @property
    def next(self) -> TurnRow | None:
        """The first turn above the strength as it stands."""
        return next((t for t in self.turns if not t.passed), None)

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina thresholds --json`` prints."""
        return {
            "recipe": self.recipe,
            "solution": self.solution,
            "substance": self.substance,
            "strength": self.strength,
            "pct_ww": self.pct_ww,
            "turns": [
                {
                    "pct_ww": t.pct_ww,
                    "at": t.at,
                    "gains": list(t.gains),
                    "loses": list(t.loses),
                    "passed": t.passed,
                    "words": t.words,
                }
                for t in self.turns
            ],
            "safety": self.safety.as_json(),
            "caution": self.caution,
        }


def thresholds(
    studio: Studio | None,
    recipe: str,
    solution: str,
    substance: str,
    strength: str | None = None,
    *,
    regime: str = "CLP",
    revision: int | None = None,
) -> ThresholdSheet:
    """Where the classes of a solution change with one of its ingredients.

    strength: as typed, in place of the recipe's own; None takes the recipe's. Raises NotFound for a solution or an
    ingredient the recipe does not have, and what reading a strength raises (BadQuantity, AmbiguousQuantity).
    """
    found, known = find_recipe(studio, recipe, revision)
    pot = found.recipe.solution(solution)
    wanted = known.find(substance)
    part = next((i for i in pot.ingredients if i.substance == wanted.key), None)
    if part is None:
        names = ", ".join(known.get(i.substance).name for i in pot.ingredients) or "none"
        raise NotFound(f"'{solution}' has no {wanted.name} in it.", f"Its ingredients: {names}.", field="substance")
    chosen = part.strength if strength is None else _typed(strength)
    return _sheet(found.recipe.name, pot, part, chosen, wanted, known, regime)


@dataclass(frozen=True, slots=True)
class PotOutlook:
    """A pot of a recipe that is being written. codes: H and EUH statements as mixed. undecided: classes that are.
    next: where each ingredient that was changed turns next, in words."""

    name: str
    signal_word: str | None
    codes: tuple[str, ...]
    undecided: tuple[str, ...]
    next: tuple[str, ...]


def draft_outlook(studio: Studio, recipe: Recipe, before: Recipe | None = None) -> tuple[PotOutlook, ...]:
    """What the pots of a recipe become as it stands in the text. before: the recipe as saved; only ingredients that
    differ from it are asked where they turn next, all where there is none. Raises what the strengths raise."""
    from patina.safety.composition import compose
    from patina.safety.notes import solution_safety

    known = studio.catalogue()
    old = {(s.name, i.substance): i.strength for s in (before.solutions if before else ()) for i in s.ingredients}
    found = []
    for pot in recipe.solutions:
        safety = solution_safety(pot, compose(pot, known))
        turning = [p for p in pot.ingredients if old.get((pot.name, p.substance)) != p.strength]
        coming = []
        for part in turning:
            substance = known.get(part.substance)
            sheet = _sheet(recipe.name, pot, part, part.strength, substance, known, "CLP")
            if sheet.next is not None:
                coming.append(f"{substance.name}: {sheet.next.words}")
        found.append(
            PotOutlook(
                pot.name,
                safety.signal_word,
                tuple(dict.fromkeys([*(c.h for c in safety.classes), *safety.euh])),
                tuple(dict.fromkeys(u.class_code for u in safety.undecided)),
                tuple(coming),
            )
        )
    return tuple(found)


def _typed(strength: str) -> Strength:
    from patina.chemistry.strength import parse_strength

    return parse_strength(strength, "strength")


def _sheet(
    recipe: str,
    pot: Solution,
    part: Ingredient,
    strength: Strength,
    substance: Substance,
    known: Catalogue,
    regime: str,
) -> ThresholdSheet:
    from patina.safety.composition import compose
    from patina.safety.notes import solution_safety
    from patina.safety.what_if import turns

    def at(value: float) -> Solution:
        other = replace(part, strength=replace(strength, value=value, as_written=f"{value:g}"))
        return replace(pot, ingredients=tuple(other if i is part else i for i in pot.ingredients))

    def pct_at(value: float) -> float:
        made = compose(at(value), known)
        return next((c.pct_ww for c in made.components if c.substance.key == substance.key), 0.0)

    now = compose(at(strength.value), known)
    pct = next((c.pct_ww for c in now.components if c.substance.key == substance.key), 0.0)
    rows = []
    for turn in turns(now.components, substance.key, regime=regime):
        value = _value_for(pct_at, turn.pct, TOPS.get(strength.basis))
        written = None if value is None else WRITTEN.get(strength.basis, "").format(value) or None
        passed = pct >= turn.pct * (1 - 1e-9)
        rows.append(
            TurnRow(
                turn.pct, written, turn.gains, turn.loses, passed, _words(turn.pct, written, turn.gains, turn.loses)
            )
        )
    safety = solution_safety(at(strength.value), now, None, regime)
    return ThresholdSheet(recipe, pot.name, substance.name, strength.as_written, pct, tuple(rows), safety)


def _words(pct: float, written: str | None, gains: tuple[str, ...], loses: tuple[str, ...]) -> str:
    where = f"From {pct:.4g} % w/w" + (f" (about {written})" if written and "w/w" not in written else "") + " on: "
    parts = []
    if gains:
        parts.append(f"becomes {', '.join(gains)}")
    if loses:
        parts.append(f"no longer {', '.join(loses)}" + (" (a graver class covers it)" if gains else ""))
    return where + "; ".join(parts) + "."


def _value_for(pct_at: Callable[[float], float], wanted_pct: float, top: float | None) -> float | None:
    """The figure in the strength's own unit that makes so many % w/w, by halving; None beyond its reach."""
    if top is None:
        return None
    low, high = 0.0, top
    try:
        if not 0 < wanted_pct <= pct_at(high):
            return None
    except PatinaError:
        high = _reach(pct_at, top)
        if wanted_pct > pct_at(high):
            return None
    for _ in range(40):
        middle = (low + high) / 2
        if pct_at(middle) < wanted_pct:
            low = middle
        else:
            high = middle
        if high - low < 1e-4 * high:
            break
    return high


def _reach(pct_at: Callable[[float], float], top: float) -> float:
    """The highest figure that can be reckoned with at all."""
    low, high = 0.0, top
    for _ in range(30):
        middle = (low + high) / 2
        try:
            pct_at(middle)
        except PatinaError:
            high = middle
        else:
            low = middle
    if low == 0.0:
        raise BadQuantity("No strength of this solution can be reckoned with.", "Check its other ingredients.")
    return low
