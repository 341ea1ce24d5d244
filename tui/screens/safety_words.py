"""Safety notes in words: what to fear first, then why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.safe.thresholds import PotOutlook
    from patina.safety.values import Danger
    from patina.sheets import SafetySheet

_LEVELS = {"critical": "MUST NOT MEET", "serious": "Keep apart", "caution": "Mind"}


def safety_strip(safety: SafetySheet, *, short: bool = False) -> Prose:
    """The few lines that must be seen before anything is weighed. short: only critical dangers in
    full, so that what is to be weighed stays near the top."""
    prose = Prose()
    for solution in safety.solutions:
        word = show.signal_word(solution.signal_word)
        codes = solution.statements or tuple(dict.fromkeys(c.h for c in solution.classes))
        marks = f" {' '.join(solution.pictograms)}" if solution.pictograms else ""
        open_classes = ", ".join(dict.fromkeys(u.class_code for u in solution.undecided))
        still = f"; NOT DECIDED: {open_classes}" if open_classes else ""
        if open_classes and solution.signal_word is None:
            word = "NO SIGNAL WORD YET"
        prose.caution(
            f"{solution.name}: {word}{marks}  {' '.join(codes) or 'no class found'}{still}",
            grave=solution.signal_word == "Danger",
        )
        for undecided in solution.undecided:
            if undecided.class_code == "all classes":
                prose.caution(f"{solution.name}: hazards unknown. {undecided.needs}", grave=True)
    for danger in safety.dangers:
        if danger.level == "critical" or (danger.level == "serious" and not short):
            _danger(prose, danger)
    kept_apart = sum(danger.level == "serious" for danger in safety.dangers)
    if short and kept_apart:
        prose.caution(f"{kept_apart} more to keep apart: read below.")
    gases = ", ".join(dict.fromkeys(e.gas for e in safety.emits))
    if gases:
        prose.caution(f"May give off {gases}: see below.")
    return prose


def _danger(prose: Prose, danger: Danger) -> None:
    level = _LEVELS.get(danger.level, danger.level)
    words = f"{level} ({danger.where}): {' + '.join(danger.between)}. {show.sentence(danger.consequence)}"
    prose.caution(words, f"{show.sentence(danger.instead)} [{danger.source}]", grave=danger.level == "critical")


def outlook_words(pots: Sequence[PotOutlook]) -> Prose:
    """What the pots of a recipe become while it is written, and where they turn next."""
    prose = Prose()
    for pot in pots:
        word = show.signal_word(pot.signal_word)
        words = f"{pot.name}: {word}  {' '.join(pot.codes) or 'no class found'}"
        if pot.undecided:
            words += f"  undecided: {', '.join(pot.undecided)}"
        if pot.signal_word or pot.undecided:
            prose.caution(words, grave=pot.signal_word == "Danger")
        else:
            prose.text(words)
        prose.bullets(pot.next, "▸")
    return prose


def safety_full(safety: SafetySheet, *, strip: bool = True) -> Prose:
    """Everything the notes say, each statement with its reason. strip: with the few lines before it."""
    prose = safety_strip(safety) if strip else Prose()
    for danger in safety.dangers:
        if not strip or danger.level not in ("critical", "serious"):
            _danger(prose, danger)
    for solution in safety.solutions:
        prose.heading(f"{solution.name}: classification as mixed ({safety.regime})")
        for note in (*solution.classes, *solution.supplemental):
            label = "" if note.on_label else " (covered by another statement on the label)"
            prose.text(f"{note.h} {note.text}{label}", "bold").text(
                f"{note.class_code}. Why: {note.why} [{note.source}]", indent=2
            )
        for undecided in solution.undecided:
            prose.bullets([f"undecided, {undecided.class_code}: {undecided.needs}"], "?")
        if not solution.classes:
            prose.text("No class follows from what is known.")
        if solution.density_g_ml is not None:
            prose.fact("density", f"{show.number(solution.density_g_ml, 3)} g/mL, {solution.density_note}")
        if solution.p_statements:
            prose.fact("precautions", " ".join(solution.p_statements))
        prose.bullets(solution.notes)
    if safety.emits:
        prose.heading("What it may give off")
        for emission in safety.emits:
            prose.text(f"{emission.gas} from {emission.from_}, {emission.when}", "bold")
            for limit in emission.limits:
                prose.bullets([f"{limit.who}: {limit.value} [{limit.source}]"])
            if emission.note:
                prose.text(emission.note, indent=3)
    for heading, items in (("Wear", safety.ppe), ("Place of work", safety.place), ("Waste", safety.waste)):
        if items:
            prose.heading(heading).bullets(items)
    return prose.gap().text(safety.caution, "$text-muted")
