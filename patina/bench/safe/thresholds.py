"""Where a solution's classes change as one ingredient gets stronger: "above 5 % this becomes corrosive".

The turns are worked out in % w/w by the mixture rules and put back into the unit the strength is written in. Where
density or pH hang on it, they are those the rules estimate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from patina.bench.pots.mixing import find_recipe
from patina.errors import BadQuantity, NotFound, PatinaError
from patina.safety.values import CAUTION, SolutionSafety

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patina.bench.studio import Studio
    from patina.chemistry.strength import Strength
    from patina.chemistry.substances import Catalogue, Substance
    from patina.recipe import Ingredient, Recipe, Solution
    from patina.safety.mixture import Component
    from patina.safety.what_if import Turn

# Strengths are looked for up to here; above, nothing dissolves or the basis ends.
TOPS = {"g_per_l": 3000.0, "pct_wv": 300.0, "pct_ww": 100.0, "pct_vv": 100.0, "mol_per_l": 60.0, "parts_in": 1.0}
SOLVENT_STEPS = 60
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
    passed: whether the strength as it stands is at it or above. words: a sentence. doubtful: classes that it had below
    and of which nothing can be told from here on."""

    pct_ww: float
    at: str | None
    gains: tuple[str, ...]
    loses: tuple[str, ...]
    passed: bool
    words: str
    doubtful: tuple[str, ...] = ()


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
                    "doubtful": list(t.doubtful),
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

    def certain(value: float) -> list[Component]:
        """The pot at a figure, the error of its density left out, as it is where the solvent is water."""
        return [replace(c, error_pct_ww=0.0) for c in compose(at(value), known).components]

    now = compose(at(strength.value), known)
    pct = next((c.pct_ww for c in now.components if c.substance.key == substance.key), 0.0)
    rows = []
    in_water = now.solvent is None or "water" in now.solvent.tags
    top = TOPS.get(strength.basis, strength.value * 2)
    found = (
        turns(now.components, substance.key, regime=regime)
        if in_water
        else _turns_in_solvent(certain, substance.key, top, regime)
    )
    for turn in found:
        value = _value_for(pct_at, turn.pct, TOPS.get(strength.basis))
        written = None if value is None else WRITTEN.get(strength.basis, "").format(value) or None
        above = value * (1 + 1e-4) if value is not None and not in_water else None
        parts = certain(above) if above is not None else _replaced(now.components, substance.key, turn.pct)
        rows.append(_row(turn, written, pct, _open_codes(parts, regime)))
    safety = solution_safety(at(strength.value), now, None, regime)
    return ThresholdSheet(recipe, pot.name, substance.name, strength.as_written, pct, tuple(rows), safety)


def _turns_in_solvent(made: Callable[[float], Sequence[Component]], key: str, top: float, regime: str) -> list[Turn]:
    """The turns where an ingredient takes the place of a solvent that has classes of its own: the whole pot is made
    anew at each strength. made: components at a figure of the strength's own unit."""
    from patina.safety.mixture import classify
    from patina.safety.what_if import Turn

    def at(value: float) -> tuple[frozenset[str], float]:
        parts = made(value)
        names = frozenset(f"{f.code} ({f.h})" for f in classify(parts, regime=regime).found)
        return names, next((c.pct_ww for c in parts if c.substance.key == key), 0.0)

    try:
        at(top)
    except PatinaError:
        top = _reach(lambda value: at(value)[1], top)
    found = []
    before = at(top * 1e-9)[0]
    low = 0.0
    for n in range(1, SOLVENT_STEPS + 1):
        high = top * (n / SOLVENT_STEPS) ** 2
        while at(high)[0] != before:
            edge = high
            for _ in range(24):
                middle = (low + edge) / 2
                low, edge = (middle, edge) if at(middle)[0] == before else (low, middle)
            there, pct = at(edge)
            found.append(Turn(float(f"{pct:.4g}"), tuple(sorted(there - before)), tuple(sorted(before - there))))
            before, low = there, edge
        low = high
    return found


def _replaced(components: Sequence[Component], key: str, pct: float) -> list[Component]:
    """The same with one ingredient at another share, just above it."""
    others = [replace(c, error_pct_ww=0.0) for c in components]
    return [replace(c, pct_ww=pct * (1 + 1e-6)) if c.substance.key == key else c for c in others]


def _open_codes(components: Sequence[Component], regime: str) -> set[str]:
    """Classes that cannot be told of a mixture."""
    from patina.safety.mixture import classify

    return {o.code for o in classify(components, regime=regime).open}


def _row(turn: Turn, written: str | None, pct_now: float, undecided: set[str]) -> TurnRow:
    """A class that is lost because it cannot be told any more is not lost; it is said apart."""
    doubtful = tuple(c for c in turn.loses if c.split(" (")[0] in undecided)
    loses = tuple(c for c in turn.loses if c not in doubtful)
    where = f"From {turn.pct:.4g} % w/w" + (f" (about {written})" if written and "w/w" not in written else "") + " on: "
    parts = []
    if turn.gains:
        parts.append(f"becomes {', '.join(turn.gains)}" + (f", in place of {', '.join(loses)}" if loses else ""))
    elif loses:
        parts.append(f"no longer {', '.join(loses)}")
    if doubtful:
        parts.append(f"it can no longer be told whether it is {', '.join(doubtful)}")
    passed = pct_now >= turn.pct * (1 - 1e-9)
    return TurnRow(turn.pct, written, turn.gains, loses, passed, where + "; ".join(parts) + ".", doubtful)


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
