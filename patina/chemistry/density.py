"""How heavy a solution is, estimated from what is dissolved in it.

Needed to turn grams per litre into per cent by weight and back. Each dissolved substance brings an
apparent volume: from Laliberté's fit where ``data/density_coefficients.csv`` has one, else a mean
over his salts, with a wide error that is stated.

Source: [LAL09]
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from patina.chemistry.substances import Substance
from patina.datafile import number, read_table, text
from patina.errors import CannotConvert

WATER_G_PER_ML = 0.998204
GENERIC_ML_PER_G = 0.28
GENERIC_ERROR_ML_PER_G = 0.25
FIT_ERROR_ML_PER_G = 0.005
MIXED_FIT_ERROR_ML_PER_G = 0.02
BEYOND_FIT_ERROR_ML_PER_G = 0.08
WATER_OF_CRYSTALLISATION = 18.01528


@dataclass(frozen=True, slots=True)
class Fit:
    """Laliberté's coefficients of one dry substance; w_max: highest mass share of the fit."""

    dry_molar_mass_g_mol: float
    c0: float
    c1: float
    c2: float
    c3: float
    c4: float
    w_max: float

    def volume_ml_per_g(self, share: float, temperature_c: float) -> float:
        """Apparent volume of a gram at a mass share 0-1 of all solutes. Source: [LAL09] eq. for density."""
        heat = math.exp(1e-6 * (temperature_c + self.c4) ** 2)
        return 1000 * (share + self.c2 + self.c3 * temperature_c) / ((self.c0 * share + self.c1) * heat)


@dataclass(frozen=True, slots=True)
class _Part:
    dry_g: float
    fit: Fit | None
    fixed_ml_per_g: float
    error_ml_per_g: float
    name: str


@cache
def fits() -> dict[str, Fit]:
    """Fits by base salt. Source: [LAL09]"""
    numbers = dict.fromkeys(
        ("dry_molar_mass_g_mol", "c0", "c1", "c2", "c3", "c4", "t_min_c", "t_max_c", "w_max"), number
    )
    rows = read_table("density_coefficients.csv", {"base": text, "formula": text, "source": text, **numbers})
    return {
        r["base"]: Fit(*(r[c] for c in ("dry_molar_mass_g_mol", "c0", "c1", "c2", "c3", "c4", "w_max"))) for r in rows
    }


@cache
def handbook_volumes() -> dict[str, tuple[float, float]]:
    """Apparent volume and its error in mL/g by base salt, from ``data/density_volumes.csv``. Source: each row's own."""
    columns = {"base": text, "ml_per_g": number, "error_ml_per_g": number, "worked_from": text, "source": text}
    return {r["base"]: (r["ml_per_g"], r["error_ml_per_g"]) for r in read_table("density_volumes.csv", columns)}


def water_density_g_ml(temperature_c: float) -> float:
    """Density of water, 0 to 100 °C. Source: [KELL1975], as Laliberté uses it."""
    t = temperature_c
    top = (
        (((-2.8054253e-10 * t + 1.0556302e-7) * t - 4.6170461e-5) * t - 0.0079870401) * t + 16.945176
    ) * t + 999.83952
    return top / (1 + 0.01687985 * t) / 1000


def density_of(
    grams_per_litre: Mapping[Substance, float], solvent: Substance | None = None, temperature_c: float = 20.0
) -> tuple[float, float, str]:
    """Density of a solution in g/mL, its error (about 95 %) in g/mL, and how it was got, in words.

    grams_per_litre: grams of each pure named form per litre of solution, 0 or more. solvent: None
    or water for the fit; for another the solutes count with the mean apparent volume.
    Raises CannotConvert where more is dissolved than fits into a litre.
    Source: [LAL09]
    """
    parts, water_g = _parts(grams_per_litre, solvent)
    solvent_density = _solvent_density(solvent, temperature_c)
    solute_g = sum(part.dry_g for part in parts)
    total = solute_g + 1000 * solvent_density
    for _ in range(60):
        share = solute_g / total if total else 0.0
        volume = sum(_volume(part, share, temperature_c) for part in parts)
        if volume >= 1000:
            raise CannotConvert("So much cannot be dissolved in a litre.", "Check the strengths of this solution.")
        renewed = solute_g + (1000 - volume) * solvent_density
        if abs(renewed - total) < 1e-9 * total:
            break
        total = renewed
    if total - solute_g < water_g:  # more water of crystallisation than the litre has room for
        raise CannotConvert("So much cannot be dissolved in a litre.", "Check the strengths of this solution.")
    share = solute_g / total if total else 0.0
    return total / 1000, _error(parts, share, solvent_density), _method(parts, share)


def _solvent_density(solvent: Substance | None, temperature_c: float) -> float:
    if solvent is None or "water" in solvent.tags:
        return water_density_g_ml(temperature_c)
    if solvent.density_g_ml is None:
        raise CannotConvert(f"The density of {solvent.name} is not known.", "Give the density of the solution.")
    return solvent.density_g_ml


def _parts(grams: Mapping[Substance, float], solvent: Substance | None) -> tuple[list[_Part], float]:
    """What is dissolved, dry, and the water that the hydrates bring."""
    parts, water = [], 0.0
    aqueous = solvent is None or "water" in solvent.tags
    for substance, amount in grams.items():
        dry, brought = _dried(substance, amount)
        water += brought
        parts.append(_part(substance, dry, aqueous))
    return parts, water


def _dried(substance: Substance, amount_g: float) -> tuple[float, float]:
    mass = substance.active_molar_mass_g_mol
    if substance.waters and mass:
        brought = amount_g * substance.waters * WATER_OF_CRYSTALLISATION / mass
        return amount_g - brought, brought
    return amount_g, 0.0


def _part(substance: Substance, dry_g: float, aqueous: bool) -> _Part:
    fit = fits().get(substance.base or "") if aqueous else None
    if fit is not None:
        return _Part(dry_g, fit, 0.0, FIT_ERROR_ML_PER_G, substance.name)
    pure = substance.is_liquid and substance.density_g_ml is not None and (substance.assay_pct or 0) > 90
    if pure and substance.density_g_ml:
        return _Part(dry_g, None, 1 / substance.density_g_ml, 0.1, substance.name)
    known = handbook_volumes().get(substance.base or "") if aqueous else None
    if known is not None:
        return _Part(dry_g, None, *known, substance.name)
    return _Part(dry_g, None, GENERIC_ML_PER_G, GENERIC_ERROR_ML_PER_G, substance.name)


def _volume(part: _Part, share: float, temperature_c: float) -> float:
    if part.fit is None:
        return part.dry_g * part.fixed_ml_per_g
    return part.dry_g * part.fit.volume_ml_per_g(min(share, part.fit.w_max), temperature_c)


def _error(parts: list[_Part], share: float, solvent_density: float) -> float:
    squares = 0.0
    dissolved = [part for part in parts if part.dry_g > 0]
    for part in dissolved:
        error = part.error_ml_per_g
        if part.fit is not None and len(dissolved) > 1:
            error = MIXED_FIT_ERROR_ML_PER_G
        if part.fit is not None and share > part.fit.w_max:
            error = BEYOND_FIT_ERROR_ML_PER_G
        squares += (part.dry_g / 1000 * error * solvent_density) ** 2
    return math.sqrt(squares) + (0.001 if dissolved else 0.0002)


def _method(parts: list[_Part], share: float) -> str:
    guessed = [part.name for part in parts if part.fit is None and part.dry_g > 0 and part.error_ml_per_g >= 0.1]
    beyond = [part.name for part in parts if part.fit is not None and share > part.fit.w_max]
    words = "estimated from apparent volumes at 20 °C [LAL09]"
    if guessed:
        words += f"; no fit for {', '.join(guessed)}: a rough volume was used"
    if beyond:
        words += f"; beyond the fit for {', '.join(beyond)}"
    return words


def as_sold_density_g_ml(substance: Substance, assay_pct: float | None = None) -> float:
    """Density at 20 °C of a liquid as sold, at its usual assay or another, between the grades in the catalogue.

    Raises CannotConvert where the substance is no liquid or the assay lies more than 1 % outside its grades.
    Source: each grade's own.
    """
    if not substance.is_liquid or substance.density_g_ml is None:
        raise CannotConvert(f"{substance.name} is not a liquid of known density.", "Weigh it.", field="have")
    if assay_pct is None or substance.assay_pct is None or abs(assay_pct - substance.assay_pct) < 1e-9:
        return substance.density_g_ml
    grades = substance.grades
    if assay_pct < grades[0].assay_pct - 1 or assay_pct > grades[-1].assay_pct + 1:
        known = (
            f"{grades[0].assay_pct:g} to {grades[-1].assay_pct:g} %"
            if len(grades) > 1
            else f"{grades[0].assay_pct:g} %"
        )
        raise CannotConvert(
            f"The density of {substance.name} of {assay_pct:g} % is not known here, only of {known}.",
            "Weigh it instead, or use a strength in that range.",
            field="have",
        )
    for low, high in pairwise(grades):
        if low.assay_pct <= assay_pct <= high.assay_pct:
            along = (assay_pct - low.assay_pct) / (high.assay_pct - low.assay_pct)
            return low.density_g_ml + along * (high.density_g_ml - low.density_g_ml)
    return grades[0].density_g_ml if assay_pct < grades[0].assay_pct else grades[-1].density_g_ml
