"""Words and figures in the reader's own language: the last thing that happens to a text before it is shown.

The rooms say everything in English with a decimal point and metric units. What is shown goes
through ``shown``, which knows the sentences of the program by their templates (``de.po``), puts the
decimal mark of the language, and on request puts degrees Fahrenheit and ounces in front of the
metric figure. Records, files and JSON never go through it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from patina import own_words
from patina.errors import Refused

if TYPE_CHECKING:
    from patina.language.catalogue import Catalogue

LANGUAGES = {"en": "English", "de": "Deutsch"}
DECIMAL = {"en": ".", "de": ","}
MEASURES = ("metric", "US")
HELP_BOOK = "commands.po"
_KEPT_FROM = 0xE000  # the first sign for private use
G_PER_OZ = 28.349523125  # avoirdupois ounce, exact. Source: [NIST-SP811]
ML_PER_FL_OZ = 29.5735295625  # US fluid ounce, exact. Source: [NIST-SP811]


@dataclass(frozen=True, slots=True)
class Reader:
    """How somebody reads. language: "en" or "de". decimal: "." or ",". measures: "metric" or "US"."""

    language: str = "en"
    decimal: str = "."
    measures: str = "metric"


_reader = Reader()


def reader() -> Reader:
    """How the person at this program reads."""
    return _reader


def read_as(language: str = "", decimal: str = "", measures: str = "") -> Reader:
    """Choose how texts are shown from now on; what is left empty follows the language, or is metric.

    Raises Refused for a language, decimal mark or measures that are not known.
    """
    global _reader
    chosen = Reader(language or "en", decimal or DECIMAL.get(language or "en", "."), measures or "metric")
    if chosen.language not in LANGUAGES:
        raise Refused(f"There is no language '{language}'.", f"Choose one of: {', '.join(LANGUAGES)}.")
    if chosen.decimal not in (".", ","):
        raise Refused(f"'{decimal}' is no decimal mark.", "Choose a point or a comma.")
    if chosen.measures not in MEASURES:
        raise Refused(f"There are no measures called '{measures}'.", f"Choose one of: {', '.join(MEASURES)}.")
    _reader = chosen
    own_words.listen(chosen != Reader())
    _forget()
    return chosen


def shown(text: str) -> str:
    """A text as the reader reads it. English with a point and metric units comes back untouched, and so does what a
    person wrote, also where it stands in a sentence of the program.

    >>> _ = read_as("de")
    >>> shown("8.84 g at 95 °C")
    '8,84 g at 95 °C'
    >>> _ = read_as("en", measures="US")
    >>> shown("80 to 95 °C, ± 3 °C"), shown("8.84 g")
    ('176 to 203 °F (80 to 95 °C), ± 5.4 °F (± 3 °C)', '0.312 oz (8.84 g)')
    >>> _ = read_as()
    >>> shown("8.84 g")
    '8.84 g'
    """
    if _reader == Reader() or not text:
        return text
    if _turn != own_words.turn():
        _forget()
    return _shown(text)


_turn = -1  # of the words that people wrote, when what is remembered was worked out


def _forget() -> None:
    global _turn
    _turn = own_words.turn()
    _shown.cache_clear()
    if _reader.language != "en" and _catalogue.cache_info().currsize:  # help never reads the whole of it
        _catalogue(_reader.language).forget()


@lru_cache(maxsize=16384)
def _shown(text: str) -> str:
    if own_words.is_own(text.strip()):
        return text
    kept = own_words.within(text)
    for n, name in enumerate(kept):  # a sign of nobody's stands in the place of what is not to be taken apart
        text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", chr(_KEPT_FROM + n), text)
    if _reader.language != "en":
        text = _catalogue(_reader.language).translate(text)
    if _reader.measures == "US":
        text = _us(text)
    if _reader.decimal == ",":
        text = _marked(text)
    for n, name in enumerate(kept):
        text = text.replace(chr(_KEPT_FROM + n), name)
    return text


def help_text(text: str) -> str:
    """A text of ``--help`` as the reader reads it: a whole text of the commands' own book, or the text itself.

    Only that book is read, so that help comes at once. Units stay, since they show what to type.

    >>> _ = read_as("de")
    >>> help_text("Options"), help_text("no text of help")
    ('Optionen', 'no text of help')
    >>> _ = read_as()
    """
    if _reader.language != "en":
        text = _help(_reader.language).get(text, text)
    return _marked(text) if _reader.decimal == "," else text


@lru_cache(maxsize=4)
def _help(language: str) -> dict[str, str]:
    from patina.language.catalogue import book

    return book(language, HELP_BOOK)


@lru_cache(maxsize=4)
def _catalogue(language: str) -> Catalogue:
    from patina.language.catalogue import Catalogue

    return Catalogue.of(language)


# A decimal number that is not part of a longer one, of a name of a file or of a paragraph's number.
_POINT = re.compile(r"(?<![\w.,:/-])([\N{MINUS SIGN}+-]?\d+)\.(\d+)(?![\w]*[.:/]\d)(?!\w*\.\w)(?!\w*/\w+\.\w)")


# A year, a point and a number without a unit: museums count what they took in so.
_ACCESSION = re.compile(r"(?:1[5-9]|20)\d\d")


def _marked(text: str) -> str:
    def comma(found: re.Match[str]) -> str:
        counted = _ACCESSION.fullmatch(found[1]) and not re.match(r" ?[%°µA-Za-z]", text[found.end() :])
        return found[0] if counted else f"{found[1]},{found[2]}"

    return _POINT.sub(comma, text)


_FIGURE = r"[\N{MINUS SIGN}-]?\d+(?:\.\d+)?"
_CELSIUS = re.compile(rf"(± )?({_FIGURE})(?:( to | bis |–)({_FIGURE}))? °C")
_WEIGHT = re.compile(rf"(?<![\w.,])({_FIGURE}) (g|kg|mL)(?![\w/²³])")


def _us(text: str) -> str:
    return _WEIGHT.sub(_ounces, _CELSIUS.sub(_fahrenheit, text))


def _value(figure: str) -> float:
    return float(figure.replace("\N{MINUS SIGN}", "-"))


def _said(value: float, significant: int) -> str:
    words = f"{value:.{significant}g}" if abs(value) < 1000 else f"{value:.0f}"
    return words.replace("-", "\N{MINUS SIGN}")


def _fahrenheit(found: re.Match[str]) -> str:
    spread, low, between, high = found.groups()
    if spread:
        return f"± {_said(_value(low) * 1.8, 2)} °F ({found[0]})"
    figures = [f"{_value(v) * 1.8 + 32:.0f}".replace("-", "\N{MINUS SIGN}") for v in (low, high) if v is not None]
    return f"{(between or '').join(figures)} °F ({found[0]})"


def _ounces(found: re.Match[str]) -> str:
    value, unit = _value(found[1]), found[2]
    if unit == "mL":
        return f"{_said(value / ML_PER_FL_OZ, 3)} fl oz ({found[0]})"
    return f"{_said(value * (1000.0 if unit == 'kg' else 1.0) / G_PER_OZ, 3)} oz ({found[0]})"
