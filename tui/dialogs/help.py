"""The keys of a screen, from the table of actions."""

from __future__ import annotations

from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll

from tui.actions import ACTIONS, EVERYWHERE, Action, key_name, of_screen
from tui.dialogs.base import Dialog
from tui.widgets.prose import LABEL, Prose, ProseView

_BEFORE = {
    "finishes": (
        "Recipes, and what their tiles look like. The blocks are the latest readings of the newest tiles; a hatched "
        "block means that nothing was measured yet."
    ),
    "bench": (
        "Choose a recipe, write how much bronze there is, and read what to weigh. Everything is worked out again as "
        "you type. Several volumes: NAME=2 L; OTHER=1 L. Open pots are in the second list."
    ),
    "tiles": "The rack. Mark one tile with Space, move to another and press c to see both side by side.",
    "casts": "Casts with their treatments; pieces; and the finishes that were agreed.",
    "shelf": "What stands on the shelf, lot by lot.",
    "photograph": (
        "Arrows move the frame over what is to be measured, Shift and arrows change its size; the mouse drags it. "
        "Keep clear of edges and highlights. Tab goes to the next area or chart point."
    ),
    "reading": "What was read, before it is kept.",
    "comparing": "Sample minus reference. Colours on a screen are only a help to the eye; the figures count.",
    "torch": (
        "Space for each pass. What you press is on disk before it is answered in the line below the figures; after a "
        "power cut the work goes on where it was. A key that is held down counts once."
    ),
    "handbook": "Topics on the left; Enter goes into the text, Esc comes back.",
    "recipe": "The recipe as text. What is wrong is said below as you write, with its line.",
}


class Help(Dialog[None]):
    """Every action of the screen it was asked on."""

    BINDINGS: ClassVar[list[Any]] = [Binding("question_mark,f1,enter", "leave", "Leave")]
    HEADING = "Keys"
    YES = ""
    NO = "Back (Esc)"

    def __init__(self, where: str) -> None:
        super().__init__()
        self.where = where

    def heading(self) -> str:
        """Which screen."""
        return f"Keys of {self.where.capitalize()}" if self.where != EVERYWHERE else "Keys"

    def body(self) -> ComposeResult:
        """The table."""
        with VerticalScroll(id="dialog-body"):
            yield ProseView(self.prose(), id="help-words")

    def prose(self) -> Prose:
        """The table in words."""
        prose = Prose()
        if self.where in _BEFORE:
            prose.text(_BEFORE[self.where]).gap()
        own = [a for a in of_screen(self.where) if EVERYWHERE not in a.where]
        for action in own:
            self._line(prose, action)
        prose.heading("Everywhere")
        for action in of_screen(EVERYWHERE):
            if EVERYWHERE in action.where:
                self._line(prose, action)
        prose.gap().text("While you type in a field, letters and digits go into it: press Esc first.")
        return prose

    def _line(self, prose: Prose, action: Action) -> None:
        """A key and what it does; a click on it does it."""
        prose.clickable(_keys(action), action.tooltip, f"screen.do({ACTIONS.index(action)})")

    def action_do(self, at: int) -> None:
        """Leave the help and do what was clicked."""
        action = ACTIONS[at]
        target = action.name if "(" in action.name else f"{action.name}()"
        scope = "app" if EVERYWHERE in action.where else "screen"
        self.dismiss(None)
        self.app.call_after_refresh(self.app.run_action, f"{scope}.{target}")


def _keys(action: Action) -> str:
    words = ", ".join(key_name(k) for k in action.keys)
    return words if len(words) <= LABEL else key_name(action.keys[0])
