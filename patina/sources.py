"""The bibliography: every fact row, limit and formula names one of these keys."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from patina.datafile import one_of, read_table, text


@dataclass(frozen=True, slots=True)
class Source:
    """Where a fact comes from.

    key: short name used in data files and docstrings. kind: standard, law, handbook, article, page,
    dataset, software, computed, memory or practice. citation: what to look up. checked: how the
    value was seen (in the primary document, in a copy, from memory).
    """

    key: str
    kind: str
    citation: str
    checked: str


KINDS = ("standard", "law", "handbook", "article", "page", "dataset", "software", "computed", "memory", "practice")


@cache
def bibliography() -> dict[str, Source]:
    """All sources by key, from ``data/sources.csv``."""
    rows = read_table("sources.csv", {"key": text, "kind": one_of(*KINDS), "citation": text, "checked": text})
    return {row["key"]: Source(**row) for row in rows}
