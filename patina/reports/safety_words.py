"""The safety of a solution as the texts that labels and sheets print."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from patina.language import shown

if TYPE_CHECKING:
    from patina.safety.values import Danger, SolutionSafety

NOTHING_FOUND = (
    "No hazard class follows from the data at this strength. That is not the same as harmless: gases from the hot "
    "metal and other pots are listed below."
)


def statements_of(solution: SolutionSafety) -> list[dict[str, str]]:
    """Hazard statements that stand on the label, each once, then the supplemental ones."""
    notes = [note for note in solution.classes if note.on_label and note.h]
    if solution.statements:
        notes = [note for note in notes if note.h in solution.statements]
    found = {note.h: note.text for note in notes} | {note.h: note.text for note in solution.supplemental}
    for code in (*solution.statements, *solution.euh):
        found.setdefault(code, "")
    return [{"code": code, "text": words} for code, words in found.items()]


def hazards(solution: SolutionSafety) -> dict[str, Any]:
    """All that a sheet prints about one pot. Undecided classes are printed, never left out."""
    statements = statements_of(solution)
    undecided = [f"{u.class_code}: {shown(u.needs)}" for u in solution.undecided]
    return {
        "name": solution.name,
        "signal": solution.signal_word or "",
        "pictograms": list(solution.pictograms),
        "statements": statements,
        "precautions": list(solution.p_statements),
        "undecided": undecided,
        "notes": list(solution.notes),
        "none": NOTHING_FOUND if not statements and not undecided else "",
        "density": solution.density_note,
    }


def sentence(words: str) -> str:
    """The words with a capital and a full stop, so that parts from tables stand as sentences.

    >>> sentence("keep them apart"), sentence("Rinse."), sentence("")
    ('Keep them apart.', 'Rinse.', '')
    """
    words = words.strip()
    if not words:
        return ""
    return words[0].upper() + words[1:] + ("" if words[-1] in ".!?:;" else ".")


def _in_its_pot(name: str) -> str:
    """A substance, with the pot it is in behind it where that is said."""
    found = re.fullmatch(r"(.+) \((.+)\)", name)
    return f"{shown(found[1])} ({shown(found[2])})" if found else shown(name)


def danger_words(danger: Danger) -> dict[str, str]:
    """One danger: how bad, between what, what happens, what to do instead. In the reader's language, part by part,
    since the sentences are put together from tables."""
    instead = sentence(shown(danger.instead))
    if danger.discard_within_h is not None:
        instead = f"{instead} {shown(f'Discard within {danger.discard_within_h:g} h.')}".strip()
    where = f" ({shown(danger.where)})" if danger.where else ""
    pair = f" {shown('with')} ".join(dict.fromkeys(_in_its_pot(name) for name in danger.between))
    return {
        "level": danger.level,
        "pair": pair,
        "where": where,
        "between": pair + where,
        "consequence": sentence(shown(danger.consequence)),
        "instead": instead,
    }
