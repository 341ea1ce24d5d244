"""Fields of a treatment record as they are typed, read into values; all that is wrong is said at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, TypeVar

from patina import units
from patina.conservation.polygons import parse_polygons, parse_spot, show_polygons
from patina.conservation.saying import LONGEST_TEXT, LONGEST_WORDS, Saying, sayings
from patina.conservation.vocabulary import find_term, find_trigger
from patina.errors import BadQuantity, Incomplete, PatinaError, Refused
from patina.units import signed_number

P = TypeVar("P")
_ID = re.compile(r"[A-Za-z]{1,2}\s*\d{1,9}")


def read_part(kind: type[P], fields: Mapping[str, str], *, before: P | None = None) -> P:
    """A part from what was typed into its fields. A missing field keeps what ``before`` says; an empty one
    means "not said". Raises Incomplete, whose troubles name their field."""
    known = sayings(kind)
    troubles: list[PatinaError] = [
        Refused(f"There is no field '{name}' here.", f"Fields are: {', '.join(known)}.", field=name)
        for name in fields
        if name not in known
    ]
    values: dict[str, Any] = {}
    for name, saying in known.items():
        if name not in fields:
            if before is not None:
                values[name] = getattr(before, name)
            elif saying.needed:
                troubles.append(_missing(saying, name))
            continue
        text = fields[name].strip()
        if not text:
            if saying.needed:
                troubles.append(_missing(saying, name))
            elif before is not None:
                values[name] = _nothing(saying)
            continue
        try:
            values[name] = _READERS[saying.how](text, name, saying)
        except PatinaError as trouble:
            troubles.append(trouble)
    _amounts(known, values, fields)
    if troubles:
        raise Incomplete(troubles)
    return kind(**values)


def _missing(saying: Saying, name: str) -> PatinaError:
    return BadQuantity(f"{saying.label} is missing.", "Fill it in.", field=name)


def _nothing(saying: Saying) -> Any:
    if saying.how in ("text", "words", "choice", "term", "trigger", "substance", "derived"):
        return ""
    return () if saying.how in ("lines", "polygons") else None


def _amounts(known: Mapping[str, Saying], values: dict[str, Any], fields: Mapping[str, str]) -> None:
    """An amount and the unit it is kept in go into two fields."""
    for name, saying in known.items():
        if saying.how == "amount" and name in fields:
            amount = values.get(name)
            values[name], values[f"{name}_unit"] = amount or (None, "")


def show_part(part: Any) -> dict[str, str]:
    """The fields of a part as they would be typed."""
    shown: dict[str, str] = {}
    for name, saying in sayings(type(part)).items():
        if saying.how != "derived":
            shown[name] = _shown(getattr(part, name), saying, getattr(part, f"{name}_unit", ""))
    return shown


def _shown(value: Any, saying: Saying, unit: str) -> str:
    if value is None:
        return ""
    if saying.how == "polygons":
        return show_polygons(value)
    if saying.how == "lines":
        return "; ".join(value)
    if saying.how == "spot":
        return f"{value[0]:.6g},{value[1]:.6g}"
    if saying.how == "amount":
        return f"{value!r} {unit}"
    if saying.how in _WITH_UNIT:
        return f"{value!r} {_WITH_UNIT[saying.how]}"
    return value.isoformat() if isinstance(value, date) else str(value)


_WITH_UNIT = {"mass": "g", "area": "m2", "volume": "mL", "temperature": "°C"}


def _text(text: str, field: str, saying: Saying) -> str:
    return _fits(" ".join(text.split()), field, LONGEST_TEXT)


def _words(text: str, field: str, saying: Saying) -> str:
    return _fits(text, field, LONGEST_WORDS)


def _fits(text: str, field: str, longest: int) -> str:
    if len(text) > longest:
        raise BadQuantity(f"The text is longer than {longest} characters.", "Shorten it.", field=field)
    return text


def _choice(text: str, field: str, saying: Saying) -> str:
    found = [word for word in saying.choices if word.casefold() == text.casefold()]
    if not found:
        raise Refused(f"'{text}' is not known here.", f"Use one of: {', '.join(saying.choices)}.", field=field)
    return found[0]


def _lines(text: str, field: str, saying: Saying) -> tuple[str, ...]:
    _fits(text, field, LONGEST_WORDS)
    lines = tuple(" ".join(part.split()) for line in text.splitlines() for part in line.split(";") if part.strip())
    return tuple(_choice(line, field, saying) for line in lines) if saying.choices else lines


def _day(text: str, field: str, saying: Saying) -> date:
    if text.casefold() == "today":
        return date.today()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or not 1800 <= day.year <= 9000:
        raise BadQuantity(f"'{text}' is no date that can be meant.", "Write it as 2026-03-14.", field=field)
    return day


def _number(text: str, field: str, saying: Saying) -> float:
    value = signed_number(text)
    if value is None:
        of = f" It is read in {saying.unit}." if saying.unit else ""
        raise BadQuantity(f"'{text}' is no number.{of}", "Write the figures alone.", field=field)
    return _in_range(value, field, saying)


def _whole(text: str, field: str, saying: Saying) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 9:
        raise BadQuantity(f"'{text}' is no whole number.", "Write a whole number.", field=field)
    return int(_in_range(float(text), field, saying))


def _in_range(value: float, field: str, saying: Saying) -> float:
    if not saying.low <= value <= saying.high:
        unit = f" {saying.unit}" if saying.unit else ""
        raise BadQuantity(f"{value:g}{unit} cannot be.", f"Give {saying.low:g} to {saying.high:g}{unit}.", field=field)
    return value


def _amount(text: str, field: str, saying: Saying) -> tuple[float, str]:
    word = units.split_quantity(text, field)[1]
    if not word:
        raise BadQuantity(f"'{text}' has no unit.", "Write the amount with its unit: '35 g' or '1 L'.", field=field)
    if units.find_unit(word, field, whole=text).kind == "volume":
        return units.volume_ml(text, field), "mL"
    return units.mass_g(text, field), "g"


def _id(text: str, field: str, saying: Saying) -> str:
    if saying.to == "photograph":
        if not 8 <= len(text) <= 64 or any(c not in "0123456789abcdef" for c in text.lower()):
            raise BadQuantity(f"'{text}' names no photograph.", "Give 8 figures or more of its SHA-256.", field=field)
        return text.lower()
    if _ID.fullmatch(text) is None:
        raise BadQuantity(f"'{text}' is no id.", f"Give an id such as {saying.hint or 'C1'}.", field=field)
    return "".join(text.split()).upper()


_READERS: dict[str, Callable[[str, str, Saying], Any]] = {
    "text": _text,
    "words": _words,
    "choice": _choice,
    "lines": _lines,
    "day": _day,
    "number": _number,
    "whole": _whole,
    "amount": _amount,
    "mass": lambda text, field, saying: units.mass_g(text, field),
    "area": lambda text, field, saying: units.area_m2(text, field),
    "volume": lambda text, field, saying: units.volume_ml(text, field),
    "temperature": lambda text, field, saying: _in_range(units.temperature_c(text, field), field, saying),
    "polygons": lambda text, field, saying: parse_polygons(text, field),
    "spot": lambda text, field, saying: parse_spot(text, field),
    "id": _id,
    "term": lambda text, field, saying: find_term(text, field).key,
    "trigger": lambda text, field, saying: find_trigger(text, field).key,
    "substance": _text,
}
