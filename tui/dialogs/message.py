"""A trouble told: what happened and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll

from patina.errors import Incomplete, PatinaError
from tui.by_keys import by_keys
from tui.dialogs.base import Dialog
from tui.widgets.prose import Prose, ProseView


class _Read(Dialog[None]):
    """Something to read: a heading, words, and the way back."""

    BINDINGS: ClassVar[list[Any]] = [Binding("enter", "leave", "Leave")]
    YES = ""
    NO = "Back (Esc)"

    def __init__(self, heading: str, prose: Prose) -> None:
        super().__init__()
        self._heading = heading
        self.prose = prose

    def heading(self) -> str:
        """What it is about."""
        return self._heading


class Trouble(_Read):
    """Says what is wrong; nothing was stored."""

    @classmethod
    def of(cls, trouble: PatinaError) -> Trouble:
        """For a trouble that has a name; of several, each is told."""
        prose = Prose()
        several = trouble.troubles if isinstance(trouble, Incomplete) else (trouble,)
        for one in several:
            prose.caution(one.what, grave=True).text(by_keys(one.remedy), indent=4).gap()
        return cls(trouble.title, prose)

    @classmethod
    def fault(cls, error: Exception, log: Path) -> Trouble:
        """For an error nobody expected."""
        prose = Prose().text(
            "The program met a fault of its own. What was saved before is safe; the last step was not done."
        )
        prose.gap().text(
            f"It is written down in {log} ({type(error).__name__}). Please send that file to whoever looks after "
            "the program."
        )
        return cls("That should not have happened", prose)

    def body(self) -> ComposeResult:
        """What and remedy."""
        with VerticalScroll(id="dialog-body", can_focus=False):
            yield ProseView(self.prose)


class Notes(_Read):
    """Something to read, longer than a line."""

    def body(self) -> ComposeResult:
        """The words, to be scrolled."""
        with VerticalScroll(id="dialog-body"):
            yield ProseView(self.prose)
