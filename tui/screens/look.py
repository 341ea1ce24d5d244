"""A photograph alone, as large and as sharp as the terminal can show it, with its chart and areas drawn on it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container

from patina.bench.readings.showing import difference_preview, preview
from tui import actions, graphics
from tui.app import STYLES
from tui.drawing import Drawing, picture_of
from tui.screens.base import Base
from tui.widgets.picture import Picture

if TYPE_CHECKING:
    from textual.widget import Widget

    from patina.bench.readings.showing import Preview

MOST_PX = 1600  # along a side, so that no more than about three megabytes go over a line


class Look(Base):
    """Shows a photograph's file, or the picture of a change (PNG); nothing is measured. drawing: what is drawn
    over the photograph."""

    WHERE = "look"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("look")

    def __init__(self, source: Path | bytes, drawing: Drawing | None = None) -> None:
        super().__init__()
        self.source = source
        self.drawing = drawing
        self.drawn = drawing is not None  # whether it is shown
        self._sharp: Widget | None = None
        self._pixels: Preview | None = None

    def _fitted(self, columns: int, rows: int) -> Preview:
        if isinstance(self.source, bytes):
            return difference_preview(self.source, columns, rows, captions=True)
        return preview(self.source, columns, rows)

    def body(self) -> ComposeResult:
        """The picture in half blocks, until a sharper one is there."""
        with Container(id="look"):
            yield Picture(id="picture", fixed=True)

    @on(Picture.Resized)
    def _room(self, event: Picture.Resized) -> None:
        columns, rows = event.columns, event.rows
        if columns <= 0 or rows <= 0:
            return
        self.work("Opening the picture", lambda: self._fitted(columns, rows), self._in_blocks, key="preview")
        if graphics.terminal.protocol != "blocks":
            wide, high = graphics.terminal.cell_px
            px = (min(columns * wide, MOST_PX), min(rows // 2 * high, MOST_PX))
            self.work("Opening the picture", lambda: self._fitted(*px), self._in_pixels, quiet=True, key="sharp")

    def _in_blocks(self, small: Preview) -> None:
        picture, over = self.query_one(Picture), self.drawing if self.drawn else None
        picture.frames = [] if over is None else list(over.frames)
        picture.points = [] if over is None else list(over.points)
        picture.patches = () if over is None else over.patches
        picture.chosen = -1 if over is None or over.chosen is None else over.chosen
        picture.show(small)

    def _in_pixels(self, large: Preview) -> None:
        self._pixels = large
        sharp = graphics.sharp_picture(picture_of(large, self.drawing if self.drawn else None))
        if sharp is None:
            return
        if self._sharp is not None:
            self._sharp.remove()
        self._sharp = sharp
        self.query_one(Picture).add_class("-under")
        self.query_one("#look").mount(sharp)

    def action_drawn(self) -> None:
        """The picture with what is drawn on it, or as it was taken."""
        if self.drawing is None:
            self.said("Nothing is drawn on this picture.")
            return
        self.drawn = not self.drawn
        small = self.query_one(Picture).preview
        if small is not None:
            self._in_blocks(small)
        if self._pixels is not None:
            self._in_pixels(self._pixels)

    def action_back(self) -> None:
        """Back to where it was opened."""
        self.dismiss(None)
