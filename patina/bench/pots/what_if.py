"""Another strength, texture or number of passes than the recipe's, tried on the bench; bottles and witness."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from patina.chemistry.strength import Strength, show_strength
from patina.chemistry.strength_value import checked
from patina.datafile import number, one_of, read_table, text
from patina.errors import BadQuantity, CannotConvert
from patina.recipe import Recipe

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.substances import Substance
    from patina.colour.values import Caution
    from patina.sheets import BatchSheet

WEAKEST, STRONGEST = 0.01, 5.0


def strength_factor(written: str | None) -> float:
    """ "80 %" as 0.8: every ingredient at 80 % of what the recipe says; nothing written is 1.

    Raises BadQuantity outside 1 % to 500 %, and where no % is written.

    >>> strength_factor("80 %"), strength_factor("1.5 %"), strength_factor(None)
    (0.8, 0.015, 1.0)
    """
    if written is None or not written.strip():
        return 1.0
    from patina.units import split_quantity

    value, word = split_quantity(written, "strength")
    if word.casefold() not in ("%", "percent", "per cent", "pct"):
        raise BadQuantity(
            f"'{written}' does not say what share of the recipe's strength is meant.",
            "Write it in per cent of the recipe: '80 %' is weaker, '120 %' stronger.",
            field="strength",
        )
    factor = value / 100
    if not WEAKEST <= factor <= STRONGEST:
        raise BadQuantity(
            f"{value:g} % of the recipe's strength cannot be tried.", "Give 1 % to 500 %.", field="strength"
        )
    return factor


def at_strength(recipe: Recipe, factor: float) -> Recipe:
    """The recipe with every ingredient of every solution that much stronger (above 1) or weaker.

    Raises BadQuantity where a strength would be more than the whole.
    """
    if factor == 1.0:
        return recipe
    solutions = tuple(
        replace(s, ingredients=tuple(replace(i, strength=_scaled(i.strength, factor)) for i in s.ingredients))
        for s in recipe.solutions
    )
    return replace(recipe, solutions=solutions)


def _scaled(strength: Strength, factor: float) -> Strength:
    bare = checked(replace(strength, value=strength.value * factor), "strength")
    return replace(bare, as_written=f"{show_strength(bare)} ({100 * factor:g} % of {strength.as_written})")


def deviations(recipe: Recipe, *, passes: int | None, texture: float, factor: float) -> tuple[str, ...]:
    """In words, where what is mixed differs from what the recipe says. texture, factor: as mixed."""
    found = []
    if factor != 1.0:
        found.append(f"strength {100 * factor:g} % of the recipe's")
    if not math.isclose(texture, recipe.texture):
        found.append(f"texture {texture:g} instead of {recipe.texture:g}")
    applied = [s for s in recipe.steps if s.do == "apply"]
    if passes is not None and any(s.passes != passes for s in applied):
        said = ", ".join(dict.fromkeys(str(s.passes) for s in applied))
        found.append(f"passes {passes} instead of {said}")
    return tuple(found)


def strength_cautions(factor: float) -> tuple[Caution, ...]:
    """A word where a pot is stronger than the recipe that was looked at for its dangers."""
    from patina.colour.values import Caution

    if factor <= 1.0:
        return ()
    return (
        Caution(
            "stronger",
            f"Every solution is {100 * factor:g} % of the recipe's strength, and more dangerous than the recipe as it "
            "was looked at.",
            None,
            "Read its safety notes again; put it on a tile before a piece.",
        ),
    )


@dataclass(frozen=True, slots=True)
class _Bottle:
    size_ml: float
    fill: float

    @property
    def holds_ml(self) -> float:
        return self.size_ml * self.fill


@cache
def _bottles() -> tuple[_Bottle, ...]:
    rows = read_table("bottle_sizes.csv", {"size_ml": number, "fill_pct": number, "source": text})
    return tuple(sorted((_Bottle(r["size_ml"], r["fill_pct"] / 100) for r in rows), key=lambda b: b.size_ml))


def bottles_for(volume_ml: float) -> tuple[float, ...]:
    """Sizes in mL of the usual bottles that hold a volume with room left at the top; largest first.

    volume_ml: above 0. The smallest one that is enough; above the largest, several.
    Source: [PRACTICE]

    >>> bottles_for(1768), bottles_for(950), bottles_for(40_000)
    ((2000.0,), (2000.0,), (25000.0, 20000.0))
    """
    largest = _bottles()[-1]
    whole = max(0, math.ceil(volume_ml / largest.holds_ml - 1e-9) - 1)
    rest = volume_ml - whole * largest.holds_ml
    last = next((b for b in _bottles() if b.holds_ml >= rest - 1e-9), largest)
    return (*[largest.size_ml] * whole, last.size_ml)


def witness_volume(written: str | None) -> float:
    """Millilitres kept sealed as a witness of each solution; nothing written is none. Raises BadQuantity."""
    if written is None or not written.strip():
        return 0.0
    from patina.units import volume_ml

    found = volume_ml(written, field="witness")
    if found > 5000:
        raise BadQuantity(
            f"A witness of {found:g} mL is no sample.", "100 mL are usual; give at most 5 L.", field="witness"
        )
    return found


@cache
def _not_sealed() -> dict[tuple[str, str], str]:
    columns = {"kind": one_of("rule", "tag"), "key": text, "why": text, "source": text}
    return {(row["kind"], row["key"]): row["why"] for row in read_table("not_sealed.csv", columns)}


def why_open(name: str, substances: Sequence[Substance]) -> str:
    """Why nothing of a solution may be sealed in a bottle, in a few words; empty where it may.

    Source: [PRACTICE]
    """
    from patina.safety.reactions import dangers_within, group_of

    for danger in dangers_within(group_of(name, substances)):
        if danger.discard_within_h is not None:
            return f"it must be gone within {danger.discard_within_h:g} h of mixing"
        if ("rule", danger.rule) in _not_sealed():
            return _not_sealed()["rule", danger.rule]
    tags = {tag for substance in substances for tag in substance.tags}
    return next((why for (kind, tag), why in _not_sealed().items() if kind == "tag" and tag in tags), "")


def strength_of(studio: Studio, batch: BatchSheet) -> float:
    """Of a pot on record: how strong it was asked, over its recipe, from what was asked of each lot.

    1 where its ingredients do not agree within 1 %, or nothing was asked. Raises NotFound.
    """
    from patina.bench.recipes.finishes import recipe_sheet
    from patina.chemistry.whole_solution import weigh_all

    known = studio.catalogue()
    solution = recipe_sheet(studio, batch.recipe_id, batch.revision).recipe.solution(batch.solution)
    asked = [(known.get(i.substance), i.strength) for i in solution.ingredients]
    shares: dict[str, float] = {}
    for name, amount, _, unit, lot in batch.weighed:
        form, assay = known.find(name), _assay(studio, lot)
        for at, (substance, _) in enumerate(asked):
            if substance.key != form.key and (substance.base is None or substance.base != form.base):
                continue
            have = {substance.key: (form, assay)}
            try:
                solvent = known.get(solution.solvent)
                whole = weigh_all(asked, batch.volume_ml, solution.volume_is, have, solvent=solvent)[at]
            except CannotConvert:
                continue
            if whole.unit == unit:
                shares[substance.key] = shares.get(substance.key, 0.0) + amount / whole.amount
    found = list(shares.values())
    if not found or min(found) <= 0 or max(found) / min(found) > 1.01:
        return 1.0
    factor = math.fsum(found) / len(found)
    return factor if abs(factor - 1) > 0.005 and WEAKEST <= factor <= STRONGEST else 1.0


def _assay(studio: Studio, lot: str | None) -> float | None:
    if lot is None:
        return None
    from patina.bench.shelves.shelf import lot_row

    return lot_row(studio, lot).assay_pct
