"""Spoons, cups and pinches of a card as strengths: every reading of the word is a candidate of its own."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from patina.chemistry.old_measures import BULK_HIGH_G_PER_ML, BULK_LOW_G_PER_ML, old_measure
from patina.errors import PatinaError
from patina.matching.card import Card
from patina.matching.ladder import what_may_be_meant
from patina.sheets.reconstruction import MeantRow

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue, Substance

# A spoon of no stated size is each of these in turn.
_SPOONS = ("teaspoon", "dessertspoon", "tablespoon")
_WORDS = ("spoonfuls", "spoonful", "spoons", "spoon")
_ANY_POWDER = "cupric_nitrate_3h2o"  # of an unknown substance only that it is a powder is taken
_WATER = "water"
_LINKS = ("in", "to", "per")
_LEAST_VESSEL_ML = 100.0
COLOURING = frozenset({"sulphide", "selenium", "nitrate", "chloride", "copper", "silver", "iron", "bismuth"})
# Strengths nearer to each other than this ratio make no two tiles.
_NEAR = 1.15


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read a measure. said: of the card; words: as read. low, high: g/L, with what the card says of the
    strength in words taken into account. assumption: what was taken."""

    said: str
    words: str
    low_g_per_l: float
    high_g_per_l: float
    assumption: str


@dataclass(frozen=True, slots=True)
class Spooned:
    """All readings of a card's measures. left: measures that could not be read; cautions: sentences. beside: readings
    of what the card measures beside the substance that works, with its name."""

    readings: tuple[Reading, ...] = ()
    left: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    beside: tuple[tuple[str, Reading], ...] = ()

    def rows(self, name: str) -> list[MeantRow]:
        """What was taken for each reading, for a person; name: of the strength that is sought."""
        return [
            MeantRow(
                factor,
                of,
                f"{r.said}, as {r.words}; {r.assumption}",
                f"{r.low_g_per_l:.3g} to {r.high_g_per_l:.3g} g/L",
            )
            for factor, of, r in (
                *(("strength_g_per_l", name, r) for r in self.readings),
                *(("beside", f"beside it: {substance}", r) for substance, r in self.beside),
            )
        ]

    def strengths(self, levels: int) -> tuple[float, ...]:
        """Strengths in g/L to be ranked: so many of each reading, by ratio; those close together once."""
        import numpy as np

        found: list[float] = []
        for reading in self.readings:
            low, high = reading.low_g_per_l, reading.high_g_per_l
            found += [
                float(v) for v in (np.geomspace(low, high, levels) if high > low * _NEAR else [(low * high) ** 0.5])
            ]
        kept: list[float] = []
        for value in sorted(found):
            if not kept or value > kept[-1] * _NEAR:
                kept.append(float(f"{value:.3g}"))
        return tuple(kept)

    def as_measured(self, values: Mapping[str, float | str]) -> str:
        """Which readings hold a setting's strength, "2 teaspoons or 2 tablespoons"; empty without a measure."""
        strength = values.get("strength_g_per_l")
        if not isinstance(strength, float | int):
            return ""
        fitting = [r.words for r in self.readings if r.low_g_per_l / 1.01 <= strength <= r.high_g_per_l * 1.01]
        return " or ".join(dict.fromkeys(fitting))


def named(known: Catalogue, card: Card) -> str:
    """The substance that works as the card itself names it: of those it measures the first that colours, else the
    first; empty where it names none."""
    of = [_substance(known, name) for name in card.of if name != _WATER]
    there = [one for one in of if one is not None]
    first = next((one for one in there if one.tags & COLOURING), there[0] if there else None)
    return "" if first is None else first.name


def read_measures(known: Catalogue, card: Card, substance: Substance | None, volume_ml: float | None) -> Spooned:
    """What the measures of a card may mean as strengths.

    substance: what works, None where nobody knows: a powder then, which is said. volume_ml: what a measure goes into
    where the card does not say; None: as the table of vague words has it. A measure of another substance is told
    beside; all others are readings of the strength. Where the card names one volume, it is that of all its measures.
    A figure in g/L on the card counts before any spoon. Source: [PRACTICE]; sizes and bulk density as
    ``patina.chemistry.old_measures`` has them.
    """
    if not card.measures:
        return Spooned()
    said = next((m for m in card.meant if m.factor == "strength_g_per_l"), None)
    if said is not None and said.low == said.high:
        words = ", ".join(card.measures)
        return Spooned(cautions=(f"'{words}' was left aside: the card says {said.low:g} g/L.",))
    cautions = []
    measured, volumes = _in_one_volume(known, card)
    if substance is None:
        cautions.append(
            f"What '{card.measures[0]}' is of, is not known: taken as a powder of {BULK_LOW_G_PER_ML:g} to "
            f"{BULK_HIGH_G_PER_ML:g} g/mL. Name the chemical."
        )
        substance = known.get(_ANY_POWDER)
    readings: list[Reading] = []
    beside: list[tuple[str, Reading]] = []
    left = list(volumes)
    tried = []
    for measure, name in measured:
        other = _substance(known, name)
        apart = other is not None and not _same(other, substance)
        what = other if other is not None and apart else substance
        try:
            found = [_read(measure, words, what, volume_ml) for words in _ways(measure)]
        except PatinaError:
            left.append(measure)
            continue
        if apart:
            beside += [(what.name, one) for one in found]
        else:
            readings += found
            tried.append(measure)
    if len(tried) > 1:
        several = ", ".join(f"'{measure}'" for measure in tried)
        cautions.append(f"The card gives several measures that may be of it: {several}. Each is tried as the strength.")
    if said is not None and readings:
        readings, more = _together(readings, said.said, said.low, said.high)
        cautions += more
    return Spooned(tuple(readings), tuple(left), tuple(cautions), tuple(beside))


def _in_one_volume(known: Catalogue, card: Card) -> tuple[list[tuple[str, str]], list[str]]:
    """The card's measures, each with what it is of, and with the volume that the card names beside another of them
    or alone; then volumes that belong to nothing."""
    measured, alone, told = [], [], []
    for measure, name in zip(card.measures, card.of or ("",) * len(card.measures), strict=True):
        link = next((f" {word} " for word in _LINKS if f" {word} " in measure), "")
        if not link and name in ("", _WATER) and _is_vessel(known, measure):
            alone.append(measure)
            continue
        if link:
            told.append(measure.partition(link)[2])
        measured.append((measure, name))
    volumes = list(dict.fromkeys([*told, *alone]))
    if len(volumes) != 1:
        return measured, alone
    whole = [(m if any(f" {w} " in m for w in _LINKS) else f"{m} in {volumes[0]}", name) for m, name in measured]
    return whole, [] if whole else alone


def _is_vessel(known: Catalogue, measure: str) -> bool:
    """Whether it is what something is dissolved in: a volume of a tenth of a litre or more."""
    try:
        return old_measure(f"1 g in {measure}", known.get(_ANY_POWDER)).high_g_per_l <= 1000 / _LEAST_VESSEL_ML
    except PatinaError:
        return False


def _substance(known: Catalogue, name: str) -> Substance | None:
    try:
        return known.find(name) if name else None
    except PatinaError:
        return None


def _same(one: Substance, other: Substance) -> bool:
    """Whether two are one thing: the same, or forms of one salt."""
    return one.key == other.key or (bool(one.base) and one.base == other.base)


def _ways(measure: str) -> tuple[str, ...]:
    """The measure in each of its readings.

    >>> _ways("2 spoons in a pint")
    ('2 teaspoons in a pint', '2 dessertspoons in a pint', '2 tablespoons in a pint')
    """
    for word in _WORDS:
        if f" {word}" in f" {measure}":
            own = next(w for w in measure.split() if w in _WORDS)
            plural = "s" if own.endswith("s") else ""
            return tuple(measure.replace(own, one + plural, 1) for one in _SPOONS)
    return (measure,)


def _read(said: str, words: str, substance: Substance, volume_ml: float | None) -> Reading:
    """One reading; where no volume is known the ends of what is usual are taken."""
    if any(f" {link} " in words for link in _LINKS):
        found = old_measure(words, substance)
        return Reading(said, words, found.low_g_per_l, found.high_g_per_l, found.assumption)
    least, most = what_may_be_meant("volume not said", "volume_ml") if volume_ml is None else (volume_ml, volume_ml)
    strong, weak = old_measure(words, substance, least), old_measure(words, substance, most)
    into = f"{most:g} mL" if least == most else f"{least:g} to {most:g} mL"
    assumed = strong.assumption.rpartition("; in ")[0] or strong.assumption
    unsaid = "" if volume_ml is not None else ", which the card does not say"
    return Reading(said, words, weak.low_g_per_l, strong.high_g_per_l, f"{assumed}; in {into}{unsaid}")


def _together(readings: list[Reading], word: str, low: float, high: float) -> tuple[list[Reading], list[str]]:
    """Readings with the card's own word for the strength: what both allow; what they do not is dropped, and said."""
    both, dropped = [], []
    for r in readings:
        least, most = max(r.low_g_per_l, low), min(r.high_g_per_l, high)
        if least <= most:
            both.append(
                Reading(r.said, r.words, least, most, f"{r.assumption}; '{word}' taken as {low:g} to {high:g} g/L")
            )
        else:
            dropped.append(r.words)
    if not both:
        return readings, [
            f"'{word}' ({low:g} to {high:g} g/L) does not go with {readings[0].said}; the measure counts."
        ]
    return both, [f"As {', '.join(dropped)} it would not be '{word}'."] if dropped else []
