"""What a solution of a recipe is made of in per cent by weight, which is what the limits count.

Source: [CLP_ANNEX_I] 1.1.1: limits of liquids and solids are % w/w
"""

from __future__ import annotations

from dataclasses import dataclass

from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.density import WATER_G_PER_ML, density_of
from patina.chemistry.strength import Strength
from patina.chemistry.substances import Catalogue, Substance
from patina.errors import BadQuantity, CannotConvert, UnknownSubstance
from patina.recipe import Solution
from patina.safety.mixture import Component

LIGHTEST_G_ML, HEAVIEST_G_ML = 0.5, 3.5
UNKNOWN_DENSITY = (1.05, 0.25)  # g/mL and its error where nothing can be estimated


@dataclass(frozen=True, slots=True)
class Composition:
    """Ingredients in % w/w, the density used (None where none was needed) and how it was got.

    solvent: the solvent's substance, None where the catalogue does not hold it. grams_per_l: of each substance in
    a litre of the solution. needs: what is not known.
    """

    components: tuple[Component, ...]
    density_g_ml: float | None
    density_note: str
    solvent: Substance | None
    grams_per_l: tuple[tuple[Substance, float], ...]
    needs: tuple[str, ...] = ()


def weight_share_pct(strength: Strength, substance: Substance) -> float | None:
    """The % w/w of the named substance where the strength itself says it, None where a volume is in it.

    >>> from patina.chemistry.strength import parse_strength
    >>> from patina.chemistry.substances import catalogue
    >>> weight_share_pct(parse_strength("1 part to 19 by weight"), catalogue().get("sodium_chloride"))
    5.0
    """
    if strength.basis == "pct_ww":
        return strength.value
    if strength.basis not in ("parts_in", "parts_to"):
        return None
    by = strength.by or ("volume" if substance.is_liquid else "weight")
    if by == "volume":
        return None
    share = strength.value if strength.basis == "parts_in" else strength.value / (1 + strength.value)
    sold = substance.assay_pct if substance.is_liquid and substance.assay_pct is not None else 100.0
    return share * sold


def solvent_of(solution: Solution, catalogue: Catalogue) -> Substance | None:
    """The substance of the solvent; anything called water is water; None where the catalogue does not know it."""
    if "water" in solution.solvent.casefold() or not solution.solvent.strip():
        return catalogue.get("water")
    try:
        return catalogue.find(solution.solvent)
    except UnknownSubstance:
        return None


def compose(solution: Solution, catalogue: Catalogue, density_g_ml: float | None = None) -> Composition:
    """The composition of a solution as mixed. density_g_ml: as measured at 20 °C, None to estimate it.

    Raises BadQuantity for a density that no solution has, and what the strengths raise (CannotConvert, BadQuantity).
    """
    if density_g_ml is not None and not LIGHTEST_G_ML <= density_g_ml <= HEAVIEST_G_ML:
        raise BadQuantity(
            f"A density of {density_g_ml:g} g/mL cannot be right for '{solution.name}'.",
            f"Give it in g/mL, between {LIGHTEST_G_ML} and {HEAVIEST_G_ML}.",
            field="density",
        )
    solvent = solvent_of(solution, catalogue)
    parts = [(catalogue.get(i.substance), i.strength) for i in solution.ingredients]
    if solution.volume_is == "added to":
        found = _added_to(parts, solvent, density_g_ml)
    else:
        found = _made_up_to(parts, solvent, density_g_ml)
    components, density, note, grams = found
    needs = () if solvent is not None else (f"what '{solution.solvent}' is: the catalogue does not hold this solvent",)
    return Composition(tuple(components), density, note, solvent, tuple(grams), needs)


Found = tuple[list[Component], float | None, str, list[tuple[Substance, float]]]
Parts = list[tuple[Substance, Strength]]


def _made_up_to(parts: Parts, solvent: Substance | None, measured: float | None) -> Found:
    shares = [weight_share_pct(strength, substance) for substance, strength in parts]
    density, error, note = measured or 1.0, 0.0, "as measured"
    grams: list[float] = []
    for _ in range(60):
        grams = [
            _grams(substance, strength, share, density)
            for (substance, strength), share in zip(parts, shares, strict=True)
        ]
        if measured is not None:
            break
        renewed, error, note = _estimate(parts, grams, solvent)
        if abs(renewed - density) < 1e-8:
            break
        density = (density + renewed) / 2 if any(s is not None for s in shares) else renewed
    components = []
    for (substance, _), share, g in zip(parts, shares, grams, strict=True):
        if share is not None:
            components.append(Component(substance, share))
        else:
            pct = g / (10 * density)
            components.append(Component(substance, pct, pct * error / density))
    if measured is None and shares and all(s is not None for s in shares):
        note = f"not needed for the classes, all strengths are by weight; {note}"
    _add_solvent(components, solvent)
    return components, density, note, [(s, g) for (s, _), g in zip(parts, grams, strict=True)]


def _grams(substance: Substance, strength: Strength, share: float | None, density: float) -> float:
    if share is not None:
        return share * 10 * density
    return grams_per_litre(strength, substance, volume_is="made up to", solution_density_g_ml=density)[0]


def _estimate(parts: Parts, grams: list[float], solvent: Substance | None) -> tuple[float, float, str]:
    together: dict[Substance, float] = {}
    for (substance, _), g in zip(parts, grams, strict=True):
        together[substance] = together.get(substance, 0.0) + g
    try:
        return density_of(together, solvent)
    except CannotConvert as trouble:
        density, error = UNKNOWN_DENSITY
        return density, error, f"not known ({trouble.what}) taken as {density} ± {error} g/mL"


def _added_to(parts: Parts, solvent: Substance | None, measured: float | None) -> Found:
    """Grams added to a litre of solvent: the weight of the whole is the sum, so no density is needed."""
    solvent_density = (solvent.density_g_ml if solvent else None) or WATER_G_PER_ML
    shares = [weight_share_pct(strength, substance) for substance, strength in parts]
    others = sum(s for s in shares if s is not None)
    by_weight = [s for s in shares if s is not None]
    added = [
        grams_per_litre(strength, substance, volume_is="added to", solvent_density_g_ml=solvent_density)[0]
        if share is None
        else 0.0
        for (substance, strength), share in zip(parts, shares, strict=True)
    ]
    sold = [g * 100 / _assay(substance) for (substance, _), g in zip(parts, added, strict=True)]
    rest = 1000 * solvent_density + sum(sold)
    whole = rest / (1 - others / 100) if by_weight and others < 100 else rest
    components = []
    grams = []
    for (substance, _), share, g in zip(parts, shares, added, strict=True):
        pct = share if share is not None else 100 * g / whole
        components.append(Component(substance, pct))
        grams.append(pct * 10)
    density, _, note = (measured, 0.0, "as measured") if measured else _estimate(parts, grams, solvent)
    _add_solvent(components, solvent)
    per_litre = [(s, c.pct_ww * 10 * density) for (s, _), c in zip(parts, components, strict=False)]
    return components, density, f"not needed for the classes, weights are added to the solvent; {note}", per_litre


def _assay(substance: Substance) -> float:
    return substance.assay_pct if substance.is_liquid and substance.assay_pct else 100.0


def _add_solvent(components: list[Component], solvent: Substance | None) -> None:
    """What is left is solvent (the water that liquids as sold bring is not told apart)."""
    left = 100.0 - sum(c.pct_ww for c in components)
    error = sum(c.error_pct_ww for c in components)
    if solvent is not None and left > 0 and "water" not in solvent.tags:
        components.append(Component(solvent, left, min(error, left)))
