"""A photograph alone, as large and as sharp as the terminal can show it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container

from patina.bench.readings.showing import difference_preview, preview
from tui import actions
from tui.app import STYLES
from tui.graphics import sharp_picture
from tui.screens.base import Base
from tui.widgets.picture import Picture

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview

SHARP_PX = 1600


class Look(Base):
    """Shows a photograph's file, or the picture of a change (PNG); nothing is measured."""

    WHERE = "look"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("look")

    def __init__(self, source: Path | bytes) -> None:
        super().__init__()
        self.source = source

    def _fitted(self, columns: int, rows: int) -> Preview:
        if isinstance(self.source, bytes):
            return difference_preview(self.source, columns, rows, captions=True)
        return preview(self.source, columns, rows)

    def body(self) -> ComposeResult:
        """The picture in half blocks, until a sharper one is there."""
        with Container(id="look"):
            yield Picture(id="picture")

    def on_mount(self) -> None:
        """Try for pixels."""
        self.work("Opening the picture", lambda: self._fitted(SHARP_PX, SHARP_PX), self._sharper, key="sharp")

    @on(Picture.Resized)
    def _room(self, event: Picture.Resized) -> None:
        if event.columns > 0 and event.rows > 0:
            columns, rows = event.columns, event.rows
            show = self.query_one(Picture).show
            self.work("Opening the picture", lambda: self._fitted(columns, rows), show, key="preview")

    def _sharper(self, small: Preview) -> None:
        sharp = sharp_picture(small)
        if sharp is not None:
            self.query_one(Picture).display = False
            self.query_one("#look").mount(sharp)

    def action_back(self) -> None:
        """Back to measuring."""
        self.dismiss(None)
