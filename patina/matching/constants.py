"""Numbers for charts, verdicts and searches, read from ``data/matching_constants.csv``."""

from __future__ import annotations

from functools import cache

from patina.datafile import Parser, number, read_table, text
from patina.errors import BadData


@cache
def _table() -> dict[str, float]:
    columns: dict[str, Parser] = {"key": text, "value": number, "unit": text, "source": text, "note": str}
    return {row["key"]: row["value"] for row in read_table("matching_constants.csv", columns)}


def constant(key: str) -> float:
    """The value of one constant; raises BadData for a key that the file does not hold."""
    try:
        return _table()[key]
    except KeyError:
        raise BadData(
            f"matching_constants.csv has no row '{key}'.", "Install the program again, or add the row."
        ) from None


@cache
def _words() -> tuple[tuple[float, str], ...]:
    columns: dict[str, Parser] = {"below": number, "words": text, "source": text}
    return tuple((row["below"], row["words"]) for row in read_table("difference_words.csv", columns))


def difference_in_words(delta_e: float) -> str:
    """The size of a difference in words, from "invisible" to "another colour". Source: [DIFFERENCE_WORDS].

    >>> difference_in_words(2.4)
    'small'
    """
    return next((words for below, words in _words() if delta_e < below), _words()[-1][1])
