"""Areas on the earlier of two photographs, which are then measured in both."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from tui import actions
from tui.screens.framing import Framing
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview
    from tui.widgets.picture import Frame


class ChangeAreas(Framing):
    """Dismissed with the areas, or None where it was left. frames: those that were drawn before. one: whether they
    stand for the one part of the picture that the grid of patches keeps to."""

    WHERE = "areas"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("areas")

    def __init__(self, sha256: str, frames: tuple[Frame, ...], *, one: bool) -> None:
        super().__init__(sha256)
        self._before = frames
        self.one = one

    def on_mount(self) -> None:
        """Begin in the picture."""
        self.picture.focus()
        self.picture.frames = list(self._before)
        self.tell()

    def opened(self, small: Preview) -> None:
        """What bounds the grid begins larger than an area."""
        fresh = not self.picture.frames
        super().opened(small)
        if self.one and fresh:
            (frame,) = self.picture.frames
            wide, high = 3 * frame.w, 3 * frame.h
            x, y = (small.width_px - wide) / 2, (small.height_px - high) / 2
            self.picture.frames = [type(frame)("part", x, y, wide, high)]
            self.redraw()

    def words(self) -> Prose:
        """Where the chosen area stands, and what it is for."""
        what = (
            "The grid of patches keeps to this part of the earlier photograph."
            if self.one
            else "Each area of the earlier photograph is measured in both. Leave the chart out, and what glares."
        )
        return super().words().gap().text(what)

    def action_add_area(self) -> None:
        """Another area; the grid keeps to one part."""
        if self.one:
            self.said("The grid keeps to one part; m draws areas of your own instead, on the screen before.")
        else:
            super().action_add_area()

    def action_read(self) -> None:
        """Measure them."""
        if not self.picture.frames:
            self.said("The picture is not open yet.")
        else:
            self.dismiss(tuple(self.picture.frames))  # type: ignore[arg-type]
