"""How strong a solution is, as a recipe writes it: g/L, per cent with its basis, mol/L, parts, ounces per gallon.

Source: [SI], [HB44]
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NoReturn

from patina.chemistry.strength_parts import BASIS_WORDS, read_parts
from patina.chemistry.strength_value import ACCEPTED, BASES, Strength, checked
from patina.errors import AmbiguousQuantity, BadQuantity
from patina.units import Unit, find_unit, split_quantity, tidy

if TYPE_CHECKING:
    from patina.chemistry.substances import Substance


__all__ = ["ACCEPTED", "BASES", "Strength", "grams_per_litre", "parse_strength", "show_strength"]

_MOLAR = {
    "mol": 1.0,
    "mole": 1.0,
    "moles": 1.0,
    "mols": 1.0,
    "mmol": 0.001,
    "mmole": 0.001,
    "millimole": 0.001,
    "millimoles": 0.001,
}


def parse_strength(text: str, field: str | None = None) -> Strength:
    """A strength from the words of a recipe.

    Reads g/L and other weights per volume ("50 g / 500 mL", "5 g per litre", "2 oz/US gal", the
    ounce being the avoirdupois ounce of weight), "% w/v", "% w/w", "% v/v" with "by weight" and
    "by volume", mol/L and M, and parts ("1 part in 20", "1 part to 20", "1 in 20", "1 + 19").
    Raises AmbiguousQuantity where there are two readings ("1:20", "5 %", "2 oz/gal", "1,234 g/L"),
    BadQuantity for what is no strength, not above zero, or more than can be meant.

    >>> parse_strength("50 g / 500 mL").value
    100.0
    >>> parse_strength("1 part in 20")
    Strength(as_written='1 part in 20', basis='parts_in', value=0.05, by='', note='')
    """
    clean = tidy(text)
    parts = read_parts(clean, text, field)
    if parts is not None:
        return parts
    value, words = split_quantity(text, field)
    if not words:
        raise BadQuantity(
            f"'{text}' is a number without a unit.", f"Write the strength with its unit: {ACCEPTED}.", field=field
        )
    _refuse_two(words, text, field)
    for reader in (_per_cent, _molar, _per_volume):
        found = reader(value, words, text, field)
        if found is not None:
            return checked(found, field)
    return _refuse_amount(words, text, field)


def show_strength(strength: Strength) -> str:
    """The strength in plain words that read back to the same value.

    >>> show_strength(parse_strength("50 g per litre"))
    '50 g/L'
    """
    if strength.basis not in BASES:  # held by the studio
        return strength.as_written
    figure = f"{strength.value:.12g}"
    if strength.basis in ("parts_in", "parts_to"):
        word = "in" if strength.basis == "parts_in" else "to"
        by = f" by {strength.by}" if strength.by else ""
        other = f"{1 / strength.value:.12g}"
        return f"1 part {word} {other}{by}" if "e" not in other else f"{figure} parts {word} 1{by}"
    suffix = {"g_per_l": "g/L", "pct_wv": "% w/v", "pct_ww": "% w/w", "pct_vv": "% v/v", "mol_per_l": "mol/L"}
    return f"{figure} {suffix[strength.basis]}"


def grams_per_litre(
    strength: Strength, substance: Substance, *, volume_is: str, solution_density_g_ml: float | None = None
) -> tuple[float, str]:
    """Grams of the pure named form per litre, with the sum in words: see `concentration.grams_per_litre`."""
    from patina.chemistry import concentration  # it needs Strength, defined here

    return concentration.grams_per_litre(
        strength, substance, volume_is=volume_is, solution_density_g_ml=solution_density_g_ml
    )


def _refuse_two(words: str, text: str, field: str | None) -> None:
    """Refuses a second amount, as in "5 g/L 3 %"; "50 g / 500 mL" and "50 g in 1 L" are one."""
    rest = re.sub(r"(?:/|\bper\b|\bin\b|\bto\b)\s*\d+(?:[.,]\d+)?", "/", words, count=1)
    rest = re.sub(r"[a-zA-Z]\^?-?[123]\b", "", rest)
    if re.search(r"\d|[+;&]", rest):
        raise BadQuantity(f"'{text}' holds two amounts.", "Write one strength for one substance.", field=field)


def _per_cent(value: float, words: str, text: str, field: str | None) -> Strength | None:
    lower = words.casefold()
    match = re.fullmatch(r"(wt|vol|w/v|w/w|v/v)?[.\s-]*(?:%|percent|per cent|pct)(.*)", lower)
    if not match:
        return None
    flat = re.sub(r"[^a-z]", "", (match.group(1) or "") + match.group(2))
    basis = BASIS_WORDS.get(flat)
    if basis:
        return Strength(text, basis, value)
    if flat:
        raise BadQuantity(
            f"'{words}' in '{text}' is not a basis that is known.", "Write '% w/v', '% w/w' or '% v/v'.", field=field
        )
    readings = (
        f"{value:g} % w/v (grams in 100 mL)",
        f"{value:g} % w/w (grams in 100 g)",
        f"{value:g} % v/v (mL in 100 mL)",
    )
    raise AmbiguousQuantity(
        f"'{text}' does not say per cent of what: it can mean {', '.join(readings[:2])} or {readings[2]}.",
        f"Write '{value:g} % w/v', '{value:g} % w/w' or '{value:g} % v/v'.",
        readings=readings,
        field=field,
    )


def _molar(value: float, words: str, text: str, field: str | None) -> Strength | None:
    if words in ("M", "molar", "Molar", "mM"):
        return Strength(text, "mol_per_l", value * (0.001 if words == "mM" else 1))
    if words in ("N", "normal", "m", "molal"):
        named = "normality" if words in ("N", "normal") else "molality or metres"
        raise BadQuantity(
            f"'{words}' in '{text}' is {named}, which is not used here.", "Write it in mol/L or g/L.", field=field
        )
    above, below = _halves(words)
    if above.casefold() not in _MOLAR or not below:
        return None
    count, unit = _bottom(below, text, field)
    if unit.kind != "volume":
        raise BadQuantity(f"'{text}' is not an amount per volume.", "Write it in mol/L.", field=field)
    return Strength(text, "mol_per_l", value * _MOLAR[above.casefold()] / (count * unit.factor / 1000))


def _halves(words: str) -> tuple[str, str]:
    """What stands above and below the bar of "g/L", "g per litre", "g in 1 L", "g L-1"."""
    spelled = re.sub(r"(?:\s*[·⋅.]\s*|\s+|(?<=[gl]))(l|ml|L|mL)\^?-1\b", r" / \1", words)
    spelled = re.sub(r"\s*[·⋅. ]\s*(dm|cm|m)\^?-3\b", r" / \g<1>3", spelled)
    pieces = re.split(r"\s*/\s*|\s+per\s+|\s+in\s+|\s+(?:made up )?to\s+(?:the\s+|a\s+)?|\s+a\s+", spelled, maxsplit=1)
    return (pieces[0].strip(), pieces[1].strip()) if len(pieces) == 2 else (words.strip(), "")


def _bottom(words: str, text: str, field: str | None) -> tuple[float, Unit]:
    plain = re.sub(r"\s+(?:of\s+)?(?:water|solution|solvent|distilled water)$", "", words, flags=re.I)
    count, name = split_quantity(plain, field) if re.match(r"[\d.,]", plain) else (1.0, plain)
    if count <= 0:
        raise BadQuantity(f"'{text}' is per zero volume.", "Write the volume above zero.", field=field)
    return count, find_unit(name, field, whole=text)


def _per_volume(value: float, words: str, text: str, field: str | None) -> Strength | None:
    above, below = _halves(words)
    if not below:
        return None
    note = ""
    if re.fullmatch(r"(oz|ounces?|ozs)\.?", above, re.I):
        above, note = "oz av", "ounce taken as the avoirdupois ounce of weight, 28.35 g"
    country = re.match(r"[\d.,\s]*(us|imp|imperial|uk)\b", below, re.I)
    if country and re.fullmatch(r"fl\.? ?oz\.?|fluid ounces?|fl\.? ?dra?c?h?m?s?", above, re.I):
        above = f"{country.group(1)} {above}"
    _ask_gallon(value, above, below, text, field)
    top = find_unit(above, field, whole=text)
    count, bottom = _bottom(below, text, field)
    ratio = value * top.factor / (count * bottom.factor)
    if (top.kind, bottom.kind) == ("mass", "volume"):
        return Strength(text, "g_per_l", ratio * 1000, "", note)
    if (top.kind, bottom.kind) == ("volume", "volume"):
        return Strength(text, "pct_vv", ratio * 100)
    if (top.kind, bottom.kind) == ("mass", "mass"):
        return Strength(text, "pct_ww", ratio * 100)
    raise BadQuantity(f"'{text}' is not a strength.", f"Write it as {ACCEPTED}.", field=field)


def _ask_gallon(value: float, above: str, below: str, text: str, field: str | None) -> None:
    """Says what each gallon (quart, pint, fluid ounce) would give, in g/L, where the recipe does not say which."""
    plain = re.sub(r"^[\d.,]+\s*", "", below)
    name = {
        "gal": "gal",
        "gals": "gal",
        "gallon": "gal",
        "gallons": "gal",
        "qt": "qt",
        "quart": "qt",
        "pt": "pt",
        "pint": "pt",
        "pints": "pt",
    }
    short = name.get(plain.casefold().rstrip("."))
    if short is None:
        return
    top = find_unit(above, field, whole=text)
    if top.kind != "mass":
        return
    count = split_quantity(below, field)[0] if re.match(r"[\d.,]", below) else 1.0
    figures = [value * top.factor * 1000 / (count * find_unit(f"{which} {short}").factor) for which in ("US", "imp")]
    readings = (f"per US {short}, {figures[0]:.2f} g/L", f"per imperial {short}, {figures[1]:.2f} g/L")
    raise AmbiguousQuantity(
        f"'{text}' does not say which {plain}: {readings[0]}, or {readings[1]}.",
        f"Write '/US {short}' or '/imp {short}'.",
        readings=readings,
        field=field,
    )


def _refuse_amount(words: str, text: str, field: str | None) -> NoReturn:
    if words.casefold() in ("ppm", "ppb", "ppt", "‰"):
        raise BadQuantity(
            f"'{text}' does not say parts of what.", "Write it in mg/L or in % with its basis.", field=field
        )
    unit = find_unit(words, field, whole=text)
    raise BadQuantity(
        f"'{text}' is an amount, but not in how much: {unit.name} per what?",
        f"Write the strength as {ACCEPTED}.",
        field=field,
    )
