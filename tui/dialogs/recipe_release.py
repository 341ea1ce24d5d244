"""Releasing a recipe: one answer for each critical danger, and the name of who stands for it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tui import format as show
from tui.dialogs.form import Field, Form, asked
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import RecipeRelease

CAUTION = "Whoever answers stands for it by name; every answer is kept."


class ReleaseForm(Form):
    """A field under each danger that is not answered yet."""

    YES = "Release (Ctrl+S)"

    def __init__(self, studio: Studio, state: RecipeRelease) -> None:
        self.state = state
        self.told = {f"answer{d.number}": d for d in state.open}
        fields = [Field(key, "  why it is safe", "what is done here so that it cannot happen") for key in self.told]
        fields += [Field("by", "Released by", "the name of a person", studio.who()), Field("note", "Note")]

        def keep(values: Mapping[str, str]) -> RecipeRelease:
            from patina.bench.recipes.releases import release

            answers = {key.removeprefix("answer"): values[key] for key in self.told}
            return release(
                studio,
                state.recipe_id,
                by=values["by"],
                note=values["note"],
                answers=answers,
                revision=state.revision,
            )

        super().__init__(f"Release {state.recipe}, revision {state.revision}", fields, keep)

    def body(self) -> ComposeResult:
        """Each danger, and below it the field for its answer."""
        yield Static(CAUTION, classes="field-hint", markup=False)
        with VerticalScroll(id="form-fields", can_focus=False):
            for field in self.fields:
                if field.key in self.told:
                    yield ProseView(self._danger(field.key))
                yield from asked(field)
        yield Static(id="form-trouble", markup=False)

    def _danger(self, key: str) -> Prose:
        asked = self.told[key]
        d = asked.danger
        prose = Prose().caution(f"{' + '.join(d.between)} ({d.where}). {show.sentence(d.consequence)}", grave=True)
        prose.text(f"Instead: {show.sentence(d.instead)}", "$text-muted", indent=4)
        for answer in asked.earlier[-1:]:
            prose.text(f"Revision {answer.revision}, {answer.by}: {answer.reason}", "$text-muted", indent=4)
        return prose


def release_form(studio: Studio, state: RecipeRelease) -> Form:
    """Release a revision. The answer is its new state."""
    return ReleaseForm(studio, state)


def withdraw_form(studio: Studio, state: RecipeRelease) -> Form:
    """Take a release back. The answer is the new state."""

    def keep(values: Mapping[str, str]) -> RecipeRelease:
        from patina.bench.recipes.releases import withdraw

        return withdraw(studio, state.recipe_id, values["reason"], by=values["by"], revision=state.revision)

    fields = [Field("reason", "Why", "what has come up"), Field("by", "By", "the name of a person", studio.who())]
    return Form(f"Take back the release of {state.recipe}", fields, keep, before=state.words)
