"""Laying two texts of a recipe together that began as the same one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from patina.bench.recipes.people_words import recipe_fields
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.sheets.people import FieldDifference

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue

T = TypeVar("T")
ABSENT = "not there"


class Clash(Exception):
    """Both changed the same thing, each to something else."""


def differences(before: Recipe, mine: Recipe, theirs: Recipe, known: Catalogue) -> tuple[FieldDifference, ...]:
    """Every field in which the three are not alike, in the order of the recipe."""
    b, m, t = (recipe_fields(recipe, known) for recipe in (before, mine, theirs))
    found = []
    for field in dict.fromkeys([*b, *t, *m]):
        was, my, their = b.get(field, ABSENT), m.get(field, ABSENT), t.get(field, ABSENT)
        if was == my == their:
            continue
        who = "both" if my != was and their != was else "mine" if my != was else "theirs"
        found.append(FieldDifference(field, was, my, their, who, who == "both" and my != their))
    if _clash(before.steps, mine.steps, theirs.steps):
        was, my, their = (f"{len(one.steps)} steps" for one in (before, mine, theirs))
        found.append(FieldDifference("steps", was, my, their, "both", True))
    return tuple(found)


def _clash(before: Sequence[Step], mine: Sequence[Step], theirs: Sequence[Step]) -> bool:
    """Whether both changed the steps and one of them added or took some out, so that they cannot be told apart."""
    same = len(before) == len(mine) == len(theirs)
    return not same and mine not in (before, theirs) and theirs != before


def merged(before: Recipe, mine: Recipe, theirs: Recipe) -> Recipe | None:
    """Both changes in one recipe; None where both changed the same thing to different things."""
    try:
        return Recipe(
            name=_one(before.name, mine.name, theirs.name),
            finish=_one(before.finish, mine.finish, theirs.finish),
            alloys=_one(before.alloys, mine.alloys, theirs.alloys),
            provenance=_one(before.provenance, mine.provenance, theirs.provenance),
            solutions=_by_key(before.solutions, mine.solutions, theirs.solutions, lambda s: s.name, _solution),
            steps=_steps(before.steps, mine.steps, theirs.steps),
            texture=_one(before.texture, mine.texture, theirs.texture),
            reserve=_one(before.reserve, mine.reserve, theirs.reserve),
            dead_volume_ml=_one(before.dead_volume_ml, mine.dead_volume_ml, theirs.dead_volume_ml),
        )
    except Clash:
        return None


def _one(before: T, mine: T, theirs: T) -> T:
    if mine in (before, theirs):
        return theirs
    if theirs == before:
        return mine
    raise Clash


def _by_key(
    before: Sequence[T], mine: Sequence[T], theirs: Sequence[T], key: Callable[[T], Any], both: Callable[[T, T, T], T]
) -> tuple[T, ...]:
    """Things with names: each is laid together by itself; theirs come first, what I added after them."""
    b, m, t = ({key(one): one for one in many} for many in (before, mine, theirs))
    if (len(b), len(m), len(t)) != (len(before), len(mine), len(theirs)):
        return _one(tuple(before), tuple(mine), tuple(theirs))  # names that stand twice: nothing can be told apart
    found = []
    for name in dict.fromkeys([*t, *m]):
        was, my, their = b.get(name), m.get(name), t.get(name)
        if was is not None and my is not None and their is not None:
            found.append(both(was, my, their))
        elif (left := _one(was, my, their)) is not None:
            found.append(left)
    return tuple(found)


def _solution(before: Solution, mine: Solution, theirs: Solution) -> Solution:
    return Solution(
        name=theirs.name,
        solvent=_one(before.solvent, mine.solvent, theirs.solvent),
        ingredients=_by_key(
            before.ingredients, mine.ingredients, theirs.ingredients, lambda i: i.substance, _ingredient
        ),
        volume_is=_one(before.volume_is, mine.volume_is, theirs.volume_is),
        use_within_h=_one(before.use_within_h, mine.use_within_h, theirs.use_within_h),
    )


def _ingredient(before: Ingredient, mine: Ingredient, theirs: Ingredient) -> Ingredient:
    return Ingredient(theirs.substance, _one(before.strength, mine.strength, theirs.strength))


def _steps(before: Sequence[Step], mine: Sequence[Step], theirs: Sequence[Step]) -> tuple[Step, ...]:
    """Steps have no names: they are laid together one by one only where none was added or taken out."""
    if len(before) == len(mine) == len(theirs):
        return tuple(_one(b, m, t) for b, m, t in zip(before, mine, theirs, strict=True))
    return _one(tuple(before), tuple(mine), tuple(theirs))
