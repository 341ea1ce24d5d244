"""The safety notes of a recipe: computed from what is in the pot, never typed.

Source: the rules and data files of this room
"""

from __future__ import annotations

from collections.abc import Mapping

from patina.chemistry.substances import Catalogue, Substance
from patina.recipe import Recipe, Solution
from patina.safety.advice import advice, breathing, facts_of, first_aid, metal_g_per_l, metal_lines
from patina.safety.composition import Composition, compose
from patina.safety.emissions import emissions
from patina.safety.label import label, statement
from patina.safety.mixture import classify
from patina.safety.recipe_dangers import recipe_dangers
from patina.safety.rules import Finding
from patina.safety.values import ClassNote, Danger, SafetySheet, SolutionSafety, Undecided

NOTHING = "No hazard class is reached at this strength; keep the usual care with any chemical."


def safety_of(
    recipe: Recipe,
    catalogue: Catalogue,
    *,
    ph: Mapping[str, float] | None = None,
    density: Mapping[str, float] | None = None,
    regime: str = "CLP",
    volumes_ml: Mapping[str, float] | None = None,
) -> SafetySheet:
    """The safety notes of a recipe at the strength it is mixed.

    ph and density (g/mL at 20 °C): measured values by solution name. regime: "CLP" or "HCS". volumes_ml: mL mixed
    by solution, for the grams of metal in the waste.
    Raises NotFound for a solution that the recipe does not have, BadQuantity for values that cannot be.
    """
    ph, density, volumes_ml = ph or {}, density or {}, volumes_ml or {}
    for name in (*ph, *density, *volumes_ml):
        recipe.solution(name)
    made = {s.name: compose(s, catalogue, density.get(s.name)) for s in recipe.solutions}
    pots = tuple(solution_safety(s, made[s.name], ph.get(s.name), regime) for s in recipe.solutions)
    contents = {name: _contents(c) for name, c in made.items()}
    dangers = recipe_dangers(recipe, contents)
    emits = emissions(recipe, {name: [s for s, _ in parts] for name, parts in contents.items()})
    substances = [s for parts in contents.values() for s, _ in parts]
    statements = [h for pot in pots for h in (*pot.statements, *pot.euh)]
    facts = facts_of(recipe, substances, statements)
    p_codes = [p for pot in pots for p in pot.p_statements]
    metals = {name: metal_g_per_l(c.grams_per_l) for name, c in made.items()}
    return SafetySheet(
        solutions=pots,
        dangers=dangers,
        emits=emits,
        ppe=(*advice("ppe", facts), *breathing(emits)),
        waste=(*advice("waste", facts), *metal_lines(metals, volumes_ml), *_clocks(dangers)),
        place=(*advice("place", facts), *first_aid(p_codes)),
        regime=regime,
    )


def solution_safety(
    solution: Solution, composition: Composition, ph: float | None = None, regime: str = "CLP"
) -> SolutionSafety:
    """One pot: classes, label, what is undecided."""
    found = classify(composition.components, ph=ph, regime=regime)
    tag = label(found.found, regime)
    notes = list(found.notes)
    undecided = [Undecided(o.code, o.needs) for o in found.open]
    undecided += [Undecided("all classes", need) for need in composition.needs]
    if not found.found and not undecided and not found.euh:
        notes.append(NOTHING)
    return SolutionSafety(
        name=solution.name,
        signal_word=tag.signal_word,
        classes=tuple(_note(f, tag.statements) for f in found.found),
        euh=tuple(f.code for f in found.euh),
        pictograms=tag.pictograms,
        p_statements=tag.p_statements,
        undecided=tuple(undecided),
        density_g_ml=composition.density_g_ml,
        density_note=composition.density_note,
        statements=tag.statements,
        supplemental=tuple(_supplement(f) for f in found.euh),
        notes=tuple(notes),
        ph=ph,
        shares=tuple((c.substance.name, c.pct_ww) for c in composition.components),
    )


def _note(f: Finding, statements: tuple[str, ...]) -> ClassNote:
    return ClassNote(f.code, f.h, statement(f.h), f.why, f.source, f.h in statements)


def _supplement(f: Finding) -> ClassNote:
    words = statement(f.code)
    if f.names:
        words = words.replace("a sensitising substance", " and ".join(f.names))
    return ClassNote(f.code, f.h, words, f.why, f.source)


def _contents(composition: Composition) -> tuple[tuple[Substance, float], ...]:
    return tuple((c.substance, c.pct_ww) for c in composition.components)


def _clocks(dangers: tuple[Danger, ...]) -> tuple[str, ...]:
    """Solutions that must be gone the same day."""
    return tuple(
        f"{' with '.join(d.between)}: discard within {d.discard_within_h:g} h of mixing: {d.instead}."
        for d in dangers
        if d.discard_within_h is not None
    )
