"""Reaction tags and the short expressions that rules are written in."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

Test = Callable[[frozenset[str]], bool]


@cache
def matcher(expression: str) -> Test:
    """A test on a set of tags: ``|`` or, ``&`` and (binds tighter), ``!`` not.

    Raises ValueError for an expression with an empty part.

    >>> matcher("acid | acid salt & iron")(frozenset({"acid salt", "iron"}))
    True
    >>> matcher("nitrate & !silver")(frozenset({"nitrate", "silver"}))
    False
    """
    ways = []
    for way in expression.split("|"):
        terms = [term.strip() for term in way.split("&")]
        if not all(term.lstrip("! ") for term in terms):
            raise ValueError(f"'{expression}' has an empty part")
        wanted = frozenset(term for term in terms if not term.startswith("!"))
        barred = frozenset(term.lstrip("! ") for term in terms if term.startswith("!"))
        ways.append((wanted, barred))
    return lambda tags: any(wanted <= tags and not barred & tags for wanted, barred in ways)


def tags_named(expression: str) -> frozenset[str]:
    """Every tag an expression names.

    >>> sorted(tags_named("acid | nitrate & !silver"))
    ['acid', 'nitrate', 'silver']
    """
    return frozenset(t.strip().lstrip("! ") for way in expression.split("|") for t in way.split("&"))
