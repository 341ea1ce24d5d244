"""A prose cut to the lines there are, with a word about what is cut off."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from tui.widgets.prose import Prose
from tui.widgets.words import words


class Strip(Widget):
    """Always in sight: what stands first is what must be read."""

    DEFAULT_CSS = "Strip { height: 1fr; width: 1fr; text-wrap: nowrap; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.prose = Prose()

    def show(self, prose: Prose) -> None:
        """Show another prose."""
        self.prose = prose
        self.refresh()

    def render(self) -> Content:
        """As many lines as there is room for."""
        width, height = self.content_size.width or 40, max(self.content_size.height, 1)
        lines = self.prose.lines(width)
        if len(lines) > height:
            more = len(lines) - height + 1
            rest = Content("    ") + words(f"… {more} lines more: x, Safety notes", "$text-muted")
            lines = [*lines[: height - 1], rest]
        return Content("\n").join(lines)
