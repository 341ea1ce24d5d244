"""A dialog: a heading, its body, buttons below; Escape leaves it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar, TypeVar, cast

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen

from tui.app import STYLES, Guarded
from tui.widgets.words import Button, Static

if TYPE_CHECKING:
    from tui.app import PatinaApp

T = TypeVar("T")


class Dialog(Guarded, ModalScreen[T]):
    """A question; the answer is what it is dismissed with, None where it was left."""

    BINDINGS: ClassVar[list[Any]] = [Binding("escape", "leave", "Leave")]
    CSS_PATH: ClassVar[Any] = STYLES / "dialogs.tcss"
    HEADING = ""
    YES = "OK"
    NO: ClassVar[str] = "Leave (Esc)"

    @property
    def patina(self) -> PatinaApp:
        """The app."""
        return cast("PatinaApp", self.app)

    def heading(self) -> str:
        """What the dialog is about."""
        return self.HEADING

    def compose(self) -> ComposeResult:
        """Heading, body and buttons in a frame."""
        with Vertical(id="dialog"):
            yield Static(self.heading(), id="dialog-heading", markup=False)
            yield from self.body()
            with Horizontal(id="dialog-buttons"):
                if self.YES:
                    yield Button(self.YES, id="yes", variant="primary", compact=True)
                if self.NO:
                    yield Button(self.NO, id="no", compact=True)

    def body(self) -> ComposeResult:
        """What stands between heading and buttons."""
        raise NotImplementedError

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Yes or no."""
        event.stop()
        if event.button.id == "no":
            self.action_leave()
        else:
            self.agreed()

    def agreed(self) -> None:
        """The person said yes."""
        self.dismiss(None)

    def action_leave(self) -> None:
        """Leave without an answer."""
        self.dismiss(None)
