"""The safety of a solution as the texts that labels and sheets print."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from patina.safety.values import ClassNote, Danger, Emission, SolutionSafety

_CODED = re.compile(r"^((?:EUH|H|P)\d{3}[A-Za-z]*(?:\s*\+\s*P\d{3})*)\s*[:.\u2013-]?\s*(.*)$", re.DOTALL)

NOTHING_FOUND = (
    "No hazard class follows from the data at this strength. That is not the same as harmless: gases from the hot "
    "metal and other pots are listed below."
)


def coded(statement: str) -> dict[str, str]:
    """A statement parted into its code and its text.

    >>> coded("P305 + P351: Rinse for some minutes.")
    {'code': 'P305 + P351', 'text': 'Rinse for some minutes.'}
    """
    match = _CODED.match(statement.strip())
    if match is None:
        return {"code": "", "text": statement.strip()}
    return {"code": match.group(1), "text": match.group(2)}


def statements_of(solution: SolutionSafety) -> list[dict[str, str]]:
    """Hazard statements that stand on the label, each once, then the supplemental ones."""
    notes = [note for note in solution.classes if note.on_label]
    notes += list(solution.supplemental)
    found = {note.h: _text(note) for note in notes if note.h}
    for code in solution.euh:
        found.setdefault(code, "")
    return [{"code": code, "text": text} for code, text in found.items()]


def _text(note: ClassNote) -> str:
    text = coded(note.text)
    return text["text"] if text["code"] else note.text


def hazards(solution: SolutionSafety) -> dict[str, Any]:
    """All that a sheet prints about one pot. Undecided classes are printed, never left out."""
    statements = statements_of(solution)
    undecided = [f"{u.class_code}: {u.needs}" for u in solution.undecided]
    return {
        "name": solution.name,
        "signal": solution.signal_word or "",
        "pictograms": list(solution.pictograms),
        "statements": statements,
        "precautions": [coded(p) for p in solution.p_statements],
        "undecided": undecided,
        "notes": list(solution.notes),
        "none": NOTHING_FOUND if not statements and not undecided else "",
        "density": solution.density_note,
    }


def danger_words(danger: Danger) -> dict[str, str]:
    """One danger: how bad, between what, what happens, what to do instead."""
    instead = danger.instead
    if danger.discard_within_h is not None:
        instead = f"{instead} Discard within {danger.discard_within_h:g} h.".strip()
    return {
        "level": danger.level,
        "between": " with ".join(dict.fromkeys(danger.between)) + (f" ({danger.where})" if danger.where else ""),
        "consequence": danger.consequence,
        "instead": instead,
    }


def emission_words(emission: Emission) -> dict[str, str]:
    """One gas: from what, when, each body's limit."""
    return {
        "gas": emission.gas,
        "from": emission.from_,
        "when": emission.when,
        "limits": "; ".join(f"{limit.who} {limit.value}" for limit in emission.limits),
        "note": emission.note,
    }
