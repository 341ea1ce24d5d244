"""Turns a strength as written into grams per litre, saying how.

"Made up to" counts litres of solution; "added to" counts litres of solvent.

Source: [SI], [IUPAC], [LAL09]
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from patina.chemistry.density import WATER_G_PER_ML, as_sold_density_g_ml, density_of
from patina.chemistry.strength import Strength
from patina.chemistry.substances import Substance
from patina.errors import BadQuantity, CannotConvert, Withheld

VOLUME_IS = ("made up to", "added to")


@dataclass(frozen=True, slots=True)
class Setting:
    """What a strength stands in.

    volume_is: "made up to" or "added to". solvent_density_g_ml: of the solvent. density_g_ml: of
    the whole solution where known; density_words: how it is known. others_pct_ww: what the other
    ingredients take of the solution by weight, needed only for shares by weight "added to".
    assay_pct: of the liquid as sold where it is not the catalogue's.
    """

    volume_is: str = "made up to"
    solvent_density_g_ml: float = WATER_G_PER_ML
    density_g_ml: float | None = None
    others_pct_ww: float = 0.0
    assay_pct: float | None = None
    density_words: str = "as measured"


def by_weight(strength: Strength, substance: Substance) -> bool:
    """Whether a strength is a share of the solution's weight, so that the whole solution decides its grams."""
    if strength.basis in ("parts_in", "parts_to"):
        return (strength.by or ("volume" if substance.is_liquid else "weight")) == "weight"
    return strength.basis == "pct_ww"


def grams_per_litre(
    strength: Strength,
    substance: Substance,
    *,
    volume_is: str,
    solution_density_g_ml: float | None = None,
    solvent_density_g_ml: float = WATER_G_PER_ML,
    others_pct_ww: float = 0.0,
    assay_pct: float | None = None,
    density_words: str = "as measured",
) -> tuple[float, str]:
    """Grams of the pure named form per litre, and the sum in words.

    Per litre of solution where volume_is is "made up to", per litre of solvent where it is "added
    to". Pure named form: for a hydrate that hydrate, for a liquid as sold its active substance
    (ammonia: NH3). % v/v and parts by volume count the liquid as sold, at assay_pct or the
    catalogue's assay. Parts are by weight for solids and by volume for liquids unless the strength
    says which. solution_density_g_ml: known, density_words: how; else estimated where needed from this
    substance alone, with its error in the words.
    Raises CannotConvert for mol/L of a mixture and for volume per cent of a solid, BadQuantity for
    an unknown volume_is or a strength that leaves no solvent, Withheld for a strength that the studio holds.

    >>> from patina.chemistry.strength import parse_strength
    >>> from patina.chemistry.substances import catalogue
    >>> grams_per_litre(parse_strength("5 % w/v"), catalogue().get("ammonium_chloride"), volume_is="made up to")
    (50.0, '5 % w/v = 50 g/L')
    """
    if volume_is not in VOLUME_IS:
        raise BadQuantity(
            f"'{volume_is}' does not say what the volume is.", "Say 'made up to' or 'added to'.", field="volume_is"
        )
    setting = Setting(volume_is, solvent_density_g_ml, solution_density_g_ml, others_pct_ww, assay_pct, density_words)
    if strength.basis not in _READERS:
        raise Withheld(
            f"How strong {substance.name} is in it is held by the studio and not shown to you.",
            "Ask the head of the studio, who can open the recipe to you.",
        )
    grams, words = _READERS[strength.basis](strength, substance, setting)
    if strength.note:
        words += f" ({strength.note})"
    return grams, words


def _of(setting: Setting) -> str:
    return "g/L" if setting.volume_is == "made up to" else "g per litre of solvent"


def _weight_per_volume(strength: Strength, substance: Substance, setting: Setting) -> tuple[float, str]:
    grams = strength.value * (10 if strength.basis == "pct_wv" else 1)
    shown = f"{grams:.6g} {_of(setting)}"
    return grams, f"{strength.as_written} = {shown}" if strength.as_written.replace(" ", "") != shown.replace(
        " ", ""
    ) else shown


def _moles(strength: Strength, substance: Substance, setting: Setting) -> tuple[float, str]:
    mass = substance.active_molar_mass_g_mol
    if mass is None or substance.mixture:
        raise CannotConvert(
            f"{substance.name} has no molar mass that holds, so '{strength.as_written}' has no meaning for it.",
            "Write the strength in g/L.",
            field="strength",
        )
    grams = strength.value * mass
    return grams, f"{strength.as_written} × {mass:.4f} g/mol = {grams:.6g} {_of(setting)}"


def _volume_share(strength: Strength, substance: Substance, setting: Setting) -> tuple[float, str]:
    _must_be_liquid(strength, substance)
    return _liquid(strength.value / 100, strength.as_written, substance, setting)


def _must_be_liquid(strength: Strength, substance: Substance) -> None:
    if not substance.is_liquid:
        raise CannotConvert(
            f"{substance.name} is not measured by volume, so '{strength.as_written}' has no meaning for it.",
            "Write the strength in g/L, % w/v or % w/w.",
            field="strength",
        )


def _liquid(share: float, written: str, substance: Substance, setting: Setting) -> tuple[float, str]:
    """Grams of active substance for a volume share (of the whole) of the liquid as sold."""
    if setting.volume_is == "added to":
        if share >= 1:
            raise BadQuantity(
                f"'{written}' leaves no room for the solvent.", "Write less than the whole.", field="strength"
            )
        share = share / (1 - share)
    assay = setting.assay_pct if setting.assay_pct is not None else substance.assay_pct
    density = as_sold_density_g_ml(substance, assay)
    sold_ml = 1000 * share
    grams = sold_ml * density * (100.0 if assay is None else assay) / 100
    words = f"{written} = {sold_ml:.6g} mL of {substance.name} as sold per litre"
    if setting.volume_is == "added to":
        words += " of solvent"
    return grams, f"{words} × {density:.4f} g/mL × {assay or 100:g} % = {grams:.6g} g of {substance.active} per litre"


def _weight_share(strength: Strength, substance: Substance, setting: Setting) -> tuple[float, str]:
    share = strength.value / 100
    assay = setting.assay_pct if setting.assay_pct is not None else substance.assay_pct
    if setting.volume_is == "added to" and substance.is_liquid and assay is not None:
        if share >= assay / 100:
            raise BadQuantity(
                f"'{strength.as_written}' cannot be made from {substance.name} of {assay:g} %.",
                "Write a lower strength, or use a stronger grade.",
                field="strength",
            )
        return _sold_by_weight(share / (assay / 100), assay, strength.as_written, substance, setting)
    return _by_weight(share, strength.as_written, substance, setting)


def _by_weight(share: float, written: str, substance: Substance, setting: Setting) -> tuple[float, str]:
    """Grams for a weight share (of the whole solution) of the pure named form."""
    if share + setting.others_pct_ww / 100 >= 1:
        raise BadQuantity(
            f"'{written}' leaves no room for the solvent.", "Write less than the whole.", field="strength"
        )
    if setting.volume_is == "added to":
        litre_g = 1000 * setting.solvent_density_g_ml
        grams = share / (1 - share - setting.others_pct_ww / 100) * litre_g
        return grams, f"{written} = {grams:.6g} g to {litre_g:.5g} g (a litre) of solvent"
    density, words = setting.density_g_ml, setting.density_words
    if density is None:
        density, error = _settled_density(share, substance, written)
        words = f"estimated, ± {error:.3f}, which makes the amount uncertain by {100 * error / density:.1f} %"
    grams = share * 1000 * density
    return grams, f"{written} = {1000 * share:.6g} g per kg × {density:.4f} kg/L ({words}) = {grams:.6g} g/L"


def _settled_density(share: float, substance: Substance, written: str) -> tuple[float, float]:
    """The density at which grams per litre and weight share agree."""
    density, error = 1.0, 0.0
    for _ in range(200):
        try:
            renewed, error, _ = density_of({substance: share * 1000 * density})
        except CannotConvert as trouble:
            raise CannotConvert(
                f"The density of {substance.name} at '{written}' cannot be estimated.",
                "Measure the density of the solution and give it, or write the strength in g/L.",
                field="strength",
            ) from trouble
        if abs(renewed - density) < 1e-7:
            return renewed, error
        density = (density + renewed) / 2
    return density, error + 0.05


def _parts(strength: Strength, substance: Substance, setting: Setting) -> tuple[float, str]:
    by = strength.by or ("volume" if substance.is_liquid else "weight")
    share = strength.value if strength.basis == "parts_in" else strength.value / (1 + strength.value)
    written = strength.as_written if strength.by else f"{strength.as_written} (taken by {by})"
    if strength.basis == "parts_to" and setting.volume_is == "added to":
        setting = replace(setting, others_pct_ww=0.0)  # parts to the solvent, whatever else is in it
    if by == "volume":
        _must_be_liquid(strength, substance)
        return _liquid(share, written, substance, setting)
    if substance.is_liquid and substance.assay_pct is not None:
        assay = setting.assay_pct if setting.assay_pct is not None else substance.assay_pct
        return _sold_by_weight(share, assay, written, substance, setting)
    return _by_weight(share, written, substance, setting)


def _sold_by_weight(
    share: float, assay: float, written: str, substance: Substance, setting: Setting
) -> tuple[float, str]:
    """Parts by weight of a liquid as sold: the parts count what is in the bottle, water and all."""
    if setting.volume_is == "added to":
        grams, words = _by_weight(share, written, substance, setting)
        return grams * assay / 100, f"{words}, of which {assay:g} % is {substance.active}"
    grams, words = _by_weight(share * assay / 100, written, substance, setting)
    return grams, f"{words} of {substance.active} ({assay:g} % of what is sold)"


_READERS = {
    "g_per_l": _weight_per_volume,
    "pct_wv": _weight_per_volume,
    "mol_per_l": _moles,
    "pct_vv": _volume_share,
    "pct_ww": _weight_share,
    "parts_in": _parts,
    "parts_to": _parts,
}
