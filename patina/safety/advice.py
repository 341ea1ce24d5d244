"""What to wear, where the waste goes with how much metal in it, and how the place is kept.

Source: the rows of ``data/advice.csv``; first aid and spill are the standard P-statements of the classes found
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from patina.chemistry.substances import Substance
from patina.datafile import Parser, one_of, read_table, text
from patina.recipe import Recipe
from patina.safety.air import gases
from patina.safety.formula import count_of
from patina.safety.label import statement
from patina.safety.rules import show
from patina.safety.tagwords import matcher
from patina.safety.values import Emission
from patina.safety.work import uses

SECTIONS = ("ppe", "waste", "place")
COUNTED_METALS = {"Cu": 63.546, "Ag": 107.8682, "Cr": 51.9961, "Pb": 207.2, "Zn": 65.38, "Se": 78.971}
METAL_NAMES = {"Cu": "copper", "Ag": "silver", "Cr": "chromium", "Pb": "lead", "Zn": "zinc", "Se": "selenium"}
FIRST_AID = ("P301", "P302", "P303", "P304", "P305", "P306", "P308", "P310", "P331", "P333", "P337", "P342")
SPILL = ("P390", "P391")


@dataclass(frozen=True, slots=True)
class Advice:
    """One row of ``data/advice.csv``."""

    section: str
    when: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Facts:
    """What the rows are matched on: statements on the labels, tags of each substance, methods, doings, heat."""

    statements: frozenset[str]
    tags: tuple[frozenset[str], ...]
    methods: frozenset[str]
    doings: frozenset[str]
    hot: bool
    solutions: bool


@cache
def rows() -> tuple[Advice, ...]:
    """All rows of ``data/advice.csv``."""
    columns: dict[str, Parser] = {"section": one_of(*SECTIONS), "when": text, "text": text, "source": text}
    return tuple(Advice(**row) for row in read_table("advice.csv", columns))


def facts_of(recipe: Recipe, substances: Iterable[Substance], statements: Iterable[str]) -> Facts:
    """The facts of a recipe that advice hangs on."""
    steps = uses(recipe)
    tags = [s.tags for s in substances]
    return Facts(
        frozenset(h[:4] for h in statements),
        tuple(tags),
        frozenset(u.step.method for u in steps if u.step.method),
        frozenset(u.step.do for u in steps),
        any(u.hot for u in steps),
        any("water" not in t for t in tags),
    )


def advice(section: str, facts: Facts) -> tuple[str, ...]:
    """The sentences of one section that hold."""
    return tuple(dict.fromkeys(row.text for row in rows() if row.section == section and _holds(row.when, facts)))


def _holds(when: str, facts: Facts) -> bool:
    kind, _, value = when.partition(":")
    wanted = {part.strip() for part in value.split(";")}
    tests = {
        "always": lambda: True,
        "solutions": lambda: facts.solutions,
        "hot": lambda: facts.hot,
        "h": lambda: bool(wanted & facts.statements),
        "tag": lambda: any(matcher(value)(tags) for tags in facts.tags),
        "method": lambda: facts.solutions and bool(wanted & facts.methods),
        "do": lambda: bool(wanted & facts.doings),
    }
    return tests[kind]()


def breathing(emits: Sequence[Emission]) -> tuple[str, ...]:
    """What keeps each gas from a person; the mask maker's table decides."""
    lines = []
    for name in dict.fromkeys(e.gas for e in emits):
        known = gases().get(name)
        if known is not None and known.filter:
            lines.append(f"Breathing, {name}: {known.filter} (see the mask maker's table).")
    return tuple(lines)


def first_aid(p_codes: Iterable[str]) -> tuple[str, ...]:
    """The standard first-aid and spill statements among some P codes, with their words."""
    wanted = (*FIRST_AID, *SPILL)
    return tuple(f"{code}: {statement(code)}" for code in dict.fromkeys(p_codes) if code.startswith(wanted))


def metal_g_per_l(grams_per_l: Sequence[tuple[Substance, float]]) -> Mapping[str, float]:
    """Grams of each counted metal (Cu, Ag, Cr, Pb, Zn, Se) in a litre of a solution."""
    totals: dict[str, float] = {}
    for substance, grams in grams_per_l:
        mass = substance.active_molar_mass_g_mol
        if not mass:
            continue
        for element, atomic in COUNTED_METALS.items():
            atoms = count_of(substance.formula, element)
            if atoms:
                totals[element] = totals.get(element, 0.0) + grams / mass * atoms * atomic
    return totals


def metal_lines(contents: Mapping[str, Mapping[str, float]], volumes_ml: Mapping[str, float]) -> tuple[str, ...]:
    """How much metal each waste stream holds: per litre, and in all where the volume is known.

    contents: metal to g/L by solution. volumes_ml: mL mixed by solution.
    """
    lines = []
    for solution, metals in contents.items():
        for element, per_l in metals.items():
            volume = volumes_ml.get(solution)
            whole = f", {show(per_l * volume / 1000)} g in {show(volume)} mL" if volume is not None else ""
            lines.append(f"{solution}: {show(per_l)} g {METAL_NAMES[element]} per litre{whole}.")
    return tuple(lines)
