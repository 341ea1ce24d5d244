"""What to put on the balance or into the cylinder for one ingredient, with the sum and what to mind.

Source: [IUPAC]; densities and assays from the catalogue
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.density import WATER_G_PER_ML, as_sold_density_g_ml, density_of
from patina.chemistry.hydrates import assay_share, convert_g
from patina.chemistry.solution import from_stock
from patina.chemistry.strength import Strength
from patina.chemistry.substances import Substance
from patina.errors import BadQuantity, CannotConvert

__all__ = ["Caution", "Weighing", "from_stock", "round_to_step", "weigh"]

ROUNDING_LIMIT_PCT = 2.0
# The smallest drop that can be measured, and the finest balance there is, in mL and in g or mL.
LEAST_VOLUME_ML = 0.01
FINEST_STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Caution:
    """Something to mind. code: a fixed word for programs. text: a sentence."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class Weighing:
    """One line of a batch sheet.

    substance, key, cas: what is weighed. asked: the strength as written. asked_g_per_l: grams of
    the named pure form per litre (of solvent where "added to"). amount, unit: exact, "g" or "mL".
    rounded: to the balance's or cylinder's step. error_pct: what rounding does, of the amount.
    achieved_g_per_l: strength after rounding. working: the sums in one sentence.
    """

    substance: str
    key: str
    cas: str | None
    asked: str
    asked_g_per_l: float
    amount: float
    unit: str
    rounded: float
    error_pct: float
    achieved_g_per_l: float
    working: str
    warnings: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class _Need:
    """What is asked for: grams of the pure named form, and in what."""

    asked: Substance
    have: Substance
    g_per_l: float
    volume_ml: float
    volume_is: str
    solvent: Substance | None
    assay_pct: float | None

    @property
    def pure_g(self) -> float:
        return self.g_per_l * self.volume_ml / 1000


def weigh(
    asked: Substance,
    strength: Strength,
    volume_ml: float,
    volume_is: str = "made up to",
    have: Substance | None = None,
    have_assay_pct: float | None = None,
    step_g: float = 0.1,
    step_ml: float = 1.0,
    *,
    solvent: Substance | None = None,
    solution_density_g_ml: float | None = None,
    others_pct_ww: float = 0.0,
    density_words: str = "as measured",
) -> Weighing:
    """Grams (solids) or millilitres (liquids as sold) of what is on the shelf for one ingredient.

    asked: what the recipe names. volume_ml: above 0; of solution ("made up to") or of solvent
    ("added to"). have: what is on the shelf, another hydrate or grade of the same salt; None: the
    same as asked. have_assay_pct: % w/w of its active substance, above 0 to 100; None: the
    catalogue's, or pure for a solid of unstated grade. step_g, step_ml: smallest step of balance
    and cylinder. solvent: None is water. others_pct_ww, density_words: see `concentration.grams_per_litre`.
    Raises CannotConvert where the shelf's form cannot stand for the asked one or does not fit into
    the volume, BadQuantity for amounts outside their range.

    >>> from patina.chemistry.strength import parse_strength
    >>> from patina.chemistry.substances import catalogue
    >>> c = catalogue()
    >>> line = weigh(c.get("cupric_nitrate_3h2o"), parse_strength("100 g/L"), 1000, have=c.get("cupric_nitrate_2_5h2o"))
    >>> round(line.amount, 2), line.rounded, line.unit
    (96.27, 96.3, 'g')
    """
    _check(volume_ml, step_g, step_ml)
    assay_share(have_assay_pct)
    have = have or asked
    solvent_density = _solvent_density(solvent)
    own_assay = have_assay_pct if have.key == asked.key else None
    g_per_l, words = grams_per_litre(
        strength,
        asked,
        volume_is=volume_is,
        solution_density_g_ml=solution_density_g_ml,
        solvent_density_g_ml=solvent_density,
        others_pct_ww=others_pct_ww,
        assay_pct=own_assay,
        density_words=density_words,
    )
    assay = have_assay_pct if have_assay_pct is not None else have.assay_pct
    need = _Need(asked, have, g_per_l, volume_ml, volume_is, solvent, assay)
    amount, unit, amount_words = _amount(need)
    rounded = round_to_step(amount, step_ml if unit == "mL" else step_g)
    error = 100 * (rounded - amount) / amount
    warnings = (
        *_rounding_cautions(amount, rounded, error, unit, step_ml if unit == "mL" else step_g),
        *_solubility_cautions(need),
        *_shelf_cautions(need, have_assay_pct, unit),
    )
    working = f"{words} {amount_words}; rounded to {rounded:g} {unit} ({error:+.2f} %)"
    achieved = g_per_l * rounded / amount
    return Weighing(
        have.name,
        have.key,
        have.cas,
        strength.as_written,
        g_per_l,
        amount,
        unit,
        rounded,
        error,
        achieved,
        working,
        warnings,
    )


def round_to_step(amount: float, step: float) -> float:
    """The amount to the nearest step, halves to the even step. step above 0.

    >>> round_to_step(96.2716, 0.1), round_to_step(2.5, 1), round_to_step(0.04, 0.1)
    (96.3, 2.0, 0.0)
    """
    exact = Decimal(repr(amount)) / Decimal(repr(step))
    return float(exact.quantize(Decimal(1), rounding=ROUND_HALF_EVEN) * Decimal(repr(step)))


def _check(volume_ml: float, step_g: float, step_ml: float) -> None:
    if not LEAST_VOLUME_ML <= volume_ml <= 1_000_000:
        raise BadQuantity(
            f"A volume of {volume_ml:g} mL cannot be mixed.", "Give a volume from 0.01 mL to 1000 L.", field="volume"
        )
    for name, step in (("step_g", step_g), ("step_ml", step_ml)):
        if not FINEST_STEP <= step <= 1000:
            raise BadQuantity(
                f"A step of {step:g} cannot be used.",
                "Give the smallest step of the balance (0.000001 g to 1 kg) or cylinder (0.000001 mL to 1 L).",
                field=name,
            )


def _solvent_density(solvent: Substance | None) -> float:
    if solvent is None:
        return WATER_G_PER_ML
    if solvent.density_g_ml is None:
        raise CannotConvert(
            f"{solvent.name} is no liquid that dissolves something.", "Name a liquid as the solvent.", field="solvent"
        )
    return solvent.density_g_ml


def _amount(need: _Need) -> tuple[float, str, str]:
    """How much of what is on the shelf, its unit, and the sum."""
    asked, have = need.asked, need.have
    words = (
        f"× {need.volume_ml / 1000:.6g} L = {need.pure_g:.6g} g of {asked.active if asked.is_liquid else asked.name}"
    )
    pure = convert_g(need.pure_g, asked, have)
    if have.key != asked.key:
        words += f"; as {have.name} {_masses(need)} = {pure:.6g} g"
    sold_g = convert_g(need.pure_g, asked, have, need.assay_pct)
    if need.assay_pct is not None and need.assay_pct < 100:
        words += f"; / {need.assay_pct:g} % = {sold_g:.6g} g as sold"
    if not have.is_liquid:
        return sold_g, "g", words
    try:
        density = as_sold_density_g_ml(have, need.assay_pct)
    except CannotConvert:  # no density known at that assay: grams are still right
        return sold_g, "g", words
    sold_ml = sold_g / density
    if need.volume_is == "made up to" and sold_ml > need.volume_ml * 1.0001:
        raise CannotConvert(
            f"{sold_ml:.4g} mL of {have.name} do not fit into {need.volume_ml:g} mL.",
            "Use a stronger grade, or ask for a weaker solution.",
            field="strength",
        )
    return sold_ml, "mL", f"{words}; / {density:.4f} g/mL = {sold_ml:.6g} mL"


def _masses(need: _Need) -> str:
    """The factor from the asked form to the shelf's, in words."""
    asked, have = need.asked.active_molar_mass_g_mol, need.have.active_molar_mass_g_mol
    if asked is None or have is None or asked == have:
        return "(the same substance)"
    units = (
        ""
        if need.have.base_units == need.asked.base_units
        else f" × {need.asked.base_units:g} / {need.have.base_units:g}"
    )
    return f"by moles × {have:.4f} / {asked:.4f} g/mol{units}"


def _rounding_cautions(amount: float, rounded: float, error: float, unit: str, step: float) -> tuple[Caution, ...]:
    tool = "balance" if unit == "g" else "pipette or cylinder"
    if rounded == 0:
        return (
            Caution(
                "rounds_to_nothing",
                f"{amount:.3g} {unit} is less than half a step of {step:g} {unit}: mix a larger batch, "
                f"use a finer {tool}, or thin a stock; do not leave it out.",
            ),
        )
    if abs(error) > ROUNDING_LIMIT_PCT + 1e-9:
        return (
            Caution(
                "rounding",
                f"Rounding changes the amount by {error:+.1f} %: weigh a larger batch or use a finer {tool}.",
            ),
        )
    return ()


def _solubility_cautions(need: _Need) -> tuple[Caution, ...]:
    """Said of the asked form; grams per litre of water, not of solution."""
    asked = need.asked
    limit = asked.solubility_g_per_l
    if limit is None or "water" in asked.tags:
        return ()
    if need.solvent is not None and "water" not in need.solvent.tags:
        return (
            Caution("solubility_unknown", f"How much {asked.name} dissolves in {need.solvent.name} is not known here."),
        )
    if limit == 0:
        return (
            Caution(
                "insoluble",
                f"{asked.name} does not dissolve in water ({asked.solubility_note}): it stays a suspension, stir it.",
            ),
        )
    per_water = _per_litre_of_water(need)
    if per_water is None or per_water <= limit:
        return ()
    shown = "more than water can take" if per_water == float("inf") else f"{per_water:.4g} g per litre of water"
    return (
        Caution(
            "solubility",
            f"{shown[0].upper()}{shown[1:]} of {asked.name} is above what dissolves near 20 °C, "
            f"{limit:g} g per litre ({asked.solubility_note}): part will stay undissolved or fall out on cooling.",
        ),
    )


def _per_litre_of_water(need: _Need) -> float:
    if need.volume_is == "added to":
        return need.g_per_l
    try:
        density, _, _ = density_of({need.asked: need.g_per_l})
    except CannotConvert:
        return float("inf")
    water_g = 1000 * density - need.g_per_l
    return need.g_per_l / (water_g / 1000 / WATER_G_PER_ML) if water_g > 0 else float("inf")


def _shelf_cautions(need: _Need, told_assay_pct: float | None, unit: str) -> tuple[Caution, ...]:
    have, found = need.have, []
    if have.is_liquid and told_assay_pct is None and have.assay_pct is not None and have.assay_pct < 99:
        found.append(
            Caution(
                "assay_taken",
                f"{have.name} is taken as {have.assay_pct:g} %: look at the bottle and give its strength.",
            )
        )
    if have.is_liquid and unit == "g":
        text = f"The density of {have.name} of {need.assay_pct:g} % is not known here: put it on the balance."
        found.append(Caution("weigh_liquid", text))
    if have.mixture and not have.is_liquid and "sulphide" in have.tags:
        found.append(
            Caution("varies", f"{have.name} varies from maker to maker and with age: test each new lot on a tile.")
        )
    if have.key != need.asked.key:
        found.append(Caution("other_form", f"{have.name} stands for {need.asked.name}, at equal moles of the salt."))
    return tuple(found)
