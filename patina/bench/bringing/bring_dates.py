"""Dates as people write them; the order of day and month, and the century, are asked once for a column."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_fields import cell_words

if TYPE_CHECKING:
    from patina.bench.bringing.bring_cells import Column

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(.*)", re.S)
_THREE = re.compile(r"(\d{1,2})\s*[-/. ]\s*(\d{1,2})\s*[-/. ]\s*(\d{4}|\d{2})(?!\d)(.*)", re.S)
_DAY_NAMED = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th|er|\.)?[\s\-./]*([^\W\d_]+)\.?[\s\-./,]*(\d{4}|\d{2})(?!\d)(.*)", re.S
)
_NAMED_DAY = re.compile(r"([^\W\d_]+)\.?\s*(\d{1,2})(?:st|nd|rd|th)?\s*,?\s+(\d{4})(?!\d)(.*)", re.S)
_TIME = re.compile(r"[\sT,]*(\d{1,2})[:.h](\d{2})(?:[:.](\d{2}))?(?:\.\d+)?\s*(am|pm|Uhr|Z|[+-]\d\d:?\d\d)?", re.I)


def read_day(column: Column, written: str) -> str:
    """A day in ISO form, with its time where the column holds moments. Raises Ask, BadQuantity.

    An order of day and month that the figures do not settle, and a year of two figures, are asked for.
    """
    if column.reads == "moment" and re.match(r"\d{4}-\d\d-\d\dT\d\d:\d\d", written):
        try:
            return datetime.fromisoformat(written).isoformat()
        except ValueError:
            raise column.refuse(f"'{written}' is no moment.", "Write it like 2026-03-14T09:30.") from None
    text = re.sub(r"^[^\W\d_]{2,10}[,.]\s+(?=\d)", "", " ".join(written.split()))  # "Mon, 3 April 2019"
    year, month, day, rest = _parts(column, written, text)
    try:
        found = date(year, month, day)
    except ValueError:
        raise column.refuse(f"'{written}' is no day of the calendar.", "Correct the date.") from None
    if column.reads == "day":
        return found.isoformat()
    return _with_time(column, written, found, rest)


def _with_time(column: Column, written: str, day: date, rest: str) -> str:
    if not rest.strip():
        return day.isoformat()
    told = _TIME.fullmatch(rest)
    if not told:
        raise column.refuse(f"'{written}' has '{rest.strip()}' behind the day.", "Write the time like 14:30.")
    hour, half = int(told.group(1)), (told.group(4) or "").casefold()
    if half in ("am", "pm"):
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        clock = time(hour, int(told.group(2)), int(told.group(3) or 0))
    except ValueError:
        raise column.refuse(f"'{written}' is no time of a day.", "Correct the time.") from None
    zone = {"z": "+00:00"}.get(half, told.group(4) if half[:1] in ("+", "-") else "")
    return f"{day.isoformat()}T{clock.isoformat()}{zone}"


def _parts(column: Column, written: str, text: str) -> tuple[int, int, int, str]:
    iso = _ISO.fullmatch(text)
    if iso:
        return int(iso.group(1)), int(iso.group(2)), int(iso.group(3)), iso.group(4)
    three = _THREE.fullmatch(text)
    if three:
        first, second, rest = int(three.group(1)), int(three.group(2)), three.group(4)
        year = _year(column, written, three.group(3))
        return (
            (year, second, first, rest) if _day_first(column, written, first, second) else (year, first, second, rest)
        )
    named = _DAY_NAMED.fullmatch(text)
    if named and (month := _month(named.group(2))):
        return _year(column, written, named.group(3)), month, int(named.group(1)), named.group(4)
    named = _NAMED_DAY.fullmatch(text)
    if named and (month := _month(named.group(1))):
        return int(named.group(3)), month, int(named.group(2)), named.group(4)
    raise column.refuse(f"'{written}' names no single day.", "Write it as 2026-03-14, or leave it empty.")


def _day_first(column: Column, written: str, first: int, second: int) -> bool:
    if first > 12 or second > 12 or first == second:
        return first > 12 or first == second
    options = [("day-month", f"day {first}, month {second}"), ("month-day", f"month {first}, day {second}")]
    return (
        column.need("dates", "Which comes first in these dates, the day or the month?", written, options) == "day-month"
    )


def _year(column: Column, written: str, figures: str) -> int:
    if len(figures) == 4:
        return int(figures)
    options = [("1900", f"19{figures}"), ("2000", f"20{figures}")]
    return int(column.need("century", "Which century is a year of two figures in?", written, options)) + int(figures)


def _month(word: str) -> int:
    name = word.casefold()
    return next((n for n in range(1, 13) if name in cell_words().get(f"month {n}", ())), 0)
