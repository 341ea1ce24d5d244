"""Measures of old recipes, read as what they can mean: an interval, never a single figure.

Source: [HB44], [BAUME] and the rows of ``data/old_measures.csv``
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

from patina.chemistry.density import density_of, water_density_g_ml
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import Substance
from patina.datafile import number, read_table, text, words
from patina.errors import BadQuantity, CannotConvert, PatinaError
from patina.units import find_unit, split_quantity, tidy, unit_table
from patina.units import number as number_of

BULK_LOW_G_PER_ML, BULK_HIGH_G_PER_ML = 0.8, 1.3
HEAVY_MODULI = (144.0, 145.0)
BAUME_READING_ERROR = 0.5
MOST_G_PER_L = 4000.0
PEROXIDE_G_PER_MOL = 34.0147
OXYGEN_L_PER_MOL = (22.414, 24.055)


@dataclass(frozen=True, slots=True)
class StrengthInterval:
    """What an old strength can mean, in grams of the named form per litre.

    low_g_per_l to high_g_per_l: the ends of all readings. assumption: what was taken, in words.
    source: keys of the sources, parted by semicolons.
    """

    as_written: str
    low_g_per_l: float
    high_g_per_l: float
    assumption: str
    source: str

    def __str__(self) -> str:
        return f"{self.low_g_per_l:.3g} to {self.high_g_per_l:.3g} g/L ({self.assumption})"


@dataclass(frozen=True, slots=True)
class _Measure:
    kind: str
    low: float
    high: float
    assumption: str
    source: str

    def times(self, count: float) -> _Measure:
        return _Measure(self.kind, self.low * count, self.high * count, self.assumption, self.source)


@cache
def _table() -> dict[str, _Measure]:
    columns = {"words": words, "kind": text, "low": number, "high": number, "assumption": text, "source": text}
    return {
        word: _Measure(row["kind"], row["low"], row["high"], row["assumption"], row["source"])
        for row in read_table("old_measures.csv", columns)
        for word in row["words"]
    }


def old_measure(
    written: str, substance: Substance, volume_ml: float | None = None, field: str | None = None
) -> StrengthInterval:
    """What "2 tsp per pint", "1 drachm to the gallon", "8 deg Baume" or "medium stock" can mean, in g/L.

    substance: what is measured (its form decides between weight and volume). volume_ml: the volume
    it goes into, where the words do not say one ("2 tsp" in 250 mL). A strength that needs no
    guessing comes back with both ends equal, or nearly.
    Raises BadQuantity for words that are not understood or a volume missing, CannotConvert where
    degrees Baumé cannot be turned into grams for that substance.
    """
    clean = tidy(written)
    baume = re.fullmatch(r"([\d.,]+)\s*(?:°|deg\.?|degrees?)?\s*(?:baum[eé]|b[eé]|tw(?:addell?)?)\.?", clean, re.I)
    if baume:
        return _from_hydrometer(number_of(baume.group(1), field), "tw" in clean.casefold(), substance, written)
    volumes = re.fullmatch(r"([\d.,]+)\s*(?:vols?\.?|volumes?)(?:\s+(?:hydrogen\s+)?peroxide)?", clean, re.I)
    if volumes and "peroxide" in substance.tags:
        return _from_volumes(number_of(volumes.group(1), field), written)
    known = _table().get(clean.casefold())
    if known is not None and known.kind == "g_per_l":
        return StrengthInterval(written, known.low, known.high, known.assumption, known.source)
    certain = _certain(written)
    if certain is not None:
        return certain
    return _from_amount(clean, written, substance, volume_ml, field)


def _from_volumes(volumes: float, written: str) -> StrengthInterval:
    """Peroxide by the litres of oxygen a litre gives: two molecules to one of oxygen. Source: [PEROXIDE-VOL]"""
    per_mole_of_oxygen_g = 2 * PEROXIDE_G_PER_MOL
    low, high = (volumes / litres * per_mole_of_oxygen_g for litres in reversed(OXYGEN_L_PER_MOL))
    assumption = "litres of oxygen from a litre, measured at 0 °C or at 20 °C; an old bottle holds less"
    return StrengthInterval(written, low, high, assumption, "PEROXIDE-VOL")


def _certain(written: str) -> StrengthInterval | None:
    """A strength that reads without guessing and is a weight per volume."""
    try:
        strength = parse_strength(written)
    except PatinaError:
        return None
    if strength.basis not in ("g_per_l", "pct_wv") or strength.note:
        return None
    grams = strength.value * (10 if strength.basis == "pct_wv" else 1)
    return StrengthInterval(written, grams, grams, "as written", "SI")


def _from_amount(
    clean: str, written: str, substance: Substance, volume_ml: float | None, field: str | None
) -> StrengthInterval:
    pieces = re.split(r"(?<=[A-Za-z.)])\s*/\s*|\s+(?:per|in|to)\s+(?:the\s+|a\s+)?", clean, maxsplit=1, flags=re.I)
    top = _grams(_measured(pieces[0], written, field), substance)
    if len(pieces) == 2:
        bottom = _measured(pieces[1], written, field)
    elif volume_ml is not None and volume_ml > 0:
        bottom = _Measure("ml", volume_ml, volume_ml, f"in {volume_ml:g} mL", "SI")
    else:
        raise BadQuantity(f"'{written}' does not say in how much.", "Give the volume it goes into.", field=field)
    if bottom.kind != "ml":
        raise BadQuantity(
            f"'{pieces[1]}' in '{written}' is not a volume.", "Name the volume, such as 'per pint'.", field=field
        )
    assumed = "; ".join(dict.fromkeys(a for a in (top.assumption, bottom.assumption) if a)) or "as written"
    sources = ";".join(dict.fromkeys((*top.source.split(";"), *bottom.source.split(";"))))
    return StrengthInterval(written, 1000 * top.low / bottom.high, 1000 * top.high / bottom.low, assumed, sources)


def _measured(piece: str, written: str, field: str | None) -> _Measure:
    """A count and a word: from the old words first, then from the units that are certain."""
    count, word = split_quantity(piece, field) if re.match(r"[\d.,½¼¾⅓]", piece) else (1.0, piece)
    word = re.sub(
        r"^(?:an?|the)\s+", "", re.sub(r"\s+(?:of\s+)?(?:\w+\s+)?(?:water|solution|solvent)$", "", word), flags=re.I
    )
    level = re.match(r"(level|heaped|scant|rounded)\s+", word, re.I)
    known = _table().get((word[level.end() :] if level else word).casefold())
    if known is not None and known.kind != "g_per_l":
        return known.times(count)
    if word.casefold() not in unit_table():
        raise BadQuantity(
            f"'{word}' in '{written}' is not a measure that is known here.", "Write it in g/L.", field=field
        )
    unit = find_unit(word, field, whole=written)
    if unit.kind not in ("mass", "volume"):
        raise BadQuantity(f"'{word}' in '{written}' is no weight and no volume.", "Write it in g/L.", field=field)
    amount = count * unit.factor
    return _Measure("g" if unit.kind == "mass" else "ml", amount, amount, "", unit.source)


def _grams(measure: _Measure, substance: Substance) -> _Measure:
    """Grams of the named form: a spoon of powder by bulk density, a liquid by its density and assay."""
    if measure.kind == "g":
        if substance.is_liquid and "ounce" in measure.assumption:
            fluid = _table()["fl oz"]
            count = measure.low / _table()["oz"].low
            return _grams(fluid.times(count), substance)
        return measure
    if substance.is_liquid and substance.density_g_ml:
        factor = substance.density_g_ml * (substance.assay_pct or 100) / 100
        said = f"{substance.name} as sold, {substance.assay_pct or 100:g} %"
        return _Measure(
            "g", measure.low * factor, measure.high * factor, _joined(measure.assumption, said), measure.source
        )
    said = f"bulk density {BULK_LOW_G_PER_ML:g} to {BULK_HIGH_G_PER_ML:g} g/mL"
    low, high = measure.low * BULK_LOW_G_PER_ML, measure.high * BULK_HIGH_G_PER_ML
    return _Measure("g", low, high, _joined(measure.assumption, said), f"{measure.source};PRACTICE")


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)


def baume_density_g_ml(degrees: float, *, lighter: bool = False) -> tuple[float, float]:
    """Lowest and highest density in g/mL for degrees Baumé, over the usual scales.

    degrees: 0 to 70 for liquids heavier than water, 10 to 70 for lighter ones (ammonia, spirit).
    Heavier: 145/(145 - B) at 60 °F (US) and 144/(144 - B) (older European); lighter: 140/(130 + B).
    Raises BadQuantity outside these.
    Source: [BAUME]

    >>> [round(d, 3) for d in baume_density_g_ml(42)]
    [1.406, 1.41]
    """
    low, high = (10.0, 70.0) if lighter else (0.0, 70.0)
    if not low <= degrees <= high:
        raise BadQuantity(f"{degrees:g} °Baumé is outside {low:g} to {high:g}.", "Check the reading.")
    at_60f = 0.99904
    if lighter:
        return (140 / (130 + degrees) * at_60f,) * 2
    values = [modulus / (modulus - degrees) * at_60f for modulus in HEAVY_MODULI]
    return min(values), max(values)


def _from_hydrometer(degrees: float, twaddell: bool, substance: Substance, written: str) -> StrengthInterval:
    lighter = "ammonia" in substance.tags or (substance.density_g_ml or 1.0) < 1
    error = BAUME_READING_ERROR
    if twaddell:
        low, high = 1 + 0.005 * (degrees - error), 1 + 0.005 * (degrees + error)
        words_ = "degrees Twaddell, 1 + 0.005 × degrees"
    else:
        ends = [
            baume_density_g_ml(max(d, 10.0 if lighter else 0.0), lighter=lighter)
            for d in (degrees - error, degrees + error)
        ]
        low, high = min(min(e) for e in ends), max(max(e) for e in ends)
        words_ = "degrees Baumé on the US or the older European scale"
    grams = sorted((*_grams_at_density(low, substance), *_grams_at_density(high, substance)))
    assumption = (
        f"{words_}, read to ± {error:g}, density {low:.3f} to {high:.3f} g/mL, of {substance.name} alone in water"
    )
    return StrengthInterval(written, grams[0], grams[-1], assumption, "BAUME;LAL09")


def _grams_at_density(wanted_g_ml: float, substance: Substance) -> tuple[float, float]:
    """Lowest and highest grams per litre at which a watery solution of the substance has that density.

    From the grades in which a liquid is sold where there are several, else from the estimate of
    `density_of` with its error. 0 where water itself is beyond that density.
    """
    if substance.solubility_g_per_l == 0:
        raise CannotConvert(f"{substance.name} does not dissolve in water.", "Degrees Baumé say nothing of it.")
    if substance.is_liquid and len(substance.grades) > 3:
        return _in_grades(wanted_g_ml, substance)
    middle = _solved(wanted_g_ml, substance)
    error = density_of({substance: middle})[1]
    return _solved(wanted_g_ml - error, substance), _solved(wanted_g_ml + error, substance)


def _in_grades(wanted_g_ml: float, substance: Substance) -> tuple[float, float]:
    points = [(0.0, water_density_g_ml(20)), *((g.assay_pct, g.density_g_ml) for g in substance.grades)]
    for (pct, density), (next_pct, next_density) in pairwise(points):
        if min(density, next_density) <= wanted_g_ml <= max(density, next_density) and density != next_density:
            assay = pct + (wanted_g_ml - density) / (next_density - density) * (next_pct - pct)
            return (10 * assay * wanted_g_ml,) * 2
    first, last = points[0][1], points[-1][1]
    if (wanted_g_ml < first) == (last > first):
        return 0.0, 0.0
    if abs(wanted_g_ml - last) < 0.03:
        return (10 * points[-1][0] * last,) * 2
    raise _beyond(wanted_g_ml, substance)


def _beyond(wanted_g_ml: float, substance: Substance) -> CannotConvert:
    return CannotConvert(
        f"No solution of {substance.name} in water reaches {wanted_g_ml:.3f} g/mL as far as is known here.",
        "Check the degrees and the substance.",
    )


def _solved(wanted_g_ml: float, substance: Substance) -> float:
    """By halving: the estimate of the density rises with the grams."""
    if wanted_g_ml <= water_density_g_ml(20):
        return 0.0
    low, high = 0.0, 50.0
    try:
        while density_of({substance: high})[0] < wanted_g_ml:
            low, high = high, high * 1.2
            if high > MOST_G_PER_L:
                raise _beyond(wanted_g_ml, substance)
    except CannotConvert as trouble:
        raise _beyond(wanted_g_ml, substance) from trouble
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if density_of({substance: middle})[0] < wanted_g_ml else (low, middle)
    return (low + high) / 2
