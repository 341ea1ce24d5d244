"""Substances and mixtures made up for the tests of classification."""

from __future__ import annotations

from dataclasses import replace

from patina.chemistry.substances import (
    HazardClass,
    Substance,
    catalogue,
)
from patina.safety.mixture import Component, MixtureClass, classify

BLANK = catalogue().get("sodium_chloride")


def made(key: str, *classes: str, form: str = "solid", **more: object) -> Substance:
    """A substance with the classes given as "Skin Corr. 1B" or "Acute Tox. 3/oral"."""
    statements = {
        "Carc. 1B": "H350",
        "Carc. 2": "H351",
        "Muta. 1B": "H340",
        "Muta. 2": "H341",
        "Repr. 1B": "H360",
        "Repr. 2": "H361",
        "Lact.": "H362",
        "Skin Sens. 1": "H317",
        "Skin Sens. 1A": "H317",
        "Skin Sens. 1B": "H317",
        "Resp. Sens. 1": "H334",
        "Resp. Sens. 1A": "H334",
        "STOT SE 1": "H370",
        "STOT SE 2": "H371",
        "STOT RE 1": "H372",
        "STOT RE 2": "H373",
        "Asp. Tox. 1": "H304",
    }
    hazards = []
    for item in classes:
        code, _, route = item.partition("/")
        h = statements.get(code, "H000")
        if code.startswith("STOT SE 3"):
            code, h = "STOT SE 3", route or "H335"
            route = ""
        hazards.append(HazardClass(code, route, h, False, "MEMORY"))
    base: dict[str, object] = {
        "key": key,
        "name": key,
        "base": key,
        "hazards": tuple(hazards),
        "hazard_basis": "self-classification",
        "tags": frozenset(),
        "form": form,
        "gases": (),
        "limits": (),
        "ates": (),
        "euh": (),
        "m_acute": None,
        "m_chronic": None,
    }
    return replace(BLANK, **(base | more))  # type: ignore[arg-type]


def mix(*parts: tuple[Substance, float], **given: object) -> MixtureClass:
    return classify([Component(s, pct) for s, pct in parts], **given)  # type: ignore[arg-type]


def codes(result: MixtureClass) -> set[str]:
    return {f.code for f in result.found}


def of(key: str, pct: float, **given: object) -> MixtureClass:
    return mix((catalogue().get(key), pct), **given)
