"""An old card read: what its words may mean as settings, and what of it was not understood."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
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
    old measures as they stand, "2 spoons" or "2 spoons in a pint", which say how much and not how strong. of: what
    each of them is of, as the card names it, empty where it does not."""

    meant: tuple[Meant, ...]
    left: tuple[str, ...]
    measures: tuple[str, ...] = ()
    of: tuple[str, ...] = ()

    def settings(self) -> Mapping[str, tuple[float, float] | str | float]:
        """What is meant, as ``ladder.candidates`` takes it."""
        return {m.factor: m.word or ((m.low, m.high) if m.high > m.low else m.low) for m in self.meant}


def read_card(text: str, names: Collection[str] = ()) -> Card:
    """What a card says of strength, passes, temperature and method. names: of substances, in small letters, that
    may stand after a measure.

    Figures count before words: "30 g/L", "110 °C", "3 coats". Measures of the house ("2 spoons") are handed on
    as they stand: what they hold hangs on the substance. Source: [PRACTICE] for the words.

    >>> card = read_card("2 spoons medium, few coats, hot")
    >>> [(m.factor, m.low, m.high) for m in card.meant]
    [('strength_g_per_l', 30.0, 150.0), ('passes', 2.0, 4.0), ('surface_c', 80.0, 110.0)]
    >>> card.measures, card.left
    (('2 spoons',), ())
    >>> card = read_card("a spoon of ferric nitrate, 1 pinch salt in a pint", ("ferric nitrate", "salt"))
    >>> card.measures, card.of
    (('a spoon', '1 pinch in a pint'), ('ferric nitrate', 'salt'))
    """
    rest = " ".join(text.casefold().split())
    amounts, _ = _measure_patterns()
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
    of: list[str] = []
    asked = _measure_pattern(tuple(sorted(names, key=len, reverse=True)))
    while (found := asked.search(rest)) is not None:
        measures.append(" ".join(f"{found['amount']} {found['into'] or ''}".split()))
        of.append((found["name"] or found["other"] or "").strip())
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
    return Card(tuple(meant[f] for f in order if f in meant), tuple(left), tuple(measures), tuple(of))


@cache
def _measure_pattern(names: tuple[str, ...]) -> re.Pattern[str]:
    """A measure, what it is of, and what it goes into. names: of substances, longest first."""
    amounts, vessels = _measure_patterns()
    named = rf"\s+(?:of\s+)?(?P<name>{'|'.join(map(re.escape, names))})\b|" if names else r"(?P<name>(?!))|"
    return re.compile(
        rf"\b(?P<amount>(?:\d+(?:[.,]\d+)?|an?)\s+(?:{_FILLED})?(?:{amounts})\b)(?:{named}\s+of\s+(?P<other>\w+))?"
        rf"(?P<into>\s+(?:in|to|per)\s+(?:an?\s+|the\s+)?(?:\d+(?:[.,]\d+)?\s*)?(?:{vessels})\b)?"
    )


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
