"""Numbers, units, days and colours as text: the only place where a shown figure is rounded.

Knows no terminal, so that the command line can use it too.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import ROUND_HALF_EVEN, Decimal

from patina.language import shown

MINUS = "\N{MINUS SIGN}"
UNKNOWN = "not known"


def number(value: float, places: int = 1) -> str:
    """A figure with that many decimals and a true minus sign.

    >>> number(-0.04), number(12.345, 2), number(-3.2)
    ('0.0', '12.34', '−3.2')
    """
    step = Decimal(1).scaleb(-places)
    rounded = Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_EVEN)
    text = format(abs(rounded), "f")
    return MINUS + text if rounded < 0 else text


def plain(value: float, places: int = 2) -> str:
    """A figure without needless zeros at its end.

    >>> plain(5.0), plain(0.25), plain(1768.0)
    ('5', '0.25', '1768')
    """
    text = number(value, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def signed(value: float, places: int = 1) -> str:
    """A difference with its sign.

    >>> signed(1.25, 1), signed(-2.0, 1), signed(0.0, 1)
    ('+1.2', '−2.0', '0.0')
    """
    text = number(value, places)
    return "+" + text if float(text.replace(MINUS, "-")) > 0 else text


def amount(value: float, unit: str) -> str:
    """Grams or millilitres as a balance or a cylinder shows them.

    >>> amount(8.84, "g"), amount(1768.2, "mL"), amount(0.052, "g")
    ('8.84 g', '1768 mL', '0.052 g')
    """
    size = abs(value)
    places = 3 if 0 < size < 1 else 2 if size < 10 else 1 if size < 100 else 0 if unit == "mL" else 1
    return f"{plain(value, places)} {unit}"


def volume(ml: float) -> str:
    """A volume in mL, or in L from one litre on.

    >>> volume(442.1), volume(1768.0)
    ('442 mL', '1.77 L (1768 mL)')
    """
    whole = f"{number(ml, 0 if ml >= 100 else 1)} mL"
    return f"{number(ml / 1000.0, 2)} L ({whole})" if ml >= 1000 else whole


def area(m2: float | None) -> str:
    """An area in m², or in cm² where it is small.

    >>> area(1.8), area(0.012), area(None)
    ('1.80 m²', '120 cm²', 'not said')
    """
    if m2 is None:
        return "not said"
    return f"{number(m2, 2)} m²" if m2 >= 0.1 else f"{number(m2 * 10_000, 0)} cm²"


def percent(value_pct: float, places: int = 1) -> str:
    """A percentage.

    >>> percent(12.5)
    '12.5 %'
    """
    return f"{plain(value_pct, places)} %"


def rounding_error(error_pct: float) -> str:
    """What rounding to the balance makes of an amount.

    >>> rounding_error(0.0001), rounding_error(-1.26)
    ('exact', '−1.3 %')
    """
    return "exact" if abs(error_pct) < 0.05 else f"{signed(error_pct)} %"


def grams_per_litre(value: float) -> str:
    """A strength.

    >>> grams_per_litre(96.27)
    '96.3 g/L'
    """
    return f"{plain(value, 3 if value < 1 else 2 if value < 10 else 1)} g/L"


def lab(L: float, a: float, b: float, places: int = 1) -> str:
    """A colour in figures.

    >>> lab(27, 6.5, -9)
    'L* 27.0  a* 6.5  b* −9.0'
    """
    return f"L* {number(L, places)}  a* {number(a, places)}  b* {number(b, places)}"


def give_or_take(value: float | None) -> str:
    """An uncertainty behind a figure.

    >>> give_or_take(1.94), give_or_take(None)
    ('± 1.9', '± not known')
    """
    return f"± {UNKNOWN}" if value is None else f"± {number(value, 1)}"


def day(value: date | datetime | None) -> str:
    """A day.

    >>> day(date(2026, 3, 2)), day(None)
    ('2026-03-02', 'not said')
    """
    return "not said" if value is None else value.strftime("%Y-%m-%d")


def moment(value: datetime | None) -> str:
    """A day and time in this machine's own time zone."""
    if value is None:
        return "not said"
    aware = value if value.tzinfo else value.replace(tzinfo=UTC)
    return aware.astimezone().strftime("%Y-%m-%d %H:%M")


def hours(value: float) -> str:
    """A length of time in hours and minutes, or days.

    >>> hours(0.5), hours(12), hours(75)
    ('30 min', '12 h', '3 d 3 h')
    """
    minutes = round(value * 60)
    if minutes < 60:
        return f"{minutes} min"
    whole, rest = divmod(minutes, 60)
    if whole < 48:
        return f"{whole} h {rest} min" if rest else f"{whole} h"
    return f"{whole // 24} d {whole % 24} h" if whole % 24 else f"{whole // 24} d"


def time_left(until: datetime | None, now: datetime | None = None) -> str:
    """What is left until a solution must be gone.

    >>> now = datetime(2026, 3, 2, 12, tzinfo=UTC)
    >>> time_left(datetime(2026, 3, 2, 20, 30, tzinfo=UTC), now), time_left(datetime(2026, 3, 2, 11, tzinfo=UTC), now)
    ('8 h 30 min left', 'PAST ITS TIME by 1 h')
    >>> time_left(None)
    'no limit said'
    """
    if until is None:
        return "no limit said"
    aware = until if until.tzinfo else until.replace(tzinfo=UTC)
    left = (aware - (now or datetime.now(UTC))).total_seconds() / 3600.0
    return f"{hours(left)} left" if left > 0 else f"PAST ITS TIME by {hours(-left)}"


def times(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> times(1, "pass", "passes"), times(3, "tile")
    ('1 pass', '3 tiles')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def signal_word(word: str | None) -> str:
    """The signal word of a label in capitals, in the reader's language; None: there is none.

    >>> signal_word("Danger"), signal_word(None)
    ('DANGER', 'NO SIGNAL WORD')
    """
    return shown(word or "no signal word").upper()


def sentence(words: str) -> str:
    """Words as a sentence: a capital in front, a full stop behind.

    >>> sentence("keep it closed"), sentence("Done.")
    ('Keep it closed.', 'Done.')
    """
    words = words.strip()
    return words[:1].upper() + words[1:] + ("" if words[-1:] in ".!?:" else ".") if words else ""


def short_hash(sha256: str) -> str:
    """Enough of a photograph's hash to tell it from others."""
    return sha256[:10]


_LIGHTNESS = ((12, "black"), (25, "very dark"), (40, "dark"), (60, "mid"), (80, "light"), (101, "very light"))
_HUES = (
    (20, "rose"),
    (42, "red"),
    (62, "red-brown"),
    (80, "brown"),
    (105, "yellow"),
    (135, "yellow-green"),
    (175, "green"),
    (220, "blue-green"),
    (280, "blue"),
    (325, "violet"),
    (361, "rose"),
)
_ISH = {
    "rose": "rosy", "red": "reddish", "red-brown": "brownish", "brown": "brownish", "ochre": "ochre-grey",
    "yellow": "yellowish", "yellow-green": "yellow-greenish", "green": "greenish", "blue-green": "blue-greenish",
    "blue": "bluish", "violet": "violetish", "olive": "olive-grey",
}  # fmt: skip


def colour_words(L: float, a: float, b: float) -> str:
    """A rough name for a colour in the reader's language, for whoever cannot see the block.
    Common practice, no source.

    >>> colour_words(27, 6.5, 9), colour_words(8, 0.5, 0.3), colour_words(92, 0, 1), colour_words(30, 1, 6)
    ('dark brownish', 'black', 'near white', 'dark olive-grey')
    """
    import math

    chroma = math.hypot(a, b)
    if L < 12:
        return shown("black" if chroma < 6 else "near black")
    if L > 90 and chroma < 6:
        return shown("near white")
    light = next(word for limit, word in _LIGHTNESS if limit > L)
    if chroma < 4:
        return f"{shown(light)} {shown('grey')}"
    angle = math.degrees(math.atan2(b, a)) % 360
    hue = next(word for limit, word in _HUES if angle < limit)
    if L > 62 and hue == "brown":
        hue = "ochre"
    if L < 62 and hue == "yellow":
        hue = "olive"
    return f"{shown(light)} {shown(_ISH[hue] if chroma < 12 else hue)}"


def ink_on(hex_colour: str) -> str:
    """Black or white, whichever is read better on the colour (WCAG relative luminance).

    >>> ink_on("#332211"), ink_on("#eeddcc")
    ('#ffffff', '#000000')
    """
    channels = (int(hex_colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return "#000000" if luminance > 0.179 else "#ffffff"


def size(size_bytes: float) -> str:
    """Bytes in the unit that fits, by tens.

    >>> size(812), size(2_400_000), size(31_500_000_000)
    ('1 kB', '2.4 MB', '31.5 GB')
    """
    for unit, many in (("GB", 1e9), ("MB", 1e6)):
        if size_bytes >= many:
            return f"{number(size_bytes / many)} {unit}"
    return f"{number(max(size_bytes, 1000.0) / 1e3 if size_bytes else 0.0, 0)} kB"
