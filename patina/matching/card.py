"""An old card read: what its words may mean as settings, and what of it was not understood."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from patina.datafile import Parser, number, read_table, words
from patina.datafile import text as text_of
from patina.matching.ladder import vague_words

_NUMBERS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
}  # fmt: skip
METHODS = ("torch", "cold brush", "spray", "stipple", "immersion", "fume", "oven")
_COATS = re.compile(r"\b(coats?|passes|pass|times|layers?|applications?)\b")
_STRENGTH = re.compile(r"(\d+(?:\.\d+)?)\s*(?:g\s*/\s*l|g per l(?:itre)?)\b")
_CELSIUS = re.compile(r"(\d+(?:\.\d+)?)\s*(?:°\s*c|deg\s*c|c)\b")
_FAHRENHEIT = re.compile(r"(\d+(?:\.\d+)?)\s*(?:°\s*f|deg\s*f|f)\b")
_RANGE = re.compile(r"(\d+)\s*(?:-|to)\s*(\d+)\s*(?:coats?|passes|times|layers?)\b")
_COUNT = re.compile(r"(\d+)\s*(?:coats?|passes|pass|times|layers?)\b")
_FILLED = r"(?:level|heaped|scant|rounded)\s+"
_VESSELS = ("l", "litre", "litres", "liter", "liters", "ml", "millilitres", "cc")
_LEAST_VESSEL_ML = 100.0
_NOISE = frozenset(
    {"of", "in", "a", "an", "the", "and", "with", "water", "metal", "then", "very", "to", "by", "at", "on"}
)


@dataclass(frozen=True, slots=True)
class Meant:
    """What a part of the card may mean. factor: key of a setting; low, high: in the unit of the key, alike for a
    figure; word: for a factor that is a word (method)."""

    said: str
    factor: str
    low: float = 0.0
    high: float = 0.0
    word: str = ""


@dataclass(frozen=True, slots=True)
class Card:
    """A card as read. meant: one entry to a factor. left: words that were not understood. measures: household and
    old measures as they stand, "2 spoons" or "2 spoons in a pint", which say how much and not how strong."""

    meant: tuple[Meant, ...]
    left: tuple[str, ...]
    measures: tuple[str, ...] = ()

    def settings(self) -> Mapping[str, tuple[float, float] | str | float]:
        """What is meant, as ``ladder.candidates`` takes it."""
        return {m.factor: m.word or ((m.low, m.high) if m.high > m.low else m.low) for m in self.meant}


def read_card(text: str) -> Card:
    """What a card says of strength, passes, temperature and method.

    Figures count before words: "30 g/L", "110 °C", "3 coats". Measures of the house ("2 spoons") are handed on
    as they stand: what they hold hangs on the substance. Source: [PRACTICE] for the words.

    >>> card = read_card("2 spoons medium, few coats, hot")
    >>> [(m.factor, m.low, m.high) for m in card.meant]
    [('strength_g_per_l', 30.0, 150.0), ('passes', 2.0, 4.0), ('surface_c', 80.0, 110.0)]
    >>> card.measures, card.left
    (('2 spoons',), ())
    """
    rest = " ".join(text.casefold().split())
    amounts, vessels = _measure_patterns()
    for word, figure in _NUMBERS.items():
        rest = re.sub(
            rf"\b{word}\b(?=\s+(?:\w*(?:coat|pass|time|layer)|(?:{_FILLED})?(?:{amounts})\b))", str(figure), rest
        )
    meant: dict[str, Meant] = {}
    left: list[str] = []

    def take(pattern: re.Pattern[str], factor: str, unit: float = 1.0, shift: float = 0.0) -> None:
        nonlocal rest
        found = pattern.search(rest)
        if found is not None and factor not in meant:
            ends = [float(g) for g in found.groups()]
            values = [(v - shift) * unit for v in ends]
            meant[factor] = Meant(found[0].strip(), factor, min(values), max(values))
            rest = rest[: found.start()] + " | " + rest[found.end() :]

    take(_STRENGTH, "strength_g_per_l")
    take(_CELSIUS, "surface_c")
    take(_FAHRENHEIT, "surface_c", 5 / 9, 32.0)
    take(_RANGE, "passes")
    take(_COUNT, "passes")
    measures: list[str] = []
    asked = re.compile(
        rf"\b(?:\d+(?:[.,]\d+)?|an?)\s+(?:{_FILLED})?(?:{amounts})\b(?:\s+(?:of\s+\w+\s+)?(?:in|to|per)\s+(?:an?\s+|the\s+)?"
        rf"(?:\d+(?:[.,]\d+)?\s*)?(?:{vessels})\b)?"
    )
    while (found := asked.search(rest)) is not None:
        measures.append(re.sub(r"\s+of\s+\w+", "", found[0].strip()))
        rest = rest[: found.start()] + " | " + rest[found.end() :]
    for method in METHODS:
        if "method" not in meant and re.search(rf"\b{method}(?:ed)?\b", rest):
            meant["method"] = Meant(method, "method", word=method)
            rest = re.sub(rf"\b{method}(?:ed)?\b", " | ", rest)
    for (word, factor), (low, high) in sorted(vague_words().items(), key=lambda item: -len(item[0][0])):
        if factor not in meant and re.search(rf"\b{word}\b", rest):
            meant[factor] = Meant(word, factor, low, high)
            rest = re.sub(rf"\b{word}\b", " | ", rest)
    words = re.findall(r"[^\W\d_][\w'-]*|\d[\d.]*", _COATS.sub(" ", rest))
    left += [w for w in words if w not in _NOISE]
    order = ("strength_g_per_l", "passes", "surface_c", "method")
    return Card(tuple(meant[f] for f in order if f in meant), tuple(left), tuple(measures))


@cache
def _measure_patterns() -> tuple[str, str]:
    """Words for amounts, and for what they go into, longest first, from the table of old measures."""
    columns: dict[str, Parser] = {
        "words": words, "kind": text_of, "low": number, "high": number, "assumption": text_of, "source": text_of,
    }  # fmt: skip
    amounts, vessels = set(), set(_VESSELS)
    for row in read_table("old_measures.csv", columns):
        if row["kind"] in ("g", "ml"):
            amounts.update(row["words"])
        if row["kind"] == "ml" and row["low"] >= _LEAST_VESSEL_ML:
            vessels.update(row["words"])
    return tuple("|".join(map(re.escape, sorted(w, key=len, reverse=True))) for w in (amounts, vessels))  # type: ignore[return-value]
