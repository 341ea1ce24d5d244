"""The ids a person types: a letter and a number."""

from __future__ import annotations

import re
from typing import TypeVar

from sqlalchemy.orm import Session

from patina.errors import NotFound
from patina.records.tables.base import Record

R = TypeVar("R", bound=Record)

_WORDS = {
    "R": "recipe",
    "T": "tile",
    "D": "reading",
    "M": "agreed finish",
    "W": "piece",
    "C": "cast",
    "L": "lot",
    "B": "batch",
    "J": "work",
}
_ID = re.compile(r"([A-Za-z])\s*(\d{1,9})")


def number_of(text: str, letter: str) -> int | None:
    """The number behind an id of that letter ("t12" → 12); None where the text is something else."""
    found = _ID.fullmatch(text.strip())
    if found is None or found[1].upper() != letter:
        return None
    return int(found[2])


def letter_of(text: str) -> str | None:
    """The letter of an id, None where the text is no id."""
    found = _ID.fullmatch(text.strip())
    return None if found is None else found[1].upper()


def fetch(session: Session, table: type[R], text: str, field: str | None = None) -> R:
    """The record of that id. Raises NotFound, naming what an id of its kind looks like."""
    word = _WORDS.get(table.LETTER, "record")
    number = number_of(text, table.LETTER)
    row = None if number is None else session.get(table, number)
    if row is None:
        raise NotFound(
            f"There is no {word} '{text}'.",
            f"Give the id of a {word}, such as {table.LETTER}1; patina list shows them.",
            field=field,
        )
    return row
