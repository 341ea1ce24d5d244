"""Whether a recipe is released, in words; and what stands together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.safe.dangers import TogetherSheet
    from patina.bench.studio import Studio
    from patina.safety.values import Danger
    from patina.sheets import BatchSheet, RecipeRelease, RecipeSheet

SIGNS = {"released": "✓ RELEASED", "draft": "○ DRAFT", "withdrawn": "✗ WITHDRAWN", "lapsed": "✗ LAPSED"}


def release_line(state: RecipeRelease) -> str:
    """Its state in one line."""
    left = len(state.open) + len(state.unknown)
    more = f" {show.times(left, 'thing stands', 'things stand')} against it." if left else ""
    return f"{SIGNS[state.state]}. {state.words}{more}"


def release_words(state: RecipeRelease) -> Prose:
    """Its state, what blocks it, and what was answered by whom."""
    prose = Prose().heading("Release")
    if state.released:
        prose.text(f"{SIGNS['released']}. {state.words}", "bold $text-success")
    else:
        prose.caution(f"{SIGNS[state.state]}. {state.words}", "Press s for the safety page, r there to release it.")
    for name in state.unknown:
        prose.caution(f"{name} has no hazard information: it cannot be released.", grave=True)
    for danger in state.open:
        prose.caution(f"Not answered: {' + '.join(danger.danger.between)}. {show.sentence(danger.danger.consequence)}")
    for danger in state.dangers:
        for answer in danger.answers:
            words = f"{answer.by}, {show.day(answer.at)}: {answer.reason}"
            prose.bullets([f"{' + '.join(danger.danger.between)}: {words}"], "✓")
    return prose


def released_and_safe(studio: Studio, sheet: RecipeSheet) -> Prose:
    """The release and the safety notes of a recipe's revision; slow, so for a thread."""
    from patina.bench.recipes.releases import release_state
    from patina.bench.safe.safety import safety
    from tui.screens.safety_words import safety_full

    notes = safety_full(safety(studio, sheet.id, revision=sheet.revision))
    return release_words(release_state(studio, sheet.id, sheet.revision)).gap().extend(notes)


def pot_cautions(sheet: BatchSheet) -> Prose:
    """What a pot may not be used for, and when it must be gone."""
    prose = Prose()
    if sheet.discard_by is not None:
        when = f"must be gone by {show.moment(sheet.discard_by)}: {show.time_left(sheet.discard_by)}."
        prose.caution(f"This pot {when}", sheet.discard_why, grave=True)
    if sheet.tiles_only:
        prose.caution("For test tiles only.", "Its recipe was not released for work on pieces when it was mixed.")
    return prose


def pot_together(studio: Studio, sheet: BatchSheet) -> Prose:
    """What this pot must not meet of what stands open today."""
    from patina.bench.safe import dangers

    found = dangers.pot_together(studio, sheet.id)
    return _together("On the bench today", found.bench, found)


def mix_together(studio: Studio, recipe: str, revision: int) -> Prose:
    """What is about to be mixed must not meet these open pots; nothing is said where there is no such pot."""
    from patina.bench.safe import dangers

    found = dangers.recipe_together(studio, recipe, revision)
    grave = [d for d in found.bench if d.level in ("critical", "serious")]
    return _together("Stands open on the bench already", grave, found) if grave else Prose()


def lot_together(studio: Studio, lot: str) -> Prose:
    """What this lot must not stand beside, of what stands in its place."""
    from patina.bench.safe import dangers

    found = dangers.lot_together(studio, lot)
    return _together("In the same place", found.shelf, found)


def _together(heading: str, dangers: Sequence[Danger], found: TogetherSheet) -> Prose:
    prose = Prose().heading(heading)
    for danger in dangers:
        level = {"critical": "MUST NOT MEET", "serious": "Keep apart"}.get(danger.level, "Mind")
        words = f"{level}: {' + '.join(danger.between)}. {show.sentence(danger.consequence)}"
        prose.caution(words, f"{show.sentence(danger.instead)} [{danger.source}]", grave=danger.level == "critical")
    if not dangers:
        prose.text("Nothing is known that it must not meet there.", "$text-muted")
    for name in found.unknown:
        prose.bullets([f"{name}: nobody has said what it is, so nothing can be told."], "?")
    return prose.text(found.caution, "$text-muted")
