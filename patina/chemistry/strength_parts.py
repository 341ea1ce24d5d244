"""Strengths in parts: "1 part in 20", "1 part to 20", "1 in 20", "1 + 19"; a bare "1:20" is asked about."""

from __future__ import annotations

import re
from typing import NoReturn

from patina.chemistry.strength_value import Strength, checked
from patina.errors import AmbiguousQuantity, BadQuantity
from patina.units import number

BASIS_WORDS = {
    "wv": "pct_wv",
    "mv": "pct_wv",
    "ww": "pct_ww",
    "mm": "pct_ww",
    "wt": "pct_ww",
    "byweight": "pct_ww",
    "bywt": "pct_ww",
    "bymass": "pct_ww",
    "weightbyweight": "pct_ww",
    "weightbyvolume": "pct_wv",
    "volumebyvolume": "pct_vv",
    "weightpervolume": "pct_wv",
    "weightperweight": "pct_ww",
    "volumepervolume": "pct_vv",
    "wtvol": "pct_wv",
    "wtwt": "pct_ww",
    "volvol": "pct_vv",
    "weightvolume": "pct_wv",
    "weightweight": "pct_ww",
    "volumevolume": "pct_vv",
    "vv": "pct_vv",
    "vol": "pct_vv",
    "byvolume": "pct_vv",
    "byvol": "pct_vv",
}
_PART = r"(?:parts?|pts?\.?)"
_OF_WHAT = r"(?:\s+(?!in\b|to\b|by\b)[a-z]+){0,3}"
_IN_WHAT = r"(?:\s+(?:of\s+)?(?:distilled\s+)?(?:water|solvent|solution|liquid))?"
_FIGURE = r"(\d+(?:[.,]\d+)?)"
_WITH_PARTS = re.compile(rf"{_FIGURE}\s*{_PART}{_OF_WHAT}\s+(in|to)\s+{_FIGURE}(?:\s*{_PART})?{_IN_WHAT}(.*)", re.I)
_IN_ALONE = re.compile(rf"{_FIGURE}\s+in\s+{_FIGURE}(?:\s*{_PART})?(.*)", re.I)
_PLUS = re.compile(rf"{_FIGURE}\s*\+\s*{_FIGURE}(.*)", re.I)
_RATIO = re.compile(rf"{_FIGURE}\s*(?::|/|\bto\b)\s*{_FIGURE}\s*(?:\(?(?:v/v|w/w|by \w+|{_PART})\)?)?", re.I)


def _by(words: str, text: str, field: str | None) -> str:
    flat = re.sub(r"[^a-z]", "", words.casefold())
    basis = BASIS_WORDS.get(flat) if flat else ""
    if basis is None or basis == "pct_wv":
        raise BadQuantity(
            f"'{words.strip()}' in '{text}' is not understood.",
            "Write 'by weight' or 'by volume' behind the parts.",
            field=field,
        )
    return {"": "", "pct_ww": "weight", "pct_vv": "volume"}[basis]


def read_parts(clean: str, text: str, field: str | None) -> Strength | None:
    """Parts, where the words are about parts; None where they are not. Raises for a bare ratio."""
    match, kind = _WITH_PARTS.fullmatch(clean), ""
    if match:
        first, kind, second, rest = match.groups()
    else:
        match = _IN_ALONE.fullmatch(clean) or _PLUS.fullmatch(clean)
        if not match:
            _refuse_ratio(clean, text, field)
            return None
        first, second, rest = match.groups()
        kind = "in" if match.re is _IN_ALONE else "to"
    if rest and not re.fullmatch(r"[\s(]*(by \w+|[vw]/[vw])[\s)]*", rest, re.I):
        return None if not _WITH_PARTS.fullmatch(clean) else _by_refused(rest, text, field)
    top, bottom = number(first, field), number(second, field)
    if top <= 0 or bottom <= 0:
        raise BadQuantity(f"'{text}' has a part of zero.", "Write both parts above zero.", field=field)
    if kind.casefold() == "in" and top > bottom:
        raise BadQuantity(
            f"'{text}' is more than the whole.", "Write the smaller number first, such as '1 part in 20'.", field=field
        )
    return checked(Strength(text, f"parts_{kind.casefold()}", top / bottom, _by(rest, text, field)), field)


def _by_refused(rest: str, text: str, field: str | None) -> NoReturn:
    raise BadQuantity(
        f"'{rest.strip()}' in '{text}' is not understood.", "Write it like '1 part in 20 by volume'.", field=field
    )


def _refuse_ratio(clean: str, text: str, field: str | None) -> None:
    match = _RATIO.fullmatch(clean)
    if not match:
        return
    first, second = (number(figure, field) for figure in match.groups())
    if first <= 0 or second <= 0:
        raise BadQuantity(f"'{text}' has a part of zero.", "Write both parts above zero.", field=field)
    in_words, to_words = (f"{first:g} part{'s' if first != 1 else ''} {word} {second:g}" for word in ("in", "to"))
    readings = (
        f"{in_words}, which is {100 * first / second:.2f} %",
        f"{to_words}, which is {100 * first / (first + second):.2f} %",
    )
    raise AmbiguousQuantity(
        f"'{text}' can mean {readings[0]}, or {readings[1]}.",
        f"Write '{in_words}' or '{to_words}'.",
        readings=readings,
        field=field,
    )
