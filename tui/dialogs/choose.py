"""Choose one of several."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from textual import on
from textual.app import ComposeResult
from textual.content import Content
from textual.widgets import OptionList

from tui.dialogs.base import Dialog
from tui.widgets.words import Option, Static, words


class Choose(Dialog[Any]):
    """The answer is the id of the option chosen."""

    YES = ""

    def __init__(
        self,
        heading: str,
        options: Sequence[tuple[str, str | Content]],
        *,
        chosen: str | None = None,
        before: str = "",
    ) -> None:
        super().__init__()
        self._heading = heading
        self.options = tuple(options)
        self._chosen = chosen
        self._before = before

    def heading(self) -> str:
        """What is to be chosen."""
        return self._heading

    def body(self) -> ComposeResult:
        """The options, and what is to be known before."""
        if self._before:
            yield Static(self._before, classes="field-hint", markup=False)
        yield OptionList(
            *(Option(words(line) if isinstance(line, str) else line, id=id) for id, line in self.options),
            id="choices",
        )

    def on_mount(self) -> None:
        """Begin on what is chosen already."""
        choices = self.query_one(OptionList)
        choices.focus()
        choices.highlighted = next((n for n, (id, _) in enumerate(self.options) if id == self._chosen), 0)

    @on(OptionList.OptionSelected)
    def _taken(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(event.option.id)
