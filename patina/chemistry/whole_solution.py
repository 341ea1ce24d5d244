"""All ingredients of one pot weighed together.

A share by weight (% w/w, parts by weight) depends on everything else in the pot: on the density of
the whole where the solution is made up to a volume, on the weight of the whole where the
ingredients are added to the solvent.

Source: [LAL09] for the density
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from patina.chemistry.concentration import by_weight, grams_per_litre
from patina.chemistry.density import WATER_G_PER_ML, density_of
from patina.chemistry.strength import Strength
from patina.chemistry.substances import Substance
from patina.chemistry.weighing import Weighing, weigh
from patina.errors import BadQuantity, CannotConvert

Parts = Sequence[tuple[Substance, Strength]]


def weigh_all(
    parts: Parts,
    volume_ml: float,
    volume_is: str = "made up to",
    have: Mapping[str, tuple[Substance, float | None]] | None = None,
    step_g: float = 0.1,
    step_ml: float = 1.0,
    *,
    solvent: Substance | None = None,
    solution_density_g_ml: float | None = None,
) -> tuple[Weighing, ...]:
    """One line for each ingredient, in order: as `weighing.weigh`, with the whole pot in view.

    parts: what the recipe names and how strong. have: by the key of what is named, what is on the
    shelf and its assay in % w/w (None: the catalogue's). Raises what `weigh` raises.

    >>> from patina.chemistry.strength import parse_strength
    >>> from patina.chemistry.substances import catalogue
    >>> c = catalogue()
    >>> pot = [(c.get(k), parse_strength("10 % w/w")) for k in ("ammonium_chloride", "sodium_chloride")]
    >>> [round(line.amount, 1) for line in weigh_all(pot, 1000, "added to")]
    [124.8, 124.8]
    """
    shelf = have or {}
    density, words = solution_density_g_ml, "as measured"
    if density is None and volume_is == "made up to" and any(by_weight(strength, s) for s, strength in parts):
        density, error = _settled(parts, solvent)
        doubt = f"which makes the amount uncertain by {100 * error / density:.1f} %"
        words = f"estimated for the whole pot, ± {error:.3f}, {doubt}"
    told = {key: assay for key, (form, assay) in shelf.items() if form.key == key}
    others = _others_pct(parts, solvent, told) if volume_is == "added to" else [0.0] * len(parts)
    lines = []
    for (substance, strength), rest in zip(parts, others, strict=True):
        form, assay = shelf.get(substance.key, (None, None))
        lines.append(
            weigh(
                substance,
                strength,
                volume_ml,
                volume_is,
                form,
                assay,
                step_g,
                step_ml,
                solvent=solvent,
                solution_density_g_ml=density,
                others_pct_ww=rest,
                density_words=words,
            )
        )
    return tuple(lines)


def _settled(parts: Parts, solvent: Substance | None) -> tuple[float, float]:
    """The density at which all grams per litre and all shares by weight agree, and its error in g/mL."""
    density, error = 1.0, 0.0
    for _ in range(200):
        grams: dict[Substance, float] = {}
        for substance, strength in parts:
            found, _ = grams_per_litre(strength, substance, volume_is="made up to", solution_density_g_ml=density)
            grams[substance] = grams.get(substance, 0.0) + found
        renewed, error, _ = density_of(grams, solvent)
        if abs(renewed - density) < 1e-8:
            return renewed, error
        density = (density + renewed) / 2
    raise CannotConvert(
        "The density of this solution cannot be estimated.",
        "Measure it and give it, or write the strengths in g/L.",
        field="strength",
    )


def _others_pct(parts: Parts, solvent: Substance | None, told: Mapping[str, float | None]) -> list[float]:
    """For each ingredient, what everything else but the solvent takes of the whole weight, in per cent."""
    litre_g = 1000 * (WATER_G_PER_ML if solvent is None or solvent.density_g_ml is None else solvent.density_g_ml)
    shares = [_sold_share(s, strength, told) for s, strength in parts]
    fixed_g = 0.0
    for (substance, strength), share in zip(parts, shares, strict=True):
        if share is None:
            pure, _ = grams_per_litre(strength, substance, volume_is="added to", solvent_density_g_ml=litre_g / 1000)
            fixed_g += pure / _assay_share(substance, told)
    together = sum(share or 0.0 for share in shares)
    if together >= 1:
        raise BadQuantity(
            "The shares by weight leave no room for the solvent.", "Write weaker solutions.", field="strength"
        )
    solvent_share = litre_g * (1 - together) / (litre_g + fixed_g)
    return [0.0 if share is None else 100 * (1 - share - solvent_share) for share in shares]


def _sold_share(substance: Substance, strength: Strength, told: Mapping[str, float | None]) -> float | None:
    """The share (0-1) of the whole weight that an ingredient as sold takes; None where it is not said that way."""
    if not by_weight(strength, substance) or strength.basis == "parts_to":
        return None
    if strength.basis == "parts_in":
        return strength.value
    return strength.value / 100 / _assay_share(substance, told)


def _assay_share(substance: Substance, told: Mapping[str, float | None]) -> float:
    assay = told.get(substance.key) or substance.assay_pct
    return assay / 100 if substance.is_liquid and assay else 1.0
