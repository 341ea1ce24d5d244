"""Dangers of one recipe: in its pots, between them, on the metal, at the torch and in the place.

Source: the rules of ``data/reactions.csv``
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from patina.chemistry.substances import Substance
from patina.recipe import Recipe
from patina.safety.reactions import (
    LEVELS,
    Group,
    Member,
    dangers_between,
    dangers_with,
    dangers_within,
    group,
    member,
)
from patina.safety.values import Danger
from patina.safety.work import Use, burning_steps, follows_unrinsed, uses, uses_of

PLACE = tuple(
    Member(name, name, frozenset({name}))
    for name in ("moist air", "paper and cloth", "base metal tools", "water poured in")
)
DAMP = Member("damp air later", "damp air, later", frozenset({"damp air later"}))
BRONZE = Member("bronze", "the bronze itself", frozenset({"copper metal"}))
TORCH_GAS = Member("acetylene", "acetylene, if the torch burns it", frozenset({"acetylene"}))


def groups_of(contents: Mapping[str, tuple[tuple[Substance, float], ...]]) -> dict[str, Group]:
    """One group per solution. contents: substance and % w/w by solution, the solvent with them."""
    return {name: group(name, (member(s, pct) for s, pct in parts)) for name, parts in contents.items()}


def recipe_dangers(recipe: Recipe, contents: Mapping[str, tuple[tuple[Substance, float], ...]]) -> tuple[Danger, ...]:
    """All dangers of a recipe, the worst first."""
    groups = groups_of(contents)
    found: list[Danger] = []
    for one in groups.values():
        found += dangers_within(one)
        found += _around(recipe, one)
    found += _between(recipe, list(groups.values()))
    found += _burning(recipe, groups)
    return _worst_first(found)


def _between(recipe: Recipe, groups: list[Group]) -> list[Danger]:
    """Between two pots; where one follows the other on the metal without a rinse, that is said."""
    found: list[Danger] = []
    for i, one in enumerate(groups):
        for other in groups[i + 1 :]:
            pots = dangers_between((one, other), "pots")
            steps = follows_unrinsed(recipe, one.name, other.name)
            if steps is None:
                found += pots
                continue
            note = f"on the metal, no rinse between step {steps[0]} and step {steps[1]}"
            metal = dangers_between((one, other), "metal")
            on_metal = {(d.rule, frozenset(d.between)) for d in metal}
            in_pots = {(d.rule, frozenset(d.between)) for d in pots}
            for d in pots:
                both = (d.rule, frozenset(d.between)) in on_metal
                found.append(replace(d, where=f"{d.where}, and {note}") if both else d)
            found += [replace(d, where=note) for d in metal if (d.rule, frozenset(d.between)) not in in_pots]
    return found


def _around(recipe: Recipe, one: Group) -> list[Danger]:
    """With air, cloth and tools; with the bronze, the flame and the hot metal where steps apply it."""
    steps = uses_of(recipe, one.name)
    found = list(dangers_with(one, PLACE, "place"))
    if steps:
        found += dangers_with(one, (BRONZE, DAMP), "heat", f"on the bronze: {_numbers(steps)}")
        found += dangers_with(one, (DAMP,), "place", "on the finished piece")
    torch = [u for u in steps if u.step.method == "torch"]
    if torch:
        found += dangers_with(one, (TORCH_GAS,), "heat", f"at the torch: {_numbers(torch)}")
    for use in steps:
        if use.hot and use.step.do not in ("wax", "lacquer"):
            found += dangers_with(one, (_heat(use),), "heat", use.words)
    return found


def _heat(use: Use) -> Member:
    name = "torch flame and hot cast" if use.step.method == "torch" else "hot cast"
    return Member("hot metal", name, frozenset({"hot metal", "warm metal"}))


def _numbers(steps: tuple[Use, ...] | list[Use]) -> str:
    return ", ".join(f"step {u.number}" for u in steps)


def _burning(recipe: Recipe, groups: Mapping[str, Group]) -> list[Danger]:
    """Wax and lacquer steps: with the heat of the cast, and with nitrate left on the metal."""
    found: list[Danger] = []
    for use in burning_steps(recipe):
        fuel = _fuel(use, groups)
        if use.hot:
            found += dangers_with(fuel, (_heat(use),), "heat", use.words)
        for earlier in _earlier(recipe, use, groups):
            rinsed = any(u.step.do in ("rinse", "neutralise") for u in uses(recipe)[: use.number - 1])
            for danger in dangers_between((earlier, fuel), "metal"):
                cooled = rinsed and not use.hot
                where = f"on the metal, before step {use.number}" + (", rinsed and cooled between" if cooled else "")
                level = "serious" if cooled and danger.level == "critical" else danger.level
                found.append(replace(danger, where=where, level=level))
    return found


def _fuel(use: Use, groups: Mapping[str, Group]) -> Group:
    name = f"{use.step.do}, step {use.number}"
    tags = {"wax": {"wax", "combustible"}, "lacquer": {"lacquer", "flammable", "solvent"}}[use.step.do]
    made = Member(f"{use.step.do} as used", name, frozenset(tags))
    pot = groups.get(use.step.solution or "")
    own = pot.members if pot is not None else ()
    burning = tuple(m for m in own if m.tags & {"wax", "lacquer", "flammable"} and "acid" not in m.tags)
    return Group(name, burning or (made,))


def _earlier(recipe: Recipe, use: Use, groups: Mapping[str, Group]) -> list[Group]:
    names = dict.fromkeys(u.step.solution or "" for u in uses(recipe)[: use.number - 1])
    return [groups[name] for name in names if name in groups and name != use.step.solution]


def _worst_first(found: list[Danger]) -> tuple[Danger, ...]:
    kept: dict[tuple[str, frozenset[str]], Danger] = {}
    for d in found:
        key = (d.rule, frozenset(d.between))
        before = kept.get(key)
        if before is None:
            kept[key] = d
        elif d.where not in before.where:
            worse = min(before.level, d.level, key=LEVELS.index)
            kept[key] = replace(before, where=f"{before.where}; {d.where}", level=worse)
    return tuple(sorted(kept.values(), key=lambda d: (LEVELS.index(d.level), d.rule, d.between)))
