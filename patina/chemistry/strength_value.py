"""A strength as a value: what was written, on which basis, how much. Read by `patina.chemistry.strength`."""

from __future__ import annotations

from dataclasses import dataclass

from patina.errors import BadQuantity

BASES = ("g_per_l", "pct_wv", "pct_ww", "pct_vv", "mol_per_l", "parts_in", "parts_to")
ACCEPTED = "g/L, % w/v, % w/w, % v/v, mol/L, oz/US gal, oz/imp gal, '1 part in 20' or '1 part to 20'"

_TOP = {
    "g_per_l": 5000.0,
    "pct_wv": 500.0,
    "pct_ww": 100.0,
    "pct_vv": 100.0,
    "mol_per_l": 60.0,
    "parts_in": 1.0,
    "parts_to": 100.0,
}
_TOP_WORDS = {
    "g_per_l": "5000 g/L",
    "pct_wv": "500 % w/v",
    "pct_ww": "100 % by weight",
    "pct_vv": "100 % by volume",
    "mol_per_l": "60 mol/L",
    "parts_in": "the whole",
    "parts_to": "100 parts to 1",
}


@dataclass(frozen=True, slots=True)
class Strength:
    """How much of a substance is in a solution.

    as_written: the person's own words. basis: one of BASES. value: in g/L, in per cent, in mol/L,
    or, for parts, the first number over the second (1 part in 20 is 0.05). by: "weight" or
    "volume" where parts say which, else "". note: what was taken where the words leave it open,
    such as which ounce.
    """

    as_written: str
    basis: str
    value: float
    by: str = ""
    note: str = ""

    def __str__(self) -> str:
        return self.as_written


def checked(strength: Strength, field: str | None) -> Strength:
    """The strength, refused (BadQuantity) where it is not above zero or is more than can be meant."""
    written = strength.as_written
    if strength.value < 0:
        raise BadQuantity(f"'{written}' is a negative strength.", "Write an amount above zero.", field=field)
    if strength.value == 0:
        raise BadQuantity(
            f"'{written}' is a strength of zero.",
            "Write an amount above zero, or take the ingredient out.",
            field=field,
        )
    if strength.value > _TOP[strength.basis]:
        raise BadQuantity(
            f"'{written}' is more than {_TOP_WORDS[strength.basis]}: too much to be meant.",
            "Check the number and its unit.",
            field=field,
        )
    return strength
