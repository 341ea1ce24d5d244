"""What would be brought in, and then what came of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tui import actions
from tui.app import STYLES
from tui.dialogs.path import AskPath
from tui.screens.base import Base
from tui.widgets.prose import Prose, ProseView


class Came(Base):
    """What would be kept, or what came of it. keep: what B does, None where there is nothing to keep. refused: what
    E writes."""

    WHERE = "brought"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("brought")

    def __init__(
        self, prose: Prose, keep: Callable[[Came], None] | None, refused: Callable[[Path], Path] | None = None
    ) -> None:
        super().__init__()
        self._prose = prose
        self._keep = keep
        self.refused = refused

    def body(self) -> ComposeResult:
        """The words, to be scrolled."""
        with VerticalScroll(id="brought-sheet"):
            yield ProseView(self._prose, id="words")

    def on_mount(self) -> None:
        """Scroll with the arrows at once."""
        self.query_one("#brought-sheet").focus()

    def tell(self, prose: Prose, *, stored: bool) -> None:
        """Show what came of it. stored: it is kept, and there is nothing more to keep."""
        if stored:
            self._keep = None
        self.query_one("#words", ProseView).show(prose)
        self.query_one("#brought-sheet", VerticalScroll).scroll_home(animate=False)

    def action_bring(self) -> None:
        """Keep what is shown."""
        if self._keep is None:
            self.said("There is nothing to bring in.")
            return
        self._keep(self)

    def action_export(self) -> None:
        """Write the refused rows into a file."""
        write = self.refused
        if write is None:
            self.said("No row was refused.")
            return
        dialog = AskPath(
            "Write the refused rows", (".csv",), value=str(Path.cwd() / "refused rows.csv"), must_exist=False
        )
        self.ask(dialog, lambda path: self.said(f"Written: {write(path)}"))

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)
