"""Somebody else revised the recipe first: both texts side by side, and how it is settled."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import OptionList

from patina.bench.recipes import conflicts
from tui import format as show
from tui.dialogs.base import Dialog
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Option

if TYPE_CHECKING:
    from patina.sheets import ConflictSheet
    from tui.screens.base import Base


class Conflict(Dialog[str]):
    """The answer is "theirs", "mine", "merged" or "edit"; leaving it keeps the text waiting."""

    DEFAULT_CSS = """
    Conflict #choices { height: auto; max-height: 6; }
    Conflict #dialog-body { max-height: 50vh; }
    """
    YES = ""
    NO = "Later (Esc): the text is kept"

    def __init__(self, sheet: ConflictSheet) -> None:
        super().__init__()
        self.sheet = sheet

    def heading(self) -> str:
        """Whose revision was there first."""
        return f"{self.sheet.recipe}: {self.sheet.by or 'somebody'} was here first"

    def body(self) -> ComposeResult:
        """The difference, and what can be done."""
        yield OptionList(*(Option(words, id=way) for way, words in ways(self.sheet)), id="choices")
        with VerticalScroll(id="dialog-body"):
            yield ProseView(difference_words(self.sheet))

    def on_mount(self) -> None:
        """Begin in the choices."""
        choices = self.query_one(OptionList)
        choices.focus()
        choices.highlighted = 0

    @on(OptionList.OptionSelected)
    def _taken(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(event.option.id)


def ways(sheet: ConflictSheet) -> list[tuple[str, str]]:
    """What can be done about it, the gentlest first."""
    found = []
    if sheet.merged is not None:
        found.append(("merged", f"Both changes together, as revision {sheet.met + 1}"))
    return [
        *found,
        ("edit", "Write one text out of both"),
        ("mine", f"My text on top of theirs, as revision {sheet.met + 1}"),
        ("theirs", f"Leave it at their revision {sheet.met}; my text stays on record"),
    ]


def difference_words(sheet: ConflictSheet) -> Prose:
    """Field by field: before, theirs, mine."""
    prose = Prose()
    theirs = f"{sheet.reason}" if sheet.reason else "no reason given"
    prose.text(f"Both began at revision {sheet.based_on}. Theirs is {sheet.met}, {show.moment(sheet.at)}: {theirs}.")
    if sheet.merged is None:
        prose.caution("Both changed the same thing to something else, so the changes cannot simply be laid together.")
    for one in sheet.differences:
        prose.heading(f"{'! ' if one.clash else ''}{one.field}")
        prose.fact("before", one.before).fact("theirs", one.theirs).fact("mine", one.mine)
    return prose


def settle(screen: Base, draft: str, then: Any) -> None:
    """Show a text that waits beside the other and settle it; ``then`` gets the id of the recipe."""

    def shown(sheet: ConflictSheet) -> None:
        screen.ask(Conflict(sheet), lambda way: _settle(screen, sheet, way, then))

    screen.work("Laying both side by side", lambda: conflicts.conflict_sheet(screen.studio, draft), shown)


def _settle(screen: Base, sheet: ConflictSheet, way: str, then: Any) -> None:
    if way == "edit":
        _edit(screen, sheet, then)
        return

    def keep(values: Mapping[str, str]) -> str:
        made = conflicts.settle(screen.studio, sheet.draft, way, reason=values.get("reason", ""), met=sheet.met)
        return made.id

    def kept(id: str) -> None:
        screen.said("Settled; nothing was lost.")
        then(id)

    if way == "theirs":
        screen.work("Settling", lambda: keep({}), kept)
        return
    field = Field("reason", "Why", "why the recipe is changed", sheet.my_reason)
    screen.ask(Form("The reason of the new revision", [field], keep), kept)


def _edit(screen: Base, sheet: ConflictSheet, then: Any) -> None:
    from patina.bench.recipes.drafts import text_of_recipe
    from patina.bench.recipes.finishes import recipe_sheet
    from tui.screens.recipe_text import RecipeText

    text = text_of_recipe(screen.studio, sheet.merged or sheet.mine)
    newest = recipe_sheet(screen.studio, sheet.recipe_id)
    screen.app.push_screen(RecipeText(text, newest, draft=sheet.draft), lambda id: then(id) if id is not None else None)


def show_drafts(screen: Base, then: Any) -> None:
    """The texts that wait; the chosen one is settled."""

    def found(rows: Any) -> None:
        if not rows:
            screen.said("No text waits to be settled.")
            return
        options = [(r.id, f"{r.id}  {r.recipe}: {r.by or 'somebody'}, {show.moment(r.at)}, {r.reason}") for r in rows]
        screen.ask(Choose("Texts that met another revision", options), lambda id: settle(screen, id, then))

    screen.work("Reading what waits", lambda: conflicts.list_drafts(screen.studio), found)
