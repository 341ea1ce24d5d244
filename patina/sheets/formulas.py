"""The formulas of colour difference, as whoever measures colour speaks of them."""

from __future__ import annotations

# Source: [CIELAB] [SHARMA2005] [CIE94]; CMC with l 2 and c 1, as for judging whether a difference is taken.
NAMES = {"de2000": "CIEDE2000", "de94": "CIE94", "cmc": "CMC (2:1)", "de76": "CIELAB 1976"}


def formula_words(formula: str) -> str:
    """A formula as it is called; what is not known stays as it is.

    >>> formula_words("de2000"), formula_words("cmc")
    ('CIEDE2000', 'CMC (2:1)')
    """
    return NAMES.get(formula, formula)
