"""The same salt in another form: grams of one hydrate for grams of another, and what the assay adds.

Source: [IUPAC]
"""

from __future__ import annotations

from patina.chemistry.substances import Substance
from patina.errors import BadQuantity, CannotConvert


def same_salt(asked: Substance, have: Substance) -> bool:
    """Whether one can stand for the other by moles: the same substance, or two forms of one base salt."""
    if asked.key == have.key:
        return True
    return asked.base is not None and asked.base == have.base and not (asked.mixture or have.mixture)


def convert_g(amount_g: float, asked: Substance, have: Substance, have_assay_pct: float | None = None) -> float:
    """Grams of ``have`` that hold as many moles of the base salt as ``amount_g`` of ``asked``.

    amount_g: grams of the pure named form, 0 or more (for a solution such as ammonia: of its
    active substance). have_assay_pct: % w/w of the active substance in what is on the shelf, above
    0 to 100; None: pure.
    Raises CannotConvert where the two are not forms of one salt or have no molar mass, BadQuantity
    for a negative amount or an assay outside its range.
    Source: [IUPAC] molar masses; moles of the metal salt are kept.

    >>> from patina.chemistry.substances import catalogue
    >>> c = catalogue()
    >>> round(convert_g(100, c.get("cupric_nitrate_3h2o"), c.get("cupric_nitrate_2_5h2o")), 2)
    96.27
    """
    if amount_g < 0:
        raise BadQuantity(f"{amount_g:g} g is negative.", "Give an amount of zero or more.")
    share = assay_share(have_assay_pct)
    if asked.key == have.key:
        return amount_g / share
    if not same_salt(asked, have):
        raise CannotConvert(_why_not(asked, have), _instead(asked, have), field="have")
    return amount_g * _mass_per_base(have) / _mass_per_base(asked) / share


def assay_share(assay_pct: float | None) -> float:
    """The assay as a share, 1.0 for None. Raises BadQuantity outside 0 (not included) to 100."""
    if assay_pct is None:
        return 1.0
    if not 0 < assay_pct <= 100:
        raise BadQuantity(
            f"An assay of {assay_pct:g} % is not possible.", "Give the assay as above 0 and up to 100 %.", field="assay"
        )
    return assay_pct / 100


def _mass_per_base(substance: Substance) -> float:
    """Grams of the active substance that hold one mole of the base salt."""
    mass = substance.active_molar_mass_g_mol
    if mass is None:
        raise CannotConvert(f"{substance.name} has no molar mass.", "Use exactly the form that the recipe names.")
    return mass / substance.base_units


def _why_not(asked: Substance, have: Substance) -> str:
    mixed = [s.name for s in (asked, have) if s.mixture]
    if mixed:
        return (
            f"{have.name} cannot stand for {asked.name} by calculation: {' and '.join(mixed)} "
            f"{'is a mixture' if len(mixed) == 1 else 'are mixtures'} without a molar mass."
        )
    return f"{have.name} is not another form of {asked.name}: it is a different salt."


def _instead(asked: Substance, have: Substance) -> str:
    if "sulphide" in asked.tags and "sulphide" in have.tags:
        return (
            f"Get {asked.name}, or make test tiles with {have.name} and write a recipe of its own; "
            "grams are not interchangeable."
        )
    return f"Use {asked.name}, or another form of it."
