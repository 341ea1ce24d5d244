"""A recipe as text: what is wrong is said below while it is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.timer import Timer
from textual.widgets import TextArea

from patina.bench.form_drafts import FormDraft
from patina.bench.recipes import finishes
from patina.bench.recipes.conflicts import settle
from patina.bench.recipes.drafts import FIRST_TEXT, recipe_of_text
from patina.bench.safe.thresholds import draft_outlook
from patina.errors import Conflict, Incomplete, PatinaError
from tui import actions
from tui.app import STYLES
from tui.screens.base import Base
from tui.screens.safety_words import outlook_words
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.bench.safe.thresholds import PotOutlook
    from patina.bench.studio import Studio
    from patina.sheets import Recipe, RecipeSheet

CHECK_PAUSE_S = 0.3


def kept_back(studio: Studio, sheet: RecipeSheet | None) -> FormDraft:
    """Where a text that is not saved yet lies on this machine: of a new recipe, or of a revision of one."""
    return FormDraft(studio, "recipe-text-new" if sheet is None else f"recipe-text-{sheet.id}-{sheet.revision}")


class RecipeText(Base):
    """Dismissed with the id of the recipe saved, or None. sheet: what is revised; None for a new one. draft: the
    waiting text that is settled by saving this one."""

    WHERE = "recipe"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    PLACE = "finishes"
    # the text would keep Escape for itself
    BINDINGS: ClassVar[list[Any]] = [*actions.bindings("recipe"), Binding("escape", "back", show=False, priority=True)]

    def __init__(self, text: str, sheet: RecipeSheet | None, *, draft: str = "") -> None:
        super().__init__()
        self._draft = draft
        self._text = text
        self._sheet = sheet
        self._pause: Timer | None = None
        self._kept_back: FormDraft | None = None
        self.recipe: Recipe | None = None

    def body(self) -> ComposeResult:
        """The text and what is wrong with it."""
        name = "New recipe" if self._sheet is None else f"{self._sheet.recipe.name}, revision {self._sheet.revision}"
        yield Static(f" {name}: text of the recipe", id="recipe-heading", markup=False)
        yield TextArea(self._text, id="recipe-text", show_line_numbers=True, tab_behavior="indent", soft_wrap=False)
        with VerticalScroll(id="recipe-troubles", can_focus=False):
            yield ProseView(id="recipe-said")

    @property
    def _as_saved(self) -> str:
        """The text that is lost by nobody: what is on record, or the pattern of a new one."""
        return FIRST_TEXT if self._sheet is None else self._text

    def on_mount(self) -> None:
        """Begin in the text."""
        text = self.query_one(TextArea)
        self._kept_back = None if self._draft else kept_back(self.studio, self._sheet)
        kept = self._kept_back.read() if self._kept_back is not None else {}
        if kept.get("text", self._as_saved) != self._as_saved:
            text.load_text(kept["text"])
            self.notify("What was written here before and not saved stands here again.", timeout=8)
        text.focus()
        self.check()

    @on(TextArea.Changed)
    def _changed(self) -> None:
        self.recipe = None
        if self._pause is not None:
            self._pause.stop()
        self._pause = self.set_timer(CHECK_PAUSE_S, self.check)

    def said_anew(self) -> None:
        """After everything was said again."""
        self.check()

    def check(self) -> None:
        """Read the text as a recipe, in a thread."""
        text = self.query_one(TextArea).text
        if self._kept_back is not None and text != self._as_saved:
            self._kept_back.keep({"text": text})
        self.work(
            "Reading the recipe",
            lambda: recipe_of_text(self.studio, text),
            self._sound,
            self._wrong,
            quiet=True,
            key="check",
        )

    def _sound(self, recipe: Recipe) -> None:
        self.recipe = recipe
        pots = ", ".join(s.name for s in recipe.solutions) or "no solution"
        words = f"✓ The text can be read: {len(recipe.steps)} steps; {pots}. Ctrl+S saves it."
        said = Prose().text(words, "$text-success")
        self.query_one("#recipe-said", ProseView).show(said)
        before = None if self._sheet is None else self._sheet.recipe
        self.work(
            "Looking at its hazards",
            lambda: draft_outlook(self.studio, recipe, before),
            lambda pots: self._hazards(recipe, said, pots),
            self._wrong,
            quiet=True,
            key="hazards",
        )

    def _hazards(self, recipe: Recipe, said: Prose, pots: Sequence[PotOutlook]) -> None:
        """What the pots become at the strengths that stand in the text."""
        if recipe is self.recipe:
            self.query_one("#recipe-said", ProseView).show(said.extend(outlook_words(pots)))

    def _wrong(self, trouble: PatinaError) -> None:
        prose = Prose()
        for one in trouble.troubles if isinstance(trouble, Incomplete) else (trouble,):
            for line in one.what.splitlines():
                prose.caution(line, grave=True)
            prose.text(one.remedy, "$text-muted", indent=4)
        self.query_one("#recipe-said", ProseView).show(prose)

    def action_old_words(self) -> None:
        """Turn old words into g/L and put them into the text, in place of the strength of the line or above it."""
        from tui.dialogs.old_words import OldWords, at_cursor

        text = self.query_one(TextArea)
        row = text.cursor_location[0]
        words, substance = at_cursor(text.text.splitlines(), row)

        def put(line: str) -> None:
            own = text.document.get_line(row) if row < text.document.line_count else ""
            if own.lstrip().startswith("strength") or not own.strip():
                text.replace(line, (row, 0), (row, len(own)))
            else:
                text.insert(line + "\n", (row, 0))

        self.ask(OldWords(self.studio, words, substance), put)

    def action_save(self) -> None:
        """Save as a new recipe, or as a revision with its reason."""
        from tui.dialogs.form import Field, Form

        text = self.query_one(TextArea).text
        if text == FIRST_TEXT:
            self.notify("This is still the pattern: write your own name, look and figures first.", timeout=6)
            return
        recipe = recipe_of_text(self.studio, text)
        if self._sheet is None:
            self._keep(recipe, {})
            return
        field = Field("reason", "Why", "one pass more: the first casts came out too light")
        self.ask(Form("What was changed, and why?", [field], lambda values: values), lambda v: self._keep(recipe, v))

    def _keep(self, recipe: Recipe, values: Mapping[str, str]) -> None:
        sheet = self._sheet

        def keep() -> str:
            if sheet is None:
                return finishes.save_recipe(self.studio, recipe).id
            reason = values.get("reason", "")
            if self._draft:
                return settle(self.studio, self._draft, "mine", recipe=recipe, reason=reason, met=sheet.revision).id
            made = finishes.revise_recipe(
                self.studio, sheet.id, recipe, reason=reason, version=sheet.version, based_on=sheet.revision
            )
            return made.id

        self.work("Saving", keep, self._kept, self._met)

    def _met(self, trouble: PatinaError) -> None:
        """Somebody else was here first: the text is kept, and both are shown."""
        if not isinstance(trouble, Conflict):
            raise trouble
        from tui.dialogs.conflict import settle as settle_on_screen

        self._forget()
        self._text = self.query_one(TextArea).text  # it is kept in the studio: leaving loses nothing
        settle_on_screen(self, trouble.draft, self._settled)

    def _settled(self, id: str) -> None:
        self.dismiss(id)  # type: ignore[arg-type]

    def _kept(self, id: str) -> None:
        self._forget()
        self.said("Saved." if self._sheet is None else "Saved as a new revision; the old one stays.")
        self.dismiss(id)  # type: ignore[arg-type]

    def _forget(self) -> None:
        """The text is on record, or nobody wants it: it is kept back no longer."""
        if self._pause is not None:
            self._pause.stop()
        if self._kept_back is not None:
            self._kept_back.drop()

    def action_back(self) -> None:
        """Leave; ask where something would be lost."""
        from tui.dialogs.choose import Choose

        if self.query_one(TextArea).text == self._as_saved:
            self._forget()
            self.dismiss(None)
            return
        options = [("stay", "Go on writing"), ("leave", "Leave without saving")]

        def answered(way: str) -> None:
            if way == "leave":
                self._forget()
                self.dismiss(None)

        self.ask(Choose("The text is not saved", options), answered)
