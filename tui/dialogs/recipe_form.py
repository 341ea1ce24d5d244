"""A new recipe by a few questions; the text is written from the answers, and there all else is said."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual.binding import Binding

from patina.bench.finding.names import alloy_names, substance_names
from patina.bench.form_drafts import FormDraft
from patina.bench.recipes.first_recipe import WAYS, text_of_answers
from tui.dialogs.form import Field, Form, in_own_words

if TYPE_CHECKING:
    from patina.bench.studio import Studio

BEFORE = "One solution and its step; more is added in the text that follows. F4 begins with the text at once."
SOLVENTS = ("distilled water", "white spirit")
ORIGINS = ("own tiles", "an old card", "a book", "a colleague")


class RecipeForm(Form):
    """The answer is the text of the recipe."""

    BINDINGS: ClassVar[list[Any]] = [Binding("f4", "text", "As text", priority=True)]

    def action_text(self) -> None:
        """Begin with the pattern of a text instead."""
        from patina.bench.recipes.drafts import FIRST_TEXT

        self.keep_draft()
        self.dismiss(FIRST_TEXT)


def recipe_form(studio: Studio) -> RecipeForm:
    """Ask what makes a recipe."""

    def write(values: Mapping[str, str]) -> str:
        names = {said.casefold(): name for said, name in in_own_words(substance_names(studio)).items()}
        return text_of_answers(studio, values, names)

    fields = [
        Field("name", "Name", "Slipway brown"),
        Field("finish", "The look aimed at", "even dark brown, satin"),
        Field("alloy", "Alloy", "C87300", "", alloy_names()),
        Field("prepare", "Before it", "glass bead, degreased; empty: nothing"),
        Field("chemicals", "In the pot", "liver of sulphur 5 g/L; more with ; between"),
        Field("solvent", "Dissolved in", "distilled water", SOLVENTS[0], SOLVENTS),
        Field("method", "Put on by", "torch", "", WAYS),
        Field("tool", "Tool", "soft brush"),
        Field("passes", "Passes", "4"),
        Field("coverage", "A pass takes", "40 mL/m2; empty: not known yet"),
        Field("metal", "Metal", "80 to 95 °C; empty: cold, or not known"),
        Field("wax", "Wax after it", "hot, one coat; empty: none"),
        Field("provenance", "Comes from", "own tiles, a card, a book", ORIGINS[0], ORIGINS),
    ]
    return RecipeForm(
        "A new recipe", fields, write, before=BEFORE, draft=FormDraft(studio, "recipe"), yes="On to its text"
    )
