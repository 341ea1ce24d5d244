"""A trouble told: what happened and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import VerticalScroll

from patina.errors import Incomplete, PatinaError
from tui.dialogs.base import Dialog
from tui.widgets.prose import Prose, ProseView


class Trouble(Dialog[None]):
    """Says what is wrong; nothing was stored."""

    BINDINGS: ClassVar[list[Any]] = [Binding("enter", "leave", "Leave")]
    YES = ""
    NO = "Back (Esc)"

    def __init__(self, heading: str, prose: Prose) -> None:
        super().__init__()
        self._heading = heading
        self._prose = prose

    @classmethod
    def of(cls, trouble: PatinaError) -> Trouble:
        """For a trouble that has a name; of several, each is told."""
        prose = Prose()
        several = trouble.troubles if isinstance(trouble, Incomplete) else (trouble,)
        for one in several:
            prose.caution(one.what, grave=True).text(one.remedy, indent=4).gap()
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

    def heading(self) -> str:
        """The title of the trouble."""
        return self._heading

    def body(self) -> ComposeResult:
        """What and remedy."""
        with VerticalScroll(id="dialog-body", can_focus=False):
            yield ProseView(self._prose)


class Notes(Dialog[None]):
    """Something to read, longer than a line."""

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

    def body(self) -> ComposeResult:
        """The words, to be scrolled."""
        with VerticalScroll(id="dialog-body"):
            yield ProseView(self.prose)
