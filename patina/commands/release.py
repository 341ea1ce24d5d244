"""`patina release`: releasing a recipe for work on pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, the_studio
from patina.commands.help_words import Group
from patina.errors import BadQuantity

if TYPE_CHECKING:
    from patina.sheets import RecipeRelease

_RECIPE = click.argument("recipe")
_REVISION = click.option("--revision", type=click.IntRange(min=1), help="Which revision; the latest by default.")
_BY = click.option("--by", default="", metavar="NAME", help="Who stands for it (else the studio's own 'who').")


@click.group(cls=Group)
def release() -> None:
    """Whether a recipe may be used on pieces: a named person answers for every critical danger."""


@release.command()
@_RECIPE
@_REVISION
@common
def show(recipe: str, revision: int | None, studio: str | None, as_json: bool) -> None:
    """Where RECIPE stands, and what is still to be answered."""
    from patina.bench.recipes.releases import release_state

    with the_studio(studio) as opened:
        state = release_state(opened, recipe, revision)
    say(as_json, state.as_json(), _text(state))


@release.command()
@_RECIPE
@click.argument("number")
@click.argument("reason")
@_BY
@_REVISION
@common
def answer(
    recipe: str, number: str, reason: str, by: str, revision: int | None, studio: str | None, as_json: bool
) -> None:
    """Write the REASON why danger NUMBER of RECIPE is safe as the work is done here."""
    from patina.bench.recipes.releases import answer_danger

    with the_studio(studio) as opened:
        state = answer_danger(opened, recipe, number, reason, by=by, revision=revision)
    say(as_json, state.as_json(), _text(state))


@release.command()
@_RECIPE
@click.option("--answer", "answers", multiple=True, metavar="NUMBER=REASON", help="Why a critical danger is safe here.")
@click.option("--note", default="", help="What else is to be said.")
@_BY
@_REVISION
@common
def give(
    recipe: str,
    answers: tuple[str, ...],
    note: str,
    by: str,
    revision: int | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """Release RECIPE for work on pieces."""
    from patina.bench.recipes.releases import release as release_deed

    said = dict(_answer(a) for a in answers)
    with the_studio(studio) as opened:
        state = release_deed(opened, recipe, by=by, answers=said, note=note, revision=revision)
    say(as_json, state.as_json(), _text(state))


@release.command()
@_RECIPE
@click.argument("reason")
@_BY
@_REVISION
@common
def withdraw(recipe: str, reason: str, by: str, revision: int | None, studio: str | None, as_json: bool) -> None:
    """Take the release of RECIPE back, with the REASON."""
    from patina.bench.recipes.releases import withdraw as withdraw_deed

    with the_studio(studio) as opened:
        state = withdraw_deed(opened, recipe, reason, by=by, revision=revision)
    say(as_json, state.as_json(), _text(state))


def _answer(written: str) -> tuple[str, str]:
    number, equals, reason = written.partition("=")
    if not equals or not number.strip():
        raise BadQuantity(f"--answer '{written}' names no danger.", "Write --answer '1=what is done here'.")
    return number.strip(), reason.strip()


def _text(state: RecipeRelease) -> str:
    lines = [f"{state.recipe}, revision {state.revision}: {state.words}"]
    lines += [f"! {name} has no hazard information: no reason lifts that." for name in state.unknown]
    for d in state.dangers:
        sign = "✓" if d.answered else "▲"
        lines.append(f"{sign} {d.number}. {' and '.join(d.danger.between)} ({d.danger.where}): {d.danger.consequence}")
        lines.append(f"     instead: {d.danger.instead} [{d.danger.source}]")
        lines += [f"     {a.at:%Y-%m-%d} {a.by}: {a.reason}" for a in d.answers]
        lines += [f"     before, revision {a.revision}, {a.by}: {a.reason}" for a in d.earlier if not d.answered]
    if not state.dangers:
        lines.append("No critical danger is known of it.")
    return "\n".join([*lines, state.caution])
