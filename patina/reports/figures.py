"""Numbers as they stand on paper: decimal points, units after a thin space, nothing rounded away."""

from __future__ import annotations

from datetime import date, datetime, tzinfo

THIN = "\u202f"
MINUS = "\u2212"


def plain(value: float, places: int) -> str:
    """A number with at most so many decimals, trailing noughts dropped.

    >>> plain(8.80, 2), plain(-0.5, 1), plain(1768.0, 0)
    ('8.8', '−0.5', '1768')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    text = "0" if text in ("-0", "") else text
    return text.replace("-", MINUS)


def amount(value: float, unit: str) -> str:
    """What the balance or cylinder shall show: the rounded amount, with its unit.

    >>> amount(8.8, "g").replace(THIN, " "), amount(0.25, "g").replace(THIN, " ")
    ('8.8 g', '0.25 g')
    """
    return f"{plain(value, 4)}{THIN}{unit}"


def volume(millilitres: float) -> str:
    """A volume: whole millilitres below 10 L, litres with two decimals from there on.

    >>> volume(1768.4).replace(THIN, " "), volume(12500.0).replace(THIN, " ")
    ('1768 mL', '12.50 L')
    """
    if millilitres >= 10_000.0:
        return f"{millilitres / 1000.0:.2f}{THIN}L"
    return f"{plain(millilitres, 0 if millilitres >= 10.0 else 1)}{THIN}mL"


def area(square_metres: float) -> str:
    """An area in square metres, three significant figures.

    >>> area(1.8).replace(THIN, " "), area(0.0625).replace(THIN, " ")
    ('1.80 m²', '0.0625 m²')
    """
    places = 2 if square_metres >= 1.0 else 3 if square_metres >= 0.1 else 4
    return f"{square_metres:.{places}f}{THIN}m²"


def rounding(error_pct: float) -> str:
    """What rounding to the balance's step makes of an amount, in words."""
    if abs(error_pct) < 0.005:
        return "rounding under 0.01 %"
    sign = "+" if error_pct > 0 else MINUS
    return f"rounding {sign}{abs(error_pct):.2f} %"


def hours(value: float) -> str:
    """A time to use something within.

    >>> hours(12), hours(720), hours(0.5)
    ('12 h', '30 days', '0.5 h')
    """
    if value >= 72.0 and value % 24.0 == 0.0:
        return f"{value / 24.0:.0f} days"
    return f"{plain(value, 1)} h"


def day(value: date | None) -> str:
    """A date as year-month-day, the same everywhere; empty where unknown."""
    return "" if value is None else value.isoformat()[:10]


def moment(value: datetime, zone: tzinfo | None = None) -> str:
    """A date and time of day on the wall clock of a place, with that clock's distance from UTC.

    zone: None takes the machine's own clock, as people at the bench read it.

    >>> from datetime import UTC, timedelta, timezone
    >>> late = datetime(2026, 3, 14, 20, 15, tzinfo=UTC)
    >>> moment(late, UTC), moment(late, timezone(timedelta(hours=5, minutes=30)))
    ('2026-03-14 20:15 UTC', '2026-03-15 01:45 UTC+05:30')
    """
    local = value.astimezone(zone)
    offset = local.strftime("%z")
    beyond = "" if offset in ("+0000", "-0000", "") else f"{offset[:3]}:{offset[3:5]}".replace("-", MINUS)
    return f"{local:%Y-%m-%d %H:%M} UTC{beyond}"


def lab(L: float, a: float, b: float) -> str:
    """L*, a*, b* with one decimal each.

    >>> lab(28.46, -6.0, 9.04)
    'L* 28.5   a* −6.0   b* 9.0'
    """
    return "   ".join(f"{name}* {fixed(value)}" for name, value in (("L", L), ("a", a), ("b", b)))


def fixed(value: float) -> str:
    """A number with one decimal, also where it is nought.

    >>> fixed(2.0), fixed(-0.04)
    ('2.0', '0.0')
    """
    text = f"{value:.1f}"
    return "0.0" if text == "-0.0" else text.replace("-", MINUS)
