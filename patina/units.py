"""Quantities as people write them: numbers, areas, volumes, weights, lengths, temperatures, times, shares.

Every reader takes text and returns a float in the unit of the function's name. Factors are exact
definitions in ``data/units.csv`` (SI, NIST Handbook 44), so that a form field is read at once; a
unit that is not in that table is asked of pint, which is imported only then. What a careful person
would ask about (bare ounces, gallons, pints, tons, spoons, "1,234") is refused with its readings.

Source: [SI], [HB44]
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from patina.datafile import number as _cell_number
from patina.datafile import read_table, text, words
from patina.errors import AmbiguousQuantity, BadQuantity

_FRACTION = r"\d+\s*/\s*\d+"
_DIGITS = r"\d{1,3}(?:[ ']\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)*|[.,]\d+"
_NUMBER = re.compile(
    rf"(?P<sign>[+-]\s*)?(?P<num>\d+\s+{_FRACTION}|{_FRACTION}|(?:{_DIGITS})(?:e[+-]?\d+|\s*x\s*10\^?[+-]?\d+)?)", re.I
)
_VULGAR = re.compile("([¼-¾⅐-⅞])")
_SUPERSCRIPT = re.compile("([⁰¹²³⁴-⁹⁻⁺]+)")
_METRIC = re.compile(
    r"(deca|deci|centi|milli|micro|nano|hecto|kilo|mega)?(meter|liter|gram|second|hour|are|hectare)( \*\* [23])?"
)
_BASE = {"area": "meter**2", "volume": "milliliter", "mass": "gram", "length": "millimeter", "time": "hour"}
_WORDS = {"area": "an area", "volume": "a volume", "mass": "a weight", "length": "a length", "time": "a time"}
_EXAMPLE = {"area": "1.8 m2", "volume": "2 L", "mass": "96 kg", "length": "5 mm", "time": "12 h"}
LEAST = 1e-9  # in the unit that is read into; below it a figure is a slip, and quotients overflow
_SHOWN = {"area": "m2", "volume": "mL", "mass": "g", "length": "mm", "time": "h"}


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit people write. kind: area, volume, mass, length or time. factor: to m2, mL, g, mm, h."""

    name: str
    kind: str
    factor: float
    source: str


@dataclass(frozen=True, slots=True)
class Question:
    """A unit word with several meanings: its readings, and what to write instead."""

    readings: tuple[str, ...]
    remedy: str


@cache
def unit_table() -> dict[str, Unit]:
    """Every spelling in ``data/units.csv`` and its unit. Source: [SI], [HB44]"""
    columns = {"name": text, "kind": text, "spellings": words, "factor": _cell_number, "source": text}
    table: dict[str, Unit] = {}
    for row in read_table("units.csv", columns):
        unit = Unit(row["name"], row["kind"], row["factor"], row["source"])
        table.update({spelling.casefold(): unit for spelling in row["spellings"]})
    return table


@cache
def unit_questions() -> dict[str, Question]:
    """Unit words that are refused with a question, from ``data/unit_questions.csv``."""
    rows = read_table(
        "unit_questions.csv", {"word_spellings": words, "readings": words, "remedy": text, "source": text}
    )
    return {w.casefold(): Question(row["readings"], row["remedy"]) for row in rows for w in row["word_spellings"]}


def tidy(written: str) -> str:
    """The text with one kind of space, minus sign, micro sign, fraction bar and superscript.

    >>> tidy("1½\\u00a0m²")
    '1 1/2 m2'
    """
    out = _VULGAR.sub(lambda m: " " + unicodedata.normalize("NFKC", m.group(1)), written)
    out = re.sub(
        r"(10)" + _SUPERSCRIPT.pattern, lambda m: m.group(1) + "^" + unicodedata.normalize("NFKC", m.group(2)), out
    )
    out = unicodedata.normalize("NFKC", out).replace("\u2044", "/").replace("×", "x").replace("\u2019", "'")
    out = re.sub("[\u2212\u2010\u2011\u2012\u2013]", "-", out).replace("º", "°")
    return " ".join(out.split())


def split_quantity(written: str, field: str | None = None) -> tuple[float, str]:
    """The number at the front of a quantity and the words behind it, e.g. ``("1,8 m²")`` → (1.8, "m2").

    Negative numbers come back negative: the caller says what is wrong with them.
    Raises BadQuantity where no number is at the front or a second number follows, AmbiguousQuantity
    for "1,234".

    >>> split_quantity("1,8 m²")
    (1.8, 'm2')
    """
    clean = tidy(written)
    if not clean:
        raise BadQuantity("Nothing is written there.", "Write a number with its unit.", field=field)
    if re.match(r"[+-]?(nan|inf|infinity|∞)\b", clean, re.I) or clean.startswith("∞"):
        raise BadQuantity(f"'{written}' is not a number that can be used.", "Write an ordinary number.", field=field)
    match = _NUMBER.match(clean)
    if not match:
        raise BadQuantity(
            f"'{written}' does not begin with a number.", "Write the number in figures, then the unit.", field=field
        )
    rest = clean[match.end() :].strip()
    value = _figure(match.group("num"), written, field)
    if (match.group("sign") or "").strip() == "-":
        value = -value
    _refuse_second_number(rest, written, field)
    return value, rest


def _refuse_second_number(rest: str, written: str, field: str | None) -> None:
    if re.match(r"(-|to|\.\.+)\s*\d", rest):
        raise BadQuantity(f"'{written}' is a range.", "Write one figure; a range can go into the notes.", field=field)
    if re.match(r"[.,/\d]", rest):
        raise BadQuantity(
            f"The number in '{written}' cannot be read.", "Write it plainly, such as 1234.5.", field=field
        )


def _figure(written: str, whole: str, field: str | None) -> float:
    mixed = re.fullmatch(r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)", written)
    if mixed:
        if int(mixed.group(3)) == 0:
            raise BadQuantity(f"'{whole}' divides by zero.", "Correct the fraction.", field=field)
        return int(mixed.group(1) or 0) + int(mixed.group(2)) / int(mixed.group(3))
    power = re.search(r"(?:e|\s*x\s*10\^?)([+-]?\d+)$", written, re.I)
    mantissa, exponent = (written[: power.start()], power.group(1)) if power else (written, "0")
    value = float(f"{_plain(mantissa, whole, field)}e{exponent}")
    if not math.isfinite(value):
        raise BadQuantity(f"'{whole}' is too large a number.", "Write an ordinary number.", field=field)
    return value


def _plain(digits: str, whole: str, field: str | None) -> str:
    """The figures with a decimal point and nothing else."""
    compact = digits.replace(" ", "").replace("'", "")
    commas, points = compact.count(","), compact.count(".")
    if commas and points:
        last = max(compact.rfind(","), compact.rfind("."))
        other = "," if compact[last] == "." else "."
        groups = compact[:last].split(other)
        if compact.count(compact[last]) == 1 and all(len(g) == 3 for g in groups[1:]) and 1 <= len(groups[0]) <= 3:
            return "".join(groups) + "." + compact[last + 1 :]
    elif commas > 1 or points > 1:
        groups = re.split("[.,]", compact)
        if all(len(g) == 3 for g in groups[1:]) and 1 <= len(groups[0]) <= 3:
            return "".join(groups)
    elif commas and re.fullmatch(r"[1-9]\d{0,2},\d{3}", compact) and compact == digits:
        small, large = compact.replace(",", "."), compact.replace(",", "")
        raise AmbiguousQuantity(
            f"'{whole}' can mean {small} or {large}.",
            f"Write '{small}' or '{large}'.",
            readings=(small, large),
            field=field,
        )
    else:
        return compact.replace(",", ".")
    raise BadQuantity(f"The number in '{whole}' cannot be read.", "Write it plainly, such as 1234.5.", field=field)


def find_unit(word: str, field: str | None = None, *, whole: str = "") -> Unit:
    """The unit behind a spelling. Raises AmbiguousQuantity for a word with several meanings, else BadQuantity."""
    spelled = re.sub(r"\s*\^\s*", "^", word.casefold().strip())
    for spelling in (spelled, spelled.rstrip(".")):
        if spelling in unit_table():
            return unit_table()[spelling]
        question = unit_questions().get(spelling)
        if question:
            raise AmbiguousQuantity(
                f"'{word}' in '{whole or word}' can mean {' or '.join(question.readings)}.",
                question.remedy,
                readings=question.readings,
                field=field,
            )
    return _ask_pint(word, field, whole or word)


def _ask_pint(word: str, field: str | None, whole: str) -> Unit:
    trouble = BadQuantity(
        f"'{word}' in '{whole}' is not a unit that is known here.",
        "Use a unit such as g, mL, L, m2, mm, h or °C.",
        field=field,
    )
    if not re.fullmatch(r"[A-Za-zµμ]+( ?[\^]?[23])?", word):
        raise trouble
    import pint  # heavy: only for a unit that the table does not hold

    try:
        unit = _registry().parse_units(re.sub(r" ?\^?([23])$", r"**\1", word))
    except (pint.errors.PintError, AttributeError, TypeError, ValueError) as problem:
        raise trouble from problem
    if not _METRIC.fullmatch(str(unit)):  # pint also knows customary units, and picks one country for each
        raise trouble
    for kind, base in _BASE.items():
        if unit.is_compatible_with(base):
            return Unit(str(unit), kind, float(_registry().Quantity(1.0, unit).to(base).magnitude), "PINT")
    raise trouble


@cache
def _registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry()


def number(written: str, field: str | None = None) -> float:
    """A plain number without unit, e.g. ``"1,1"`` → 1.1. Raises BadQuantity, AmbiguousQuantity."""
    value, rest = split_quantity(written, field)
    if rest:
        raise BadQuantity(f"'{written}' has '{rest}' behind the number.", "Write the number alone.", field=field)
    return value


def signed_number(written: str) -> float | None:
    """A figure as an instrument or a colleague writes it: signed, with a full stop or one decimal comma.

    None where it is none. Unlike ``number`` it takes a negative one, and asks nothing about "1,234".
    >>> signed_number("\N{MINUS SIGN}3,5"), signed_number("1_0"), signed_number("inf")
    (-3.5, None, None)
    """
    plain = written.strip().replace("\N{MINUS SIGN}", "-").replace("\N{NO-BREAK SPACE}", "")
    if "." not in plain and plain.count(",") == 1:
        plain = plain.replace(",", ".")
    try:
        value = float(plain) if "_" not in plain else math.nan  # Python reads 1_0 as ten; nobody else does
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _measure(written: str, kind: str, field: str | None, top: float, *, zero: bool = False) -> float:
    value, word = split_quantity(written, field)
    if not word:
        raise BadQuantity(
            f"'{written}' has no unit.", f"Write {_WORDS[kind]} with its unit, such as '{_EXAMPLE[kind]}'.", field=field
        )
    _refuse_two_units(word, written, field)
    unit = find_unit(word, field, whole=written)
    if unit.kind != kind:
        raise BadQuantity(
            f"'{written}' is {_WORDS[unit.kind]}, where {_WORDS[kind]} is wanted.",
            f"Write {_WORDS[kind]}, such as '{_EXAMPLE[kind]}'.",
            field=field,
        )
    return in_range(value * unit.factor, written, field, top, f"{top:g} {_SHOWN[kind]}", zero=zero)


def _refuse_two_units(word: str, written: str, field: str | None) -> None:
    if re.search(r"\s\d|[+;&]|\d\s*[A-Za-z%]", word):
        raise BadQuantity(
            f"'{written}' holds two amounts or two units.", "Write one number with one unit.", field=field
        )


def in_range(value: float, written: str, field: str | None, top: float, top_words: str, *, zero: bool = False) -> float:
    """The value, refused where it is negative, zero (unless ``zero``), under LEAST, or above ``top``.

    Raises BadQuantity.
    """
    if value < 0:
        raise BadQuantity(f"'{written}' is negative.", "Write an amount above zero.", field=field)
    if value == 0 and not zero:
        raise BadQuantity(f"'{written}' is zero.", "Write an amount above zero.", field=field)
    if 0 < value < LEAST or value > top:
        bound = f"more than {top_words}: too much" if value > top else "next to nothing: too little"
        raise BadQuantity(f"'{written}' is {bound} to be meant.", "Check the number and its unit.", field=field)
    return value


def area_m2(written: str, field: str | None = None) -> float:
    """An area in m2, above 0 to 10 000. Accepts m2, cm2, sq ft, sq in ...

    >>> area_m2("20000 cm2")
    2.0
    """
    return _measure(written, "area", field, 10_000)


def volume_ml(written: str, field: str | None = None, *, zero: bool = False) -> float:
    """A volume in mL, above 0 (or 0 with ``zero``) to 1000 L. "2 US gal" yes, "2 gal" is asked about."""
    return _measure(written, "volume", field, 1_000_000, zero=zero)


def mass_g(written: str, field: str | None = None, *, zero: bool = False) -> float:
    """A weight in g, above 0 (or 0 with ``zero``) to 100 tonnes."""
    return _measure(written, "mass", field, 100_000_000, zero=zero)


def length_mm(written: str, field: str | None = None, *, zero: bool = False) -> float:
    """A length in mm, above 0 (or 0 with ``zero``) to 100 m. "3/16 in" is 4.7625."""
    return _measure(written, "length", field, 100_000, zero=zero)


def duration_h(written: str, field: str | None = None, *, zero: bool = False) -> float:
    """A time in hours, above 0 to 10 years."""
    return _measure(written, "time", field, 87_660, zero=zero)


def temperature_c(written: str, field: str | None = None) -> float:
    """A temperature in °C, -50 to 1500. Accepts degC, °C, C, celsius, degF, °F, fahrenheit, K.

    >>> round(temperature_c("176 degF"), 6)
    80.0
    """
    value, word = split_quantity(written, field)
    scale = re.sub(r"[\s°.]|degrees?|deg", "", word.casefold())
    if scale in ("c", "celsius", "centigrade"):
        celsius = value
    elif scale in ("f", "fahrenheit"):
        celsius = (value - 32) * 5 / 9
    elif word in ("K", "kelvin", "Kelvin"):
        celsius = value - 273.15
    else:
        what = f"'{written}' has no unit." if not word else f"'{word}' in '{written}' does not say which scale."
        raise BadQuantity(what, "Write the temperature with its unit, such as '80 °C' or '176 °F'.", field=field)
    if not -50 <= celsius <= 1500:
        raise BadQuantity(f"'{written}' lies outside -50 to 1500 °C.", "Check the number and its unit.", field=field)
    return celsius


def share(written: str, field: str | None = None, *, zero: bool = True) -> float:
    """A share 0 to 1 from per cent, e.g. ``"25 %"`` → 0.25. A bare number is refused: 0.25 or 25?"""
    value, word = split_quantity(written, field)
    if word.casefold() not in ("%", "percent", "per cent", "pct"):
        raise BadQuantity(
            f"'{written}' is not written in per cent.", "Write it in per cent, such as '25 %'.", field=field
        )
    return in_range(value, written, field, 100, "100 %", zero=zero) / 100


def _ratio(written: str, field: str | None, above: str, below: str, example: str) -> float:
    value, word = split_quantity(written, field)
    parts = re.split(r"\s*/\s*|\s+per\s+", word)
    if len(parts) != 2 or not all(parts):
        raise BadQuantity(f"'{written}' does not say how much per what.", f"Write it like '{example}'.", field=field)
    top, bottom = (find_unit(part, field, whole=written) for part in parts)
    if (top.kind, bottom.kind) != (above, below):
        raise BadQuantity(
            f"'{written}' is {_WORDS[top.kind]} per {bottom.name}.", f"Write it like '{example}'.", field=field
        )
    return value * top.factor / bottom.factor


def coverage_ml_per_m2(written: str, field: str | None = None) -> float:
    """What one pass delivers, in mL/m2, above 0 to 5000. Accepts "40 mL/m2", "0.04 L/m2", "0.13 US fl oz/sq ft"."""
    return in_range(_ratio(written, field, "volume", "area", "40 mL/m2"), written, field, 5000, "5 L/m2")


def density_g_per_ml(written: str, field: str | None = None) -> float:
    """A density in g/mL, above 0 to 25. A bare number is taken as g/mL only with its unit written."""
    return in_range(_ratio(written, field, "mass", "volume", "1.05 g/mL"), written, field, 25, "25 g/mL")
