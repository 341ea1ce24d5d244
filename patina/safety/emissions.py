"""What each step may give off, with every body's limit.

Source: the rows of ``substance_gases.csv``, ``gases.csv`` and ``exposure_limits.csv``
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

from patina.chemistry.substances import EmittedGas, Substance
from patina.datafile import Parser, read_table, text
from patina.recipe import Recipe
from patina.safety.air import gas, gases, limits_of
from patina.safety.values import Emission
from patina.safety.work import MISTING, Use, burning_steps, uses_of

ACIDIC = frozenset({"acid", "strong acid", "acid salt"})
ALKALINE = frozenset({"base", "strong base", "sulphide"})
UNKNOWN_GAS = "No limit is on file for it: see the safety data sheet."


@cache
def _mists() -> dict[str, str]:
    columns: dict[str, Parser] = {"tag": text, "gas": text, "source": text}
    return {row["tag"]: row["gas"] for row in read_table("mists.csv", columns)}


def emissions(recipe: Recipe, contents: Mapping[str, Sequence[Substance]]) -> tuple[Emission, ...]:
    """Gases, vapours, mists and fumes of a recipe. contents: substances of each solution, solvent included."""
    everything = [s for substances in contents.values() for s in substances]
    tags = frozenset(tag for s in everything for tag in s.tags)
    found: dict[tuple[str, str], Emission] = {}
    for solution, substances in contents.items():
        steps = uses_of(recipe, solution)
        for substance in substances:
            for given in _of(substance):
                when = _when(given, substance, steps, tags)
                if when:
                    source = f"{substance.name} in {solution}"
                    key = (given.gas, source)
                    if key in found:
                        when = f"{found[key].when}; {when}"
                    found[key] = _emission(given.gas, source, when, given.source)
    for use in burning_steps(recipe):
        if use.step.solution in contents:
            continue
        for emission in _burning(use):
            found.setdefault((emission.gas, emission.from_), emission)
    return tuple(found.values())


def _of(substance: Substance) -> list[EmittedGas]:
    """The gases the catalogue names, and the mist of what is in the substance where it names none."""
    given = list(substance.gases)
    named = {g.gas for g in given}
    for tag in sorted(substance.tags):
        mist = _mists().get(tag)
        if mist is not None and mist not in named:
            given.append(EmittedGas(mist, "spray", "sprayed or spattered solution", "PRACTICE"))
    return given


def _emission(name: str, from_: str, when: str, source: str) -> Emission:
    if name in gases():
        return Emission(name, from_, when, limits_of(name), gas(name).note, source, gas(name).formula)
    return Emission(name, from_, when, (), UNKNOWN_GAS, source)


def _when(given: EmittedGas, substance: Substance, steps: Sequence[Use], tags: frozenset[str]) -> str:
    """When it is given off, in words; empty where this recipe gives no occasion."""
    applied = "; ".join(use.words for use in steps)
    unsaid = "" if steps else " (no step says how it is applied)"
    if given.trigger == "standing":
        return f"from the open pot and every coat: {given.when}"
    if given.trigger == "acid":
        meets = bool(tags & ACIDIC)
        if "sulphide" in substance.tags:
            near = ", and this recipe holds some" if meets else ""
            return f"with any acid or acid salt{near}: {given.when}"
        return f"with the acids of this recipe: {given.when}" if meets else ""
    if given.trigger == "base":
        return f"with the alkalis of this recipe: {given.when}" if tags & ALKALINE else ""
    if given.trigger == "hydrochloric acid":
        return given.when if "hydrochloric acid" in tags else ""
    if given.trigger == "metal":
        return f"on the metal, {applied or 'when applied'}: {given.when}"
    if given.trigger == "burning":
        flames = [use for use in steps if use.step.method == "torch"]
        return f"{'; '.join(u.words for u in flames)}: {given.when}" if flames or unsaid else ""
    if given.trigger == "spray":
        misting = [use for use in steps if use.step.method in MISTING] or (
            list(steps) if "chromate" in substance.tags else []
        )
        return (
            f"{'; '.join(u.words for u in misting)}: {given.when}"
            if misting
            else (given.when + unsaid if unsaid else "")
        )
    hot = [use for use in steps if use.hot and use.reach_c >= (given.above_c or 0.0)]
    if hot:
        return f"{'; '.join(u.words for u in hot)}: {given.when}"
    return f"if heated: {given.when}{unsaid}" if unsaid else ""


def _burning(use: Use) -> list[Emission]:
    """A wax or lacquer step: solvent of the tin, and smoke where the metal is hot."""
    name = f"{use.step.do} ({use.words})"
    vapour = "white spirit vapour" if use.step.do == "wax" else "solvent vapour"
    result = [_emission(vapour, name, f"{use.words}: if the tin holds solvent", "PRACTICE")]
    if use.hot:
        smoke = "smoke with aldehydes" if use.step.do == "wax" else "methacrylate vapour"
        result.append(_emission(smoke, name, f"{use.words}: overheated, from about 200 °C", "MEMORY"))
    return result
