"""The controlled words of a treatment record, for lists and forms."""

from __future__ import annotations

from patina.conservation.salts import Extraction, curve
from patina.conservation.vocabulary import Step, Term, Trigger, scales, terms, triggers


def list_terms(search: str = "") -> tuple[Term, ...]:
    """Condition terms. search: every word must stand in name, group, formula, number or note."""
    wanted = search.casefold().split()
    return tuple(
        term
        for term in terms().values()
        if all(
            w in f"{term.key} {term.name} {term.group} {term.formula} {term.cas} {term.note}".casefold() for w in wanted
        )
    )


def list_scales() -> tuple[Step, ...]:
    """The steps of all scales of the condition map."""
    return scales()


def list_triggers() -> tuple[Trigger, ...]:
    """What may set off care."""
    return tuple(triggers().values())


def extraction_curve(found: Extraction) -> tuple[tuple[float, float], ...]:
    """The law that fits an extraction best, as points (root of hours, all that is out)."""
    return curve(found)
