"""Precautionary statements: their words, what they are for, and which come first on a small label."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from patina.datafile import number, read_table, text, words

KINDS = ("prevention", "response", "storage", "disposal")


@dataclass(frozen=True, slots=True)
class Precaution:
    """One statement. code: "P280" or joined, "P305+P351+P338". kind: one of KINDS, empty where unknown."""

    code: str
    text: str
    kind: str


@cache
def known_precautions() -> dict[str, Precaution]:
    """All statements of the table by code."""
    columns = dict.fromkeys(("code", "text", "kind", "source", "german_source"), text) | {"classes": words, "h": words}
    rows = read_table("precautionary_statements.csv", columns)
    return {row["code"]: Precaution(row["code"], row["text"], row["kind"]) for row in rows}


@cache
def _ranks() -> dict[str, float]:
    rows = read_table("label_precautions.csv", {"rank": number, "code": text, "source": text})
    return {row["code"]: row["rank"] for row in rows}


def precaution(statement: str) -> Precaution:
    """The statement behind a code. A text that is no code, or a code not in the table, is kept as it is.

    >>> precaution("P405").text
    'Store locked up.'
    >>> precaution("Keep away from the cat.").text
    'Keep away from the cat.'
    """
    return known_precautions().get(statement.strip(), Precaution("", statement.strip(), ""))


def foremost(codes: Iterable[str], most: int) -> list[str]:
    """At most so many of the codes, those that matter first at the bottle. Source: [PRACTICE]

    >>> foremost(["P501", "P280", "P273", "P305+P351+P338"], 2)
    ['P280', 'P305+P351+P338']
    """
    ranks = _ranks()
    ordered = sorted(dict.fromkeys(codes), key=lambda code: (ranks.get(code, 1000.0), code))
    return ordered[:most]
