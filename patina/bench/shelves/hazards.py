"""Hazards of a substance as it is sold, for the shelf."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from patina.errors import NotFound

if TYPE_CHECKING:
    from patina.bench.studio import Studio

_BASES = {
    "harmonised": "Harmonised classification.",
    "self-classification": "Classified by suppliers, not harmonised.",
    "none known": "No hazard class is known of it.",
    "unknown": "Nobody has said how hazardous it is: treat it as hazardous and read its safety data sheet.",
}


@dataclass(frozen=True, slots=True)
class SubstanceHazards:
    """statements: code, text, class and source of each. gases: what it can give off. basis: where
    the classes come from, in words; unknown is said as such."""

    statements: tuple[str, ...]
    gases: tuple[str, ...]
    basis: str


def hazards_of(studio: Studio, key: str) -> SubstanceHazards:
    """The hazards of a substance of the studio's catalogue. Raises NotFound."""
    substance = studio.catalogue().get(key)
    statements = [_statement(h.h, f"{h.code}{'*' if h.minimum else ''}", h.source) for h in substance.hazards]
    statements += [_statement(code, "", "") for code in substance.euh]
    gases = tuple(f"gives off {g.gas}: {g.when} [{g.source}]" for g in substance.gases)
    basis = _BASES.get(substance.hazard_basis, substance.hazard_basis)
    return SubstanceHazards(tuple(statements), gases, " ".join(w for w in (basis, substance.hazard_note) if w))


def _statement(code: str, hazard_class: str, source: str) -> str:
    from patina.safety.label import statement

    try:
        words = statement(code)
    except NotFound:
        words = "text not known here"
    behind = ", ".join(w for w in (hazard_class, f"[{source}]" if source else "") if w)
    return f"{code} {words}" + (f" ({behind})" if behind else "")
