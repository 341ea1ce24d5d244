"""What the words of an old recipe can mean, as one types, and the line of the recipe that comes of it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, VerticalScroll
from textual.timer import Timer
from textual.widgets import Input

from patina.bench.finding.names import substance_names
from patina.bench.recipes.old import figure, old_strength, recipe_line
from patina.errors import PatinaError
from patina.language import shown
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, FieldInput
from tui.widgets.prose import Prose, ProseView
from tui.widgets.words import Label

if TYPE_CHECKING:
    from patina.bench.recipes.old import OldStrength
    from patina.bench.studio import Studio

PAUSE_S = 0.15
ENDS = ("middle", "weak end", "strong end")


class OldWords(Dialog[str]):
    """The answer is a line of a recipe file: the strength in g/L, the old words beside it as a comment."""

    BINDINGS: ClassVar[list[Any]] = [Binding("ctrl+s", "take", "Put in", priority=True)]
    HEADING = "An old recipe's words in g/L"
    YES = "Put in (Ctrl+S)"

    def __init__(self, studio: Studio, words: str = "", substance: str = "") -> None:
        super().__init__()
        self._studio = studio
        self._words = words
        self._substance = substance
        self._pause: Timer | None = None
        self.found: OldStrength | None = None

    def body(self) -> ComposeResult:
        """The words, what of, into what, and what they mean."""
        fields = (
            Field("words", "As written", "2 tsp per US pint; 8 deg Baume; medium stock", self._words),
            Field("substance", "Of what", "name or CAS number", self._substance, substance_names(self._studio)),
            Field("volume", "Into", "250 mL, where the words do not say it"),
            Field("end", "Begin with", "middle", ENDS[0], ENDS),
        )
        for field in fields:
            with Horizontal(classes="field-row"):
                yield Label(shown(field.label) + (" ↕" if field.choices else ""), markup=False)
                yield FieldInput(field)
        with VerticalScroll(id="old-said", can_focus=False):
            yield ProseView(id="old-words")

    def on_mount(self) -> None:
        """Begin with the words."""
        self.query_one("#field-words").focus()
        self.compute()

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self.found = None
        if self._pause is not None:
            self._pause.stop()
        self._pause = self.set_timer(PAUSE_S, self.compute)

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        self.focus_next(FieldInput)

    def _value(self, key: str) -> str:
        return self.query_one(f"#field-{key}", FieldInput).meant

    def compute(self) -> None:
        """Read the words; at once, it is no work."""
        self.found = None
        prose = Prose()
        if not self._value("words") or not self._value("substance"):
            prose.text("Write words and substance: spoons, ounces, drachms, pints, degrees Baumé.", "$text-muted")
        else:
            try:
                self.found = old_strength(
                    self._studio, self._value("words"), self._value("substance"), volume=self._value("volume")
                )
            except PatinaError as trouble:
                prose.text(f"▲ {trouble.what} {trouble.remedy}", "$text-error")
            else:
                prose = _meaning(self.found, self.line())
        self.query_one("#old-words", ProseView).show(prose)

    def line(self) -> str:
        """The line as it would be put into the recipe. found must be there."""
        assert self.found is not None
        end = self._value("end").casefold()
        chosen = self.found.middle_g_per_l
        if end.startswith("weak") and self.found.low_g_per_l > 0:
            chosen = self.found.low_g_per_l
        elif end.startswith("strong"):
            chosen = self.found.high_g_per_l
        return recipe_line(self.found, chosen)

    def agreed(self) -> None:
        """The button."""
        self.action_take()

    def action_take(self) -> None:
        """Put the line into the text."""
        self.compute()
        if self.found is None:
            self.notify("The words are not understood yet: see below.", timeout=4)
            return
        self.dismiss(self.line())


def _meaning(found: OldStrength, line: str) -> Prose:
    prose = Prose()
    if found.certain:
        prose.fact("means", f"{figure(found.high_g_per_l)} g/L", "bold")
    else:
        ends = f"{figure(found.low_g_per_l)} to {figure(found.high_g_per_l)} g/L"
        prose.fact("means", ends, "bold").fact("middle", f"{figure(found.middle_g_per_l)} g/L, to begin tiles with")
    prose.fact("taken", found.assumption)
    return prose.text(line, "$text-muted")


def at_cursor(lines: Sequence[str], row: int) -> tuple[str, str]:
    """The strength that stands in a line of a recipe's text, and the substance it belongs to; "" without one."""
    own = lines[row] if row < len(lines) else ""
    words = _quoted("strength", own)
    for line in [own, *reversed(lines[:row])]:
        if line.strip() == "[[solution.ingredient]]":
            break
        if substance := _quoted("substance", line):
            return words, substance
    return words, ""


def _quoted(key: str, line: str) -> str:
    found = re.match(rf'\s*{key}\s*=\s*"([^"]*)"', line)
    return found.group(1) if found else ""
