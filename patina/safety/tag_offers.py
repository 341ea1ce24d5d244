"""Reaction tags that follow from a formula or a hazard class, for whoever adds a substance.

Source: [CHEM-RULE], ``data/tag_offers.csv``
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import Any

from patina.datafile import read_table, text, words
from patina.safety.reactions import rules
from patina.safety.tagwords import tags_named


@cache
def _offers() -> list[dict[str, Any]]:
    return read_table("tag_offers.csv", {"looks_at": text, "pattern": text, "tags": words, "source": text})


@cache
def known_tags() -> frozenset[str]:
    """Every tag that a rule, an offer or a substance of the catalogue names."""
    from patina.chemistry.substances import catalogue

    named = {t for rule in rules() for t in (tags_named(rule.a) | tags_named(rule.b))}
    named |= {t for rule in rules() if rule.near for t in tags_named(rule.near)}
    named |= {t for row in _offers() for t in row["tags"]}
    return frozenset(named | {t for s in catalogue().substances.values() for t in s.tags})


def offered_tags(formula: str, classes: Iterable[str]) -> tuple[str, ...]:
    """Tags that follow from a formula ("AgNO3") and from hazard classes ("Ox. Sol. 2"), in order of the alphabet.

    What does not follow is left to be asked: a corrosive may be acid or base.

    >>> offered_tags("AgNO3", ["Ox. Sol. 2", "Skin Corr. 1B"])
    ('nitrate', 'oxidiser', 'silver')
    >>> offered_tags("Na2S.9H2O", ()), offered_tags("", ["Flam. Liq. 2"])
    (('base', 'sulphide'), ('flammable',))
    """
    given = tuple(classes)
    found: set[str] = set()
    for row in _offers():
        if row["looks_at"] == "formula":
            hit = bool(formula) and re.search(row["pattern"], formula.replace("·", ".")) is not None
        else:
            hit = any(code.startswith(row["pattern"]) for code in given)
        if hit:
            found |= set(row["tags"])
    return tuple(sorted(found))
