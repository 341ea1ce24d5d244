"""What stands there instead of what a recipe asks for, as a person tells it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from patina.chemistry.substances import Catalogue, Substance
from patina.errors import BadQuantity, Refused
from patina.recipe import Recipe


def on_hand(have: Sequence[str], recipe: Recipe, known: Catalogue) -> Mapping[str, tuple[Substance, float | None]]:
    """What is on hand, by the key of the substance it stands for: the substance and its assay in % w/w, if told.

    have: "SUBSTANCE" or "SUBSTANCE,assay=98%". Raises BadQuantity, UnknownSubstance, Refused.
    """
    there: dict[str, tuple[Substance, float | None]] = {}
    for text in have:
        name, assay = _split_assay(text)
        substance = known.find(name)
        stands_for = _stands_for(substance, recipe, known)
        for key in stands_for:
            if key in there:
                raise BadQuantity(
                    f"What there is of {known.get(key).name} is given twice.", "Give it once.", field="have"
                )
            there[key] = (substance, assay)
    return there


def _split_assay(text: str) -> tuple[str, float | None]:
    found = re.fullmatch(r"(.*?),\s*(\w+)\s*=(.*)", text, re.DOTALL)  # the assay may have a decimal comma
    if found is None:
        return text.strip(), None
    name, word, amount = found.groups()
    if word.lower() != "assay":
        raise BadQuantity(
            f"'{word}={amount.strip()}' is not known here.",
            "Write for example 'cupric nitrate,assay=98%'.",
            field="have",
        )
    from patina.units import share

    value = share(amount, field="assay") * 100.0
    if not 0.0 < value <= 100.0:
        raise BadQuantity(f"An assay of {value:g} % cannot be.", "Give more than 0 % and at most 100 %.", field="assay")
    return name.strip(), value


def _stands_for(substance: Substance, recipe: Recipe, known: Catalogue) -> list[str]:
    asked = [known.get(i.substance) for s in recipe.solutions for i in s.ingredients]
    matching = [a.key for a in asked if a.key == substance.key]
    matching = matching or [a.key for a in asked if a.base is not None and a.base == substance.base]
    if not matching:
        names = ", ".join(dict.fromkeys(a.name for a in asked)) or "nothing"
        raise Refused(
            f"{substance.name} stands for nothing that '{recipe.name}' asks for.",
            f"The recipe asks for: {names}. Another form of the same salt can be given.",
            field="have",
        )
    return matching
