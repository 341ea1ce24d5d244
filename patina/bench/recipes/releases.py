"""Releasing a recipe's revision for work on pieces.

A revision is a draft until it is released: it may be mixed for test tiles only. Every critical danger must first
have been answered by a named person, in words; a substance without hazard information blocks a release whatever
is written. Answers and releases are added and never altered; a new revision begins as a draft.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.errors import Incomplete, NotFound, PatinaError, Refused
from patina.records.recipes import recipes, releases
from patina.records.studio.unit import unit
from patina.records.tables.recipe_json import recipe_from
from patina.sheets.safety import DangerAnswer, DangerToAnswer, RecipeRelease, ReleaseEvent

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue
    from patina.recipe import Solution
    from patina.records.tables.first import RecipeTable, RevisionTable
    from patina.safety.values import Danger
    from patina.sheets import MixSheet

# A reason of fewer words says nothing that somebody else could judge.
FEWEST_WORDS = 3
STATES = {
    "draft": "Draft, not released: it may be mixed for test tiles only.",
    "released": "Released for work on pieces by {by} on {on}.",
    "withdrawn": "The release was taken back by {by} on {on}: it may be mixed for test tiles only.",
    "lapsed": "Released by {by} on {on}, but something has come up since that nobody has answered: test tiles only.",
}


def release_state(studio: Studio, which: str, revision: int | None = None) -> RecipeRelease:
    """Where a revision of a recipe (the latest where none is named) stands. Raises NotFound."""
    known = studio.catalogue()
    with studio.store.view() as session:
        row = recipes.find_recipe(session, which)
        return state_in(session, known, row, recipes.find_revision(session, row, revision))


def answer_danger(
    studio: Studio, which: str, danger: str, reason: str, *, by: str = "", revision: int | None = None
) -> RecipeRelease:
    """Write why one critical danger is safe as the work is done here.

    danger: its number on the sheet, or its key. by: who stands for it. Raises NotFound for a danger the revision
    does not have, Refused without a name or with a reason that says nothing.
    """
    return _write(studio, which, revision, {danger: reason}, by, deed="answer danger", give=None)


def release(
    studio: Studio,
    which: str,
    *,
    by: str = "",
    answers: Mapping[str, str] | None = None,
    note: str = "",
    revision: int | None = None,
) -> RecipeRelease:
    """Release a revision for work on pieces.

    answers: reason by number or key of the danger; those given before stand. All of it is kept, or nothing. Raises
    Refused while a critical danger is not answered, a substance has no hazard information, no name is given or the
    revision is released already; Incomplete where several answers are wrong.
    """
    return _write(studio, which, revision, answers or {}, by, deed="release recipe", give=note.strip())


def withdraw(studio: Studio, which: str, reason: str, *, by: str = "", revision: int | None = None) -> RecipeRelease:
    """Take a release back. Raises Refused where there is none, without a reason or without a name."""
    who = _named(studio, by)
    if not reason.strip():
        raise Refused("It is not said why the release is taken back.", "Say it in a few words.", field="reason")
    known = studio.catalogue()
    with unit(studio.store, "withdraw release", by=who, why=reason.strip()) as work:
        row = recipes.find_recipe(work.session, which)
        frozen = recipes.find_revision(work.session, row, revision)
        before = state_in(work.session, known, row, frozen)
        if before.state not in ("released", "lapsed"):
            raise Refused(
                f"Revision {frozen.number} of '{row.name}' is not released.", "There is nothing to take back."
            )
        releases.add_release(work.session, frozen, False, by=who, note=reason.strip())
        after = state_in(work.session, known, row, frozen)
        work.commit()
    return after


def _write(
    studio: Studio,
    which: str,
    revision: int | None,
    answers: Mapping[str, str],
    by: str,
    *,
    deed: str,
    give: str | None,
) -> RecipeRelease:
    """Answers, and with ``give`` (the note) the release, in one transaction."""
    who = _named(studio, by)
    known = studio.catalogue()
    with unit(studio.store, deed, by=who, why=(give or "")[:400]) as work:
        row = recipes.find_recipe(work.session, which)
        frozen = recipes.find_revision(work.session, row, revision)
        before = state_in(work.session, known, row, frozen)
        for danger, reason in _checked(before, answers):
            releases.add_answer(
                work.session,
                frozen,
                danger=danger.key,
                between=danger.danger.between,
                consequence=danger.danger.consequence,
                reason=reason,
                by=who,
            )
        after = state_in(work.session, known, row, frozen)
        if give is not None:
            _may_be_released(before, after)
            releases.add_release(work.session, frozen, True, by=who, note=give)
            after = state_in(work.session, known, row, frozen)
        work.commit()
    return after


def _named(studio: Studio, by: str) -> str:
    who = studio.who(by)
    if not who:
        raise Refused("Nobody is named who stands for this.", "Give the name of the person.", field="by")
    return who


def _checked(state: RecipeRelease, answers: Mapping[str, str]) -> list[tuple[DangerToAnswer, str]]:
    troubles: list[PatinaError] = []
    found = []
    for name, reason in answers.items():
        danger = next((d for d in state.dangers if str(name).strip() in (str(d.number), d.key)), None)
        field = f"answer{name}"
        if danger is None:
            numbers = ", ".join(str(d.number) for d in state.dangers) or "none"
            troubles.append(
                NotFound(f"There is no critical danger '{name}' here.", f"Those to answer: {numbers}.", field=field)
            )
        elif len(reason.split()) < FEWEST_WORDS:
            troubles.append(
                Refused(
                    f"'{reason.strip()}' does not say why it is safe: {' and '.join(danger.danger.between)}.",
                    "Write what is done here so that it cannot happen, in words somebody else can judge.",
                    field=field,
                )
            )
        else:
            found.append((danger, reason.strip()))
    if len(troubles) == 1:
        raise troubles[0]
    if troubles:
        raise Incomplete(troubles)
    return found


def _may_be_released(before: RecipeRelease, after: RecipeRelease) -> None:
    if after.unknown:
        raise Refused(
            f"'{after.recipe}' cannot be released: {', '.join(after.unknown)} has no hazard information.",
            "Add it from the supplier's safety data sheet; until then it is for test tiles only.",
        )
    if after.open:
        raise Refused(
            f"'{after.recipe}' cannot be released. {' '.join(after.blocks)}",
            "Answer each critical danger: write what is done here so that it cannot happen.",
        )
    if before.released:
        raise Refused(f"Revision {after.revision} of '{after.recipe}' is released already.", "Nothing is to be done.")


def state_in(session: Session, known: Catalogue, row: RecipeTable, frozen: RevisionTable) -> RecipeRelease:
    """Where a revision stands, inside a deed that is under way."""
    from patina.bench.access import safety_seen

    recipe = recipe_from(frozen.document)
    written = releases.answers(session, row.id)
    critical = safety_seen(session, known, frozen).critical
    dangers = tuple(_to_answer(n, danger, written, frozen.number) for n, danger in enumerate(critical, 1))
    history = releases.history(session, row.id)
    unknown = unknown_substances(recipe.solutions, known)
    state, words = _words(history, frozen.number, bool(unknown) or any(not d.answered for d in dangers))
    return RecipeRelease(row.public_id, row.name, frozen.number, state, words, dangers, unknown, history)


def _to_answer(
    number: int, danger: Danger, written: Mapping[str, tuple[DangerAnswer, ...]], revision: int
) -> DangerToAnswer:
    key = danger_key(danger)
    rows = written.get(key, ())
    mine = tuple(a for a in rows if a.revision == revision)
    return DangerToAnswer(number, key, danger, mine, tuple(a for a in rows if a.revision < revision))


def with_release(studio: Studio, sheet: MixSheet) -> MixSheet:
    """A mix with a word that its recipe is not released, where it is not."""
    from patina.colour.values import Caution

    state = release_state(studio, sheet.recipe_id or sheet.recipe, sheet.revision)
    if state.released:
        return sheet
    said = Caution("not-released", state.words, None, "Have it released before it goes on a piece.")
    return replace(sheet, warnings=(*sheet.warnings, said))


def danger_key(danger: Danger) -> str:
    """What a danger is known by from one revision to the next: its rule and what meets what.

    >>> from patina.safety.values import Danger
    >>> danger_key(Danger(("b", "a"), "gas", "critical", "apart", "X", "in one pot", rule="r"))
    'r: a + b'
    """
    return f"{danger.rule}: {' + '.join(sorted(danger.between))}"[:600]


def unknown_substances(solutions: Sequence[Solution], known: Catalogue) -> tuple[str, ...]:
    """Names of what solutions are made of, solvents too, of which no hazard information is on record."""
    keys = dict.fromkeys(k for s in solutions for k in (*(i.substance for i in s.ingredients), s.solvent))
    found = []
    for key in keys:
        try:
            substance = known.get(key)
        except NotFound:
            found.append(key)
            continue
        if substance.hazard_basis == "unknown":
            found.append(substance.name)
    return tuple(found)


def _words(history: tuple[ReleaseEvent, ...], revision: int, blocked: bool) -> tuple[str, str]:
    last = next((e for e in reversed(history) if e.revision == revision), None)
    if last is None:
        return "draft", STATES["draft"]
    state = "withdrawn" if not last.released else "lapsed" if blocked else "released"
    return state, STATES[state].format(by=last.by, on=f"{last.at:%Y-%m-%d}")
