"""The picture of a change in half blocks: before, after, and their difference, with the patches named."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from patina.language import shown
from tui.widgets.half_blocks import cell

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview

CAPTIONS = ("before", "after, laid over it", "ΔE00: dark 0 … light 20+")
BETWEEN_PX = 8  # white that the picture has right of each view


class Panels(Widget):
    """Three views side by side."""

    DEFAULT_CSS = "Panels { height: 12; width: 1fr; }"

    class Resized(Message):
        """There is room for another preview."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.preview: Preview | None = None
        self._signs: dict[tuple[int, int], str] = {}

    @property
    def picture_rows(self) -> int:
        """Small pixels from top to bottom that there is room for, below the captions."""
        return max(self.size.height - 1, 0) * 2

    def on_resize(self, event: events.Resize) -> None:
        """Ask for a preview of the new size."""
        self.post_message(self.Resized())

    def show(self, preview: Preview, names: Sequence[tuple[str, float, float]]) -> None:
        """Show a preview. names: of the patches, with the share of a view's width and height where each lies."""
        self.preview = preview
        self._signs = {}
        view = self._view
        used = view * (preview.width_px / 3 - BETWEEN_PX) / (preview.width_px / 3)
        for n in range(3):
            for name, across, down in names:
                column = int(n * view + across * used - len(name) / 2 + 0.5)
                line = int(down * preview.rows / 2)
                for k, letter in enumerate(name):
                    self._signs[column + k, line] = letter
        self.refresh()

    @property
    def _view(self) -> float:
        return self.preview.columns / 3 if self.preview else self.size.width / 3

    def render_line(self, y: int) -> Strip:
        """A line of the captions or of the picture."""
        width, base = self.size.width, self.rich_style
        preview = self.preview
        if y == 0:
            return Strip([Segment(self._captions(width), base)]).adjust_cell_length(width, base)
        if preview is None or 2 * (y - 1) >= preview.rows:
            return Strip.blank(width, base)
        cells = [self._cell(preview, column, y - 1) for column in range(min(preview.columns, width))]
        return Strip(cells).adjust_cell_length(width, base)

    def _captions(self, width: int) -> str:
        room = int(self._view)
        words = ""
        for n, caption in enumerate(map(shown, CAPTIONS)):
            words = f"{words:<{int(n * self._view)}}" + (caption[: room - 1] if n < 2 else caption)
        return words[:width]

    def _cell(self, preview: Preview, column: int, line: int) -> Segment:
        sign = self._signs.get((column, line))
        if sign is None:
            return cell(preview, column, line)
        return Segment(sign, Style(color="#ffffff", bgcolor="#000000", bold=True))
