"""A photograph in half blocks, with the chart's points and the frames of what is to be measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from tui.widgets.half_blocks import Rgb, Spot, cell, outlines

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview

Point = tuple[float, float]
POINT_NAMES = ("1", "6", "24", "19")
SMALLEST_PX = 8.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle to be measured, in pixels of the photograph."""

    name: str
    x: float
    y: float
    w: float
    h: float

    def as_text(self) -> str:
        """As the deed takes it."""
        return f"{self.name}={self.x:.0f},{self.y:.0f},{self.w:.0f},{self.h:.0f}"


class Picture(Widget, can_focus=True):
    """Shows a preview; frames and points are moved by whoever owns it, or dragged with the mouse.

    chosen: index over frames, then points; below 0 for none. patches: outlines of the chart's patches.
    fixed: only to be looked at.
    """

    class Moved(Message):
        """The mouse moved the chosen thing."""

    class Resized(Message):
        """There is room for another preview. columns, rows: in small pixels, two rows to a line."""

        def __init__(self, columns: int, rows: int) -> None:
            super().__init__()
            self.columns = columns
            self.rows = rows

    def __init__(self, *, id: str | None = None, fixed: bool = False) -> None:
        super().__init__(id=id)
        self.fixed = fixed
        self.preview: Preview | None = None
        self.frames: list[Frame] = []
        self.points: list[Point] = []
        self.patches: tuple[tuple[Point, ...], ...] = ()
        self.chosen = 0
        self._grip: tuple[str, float, float] | None = None
        self._signs: dict[tuple[int, int], tuple[str, bool]] = {}
        self._marks: dict[Spot, Rgb] = {}

    def on_resize(self, event: events.Resize) -> None:
        """Ask for a preview of the new size."""
        self.post_message(self.Resized(event.size.width, event.size.height * 2))

    def show(self, preview: Preview) -> None:
        """Show a preview."""
        self.preview = preview
        self.redraw()

    def redraw(self) -> None:
        """After frames or points changed."""
        self._marks = {} if self.preview is None else outlines(self.preview, self.patches)
        self._signs = self._drawn()
        self.refresh()

    # -- photograph pixels and cells ---------------------------------------------------------------

    @property
    def px_per_cell(self) -> float:
        """Photograph pixels across one cell; two cells' worth stand in a line's height."""
        return self.preview.width_px / self.preview.columns if self.preview else 1.0

    def cell_of(self, x: float, y: float) -> tuple[int, int]:
        """The cell a photograph pixel falls into."""
        return int(x / self.px_per_cell), int(y / self.px_per_cell / 2)

    def pixel_of(self, column: int, line: int) -> Point:
        """The photograph pixel in the middle of a cell."""
        return (column + 0.5) * self.px_per_cell, (line + 0.5) * 2 * self.px_per_cell

    def inside(self, frame: Frame) -> Frame:
        """The frame, kept within the photograph and not too small."""
        if self.preview is None:
            return frame
        w = min(max(frame.w, SMALLEST_PX), self.preview.width_px)
        h = min(max(frame.h, SMALLEST_PX), self.preview.height_px)
        x = min(max(frame.x, 0.0), self.preview.width_px - w)
        y = min(max(frame.y, 0.0), self.preview.height_px - h)
        return replace(frame, x=x, y=y, w=w, h=h)

    # -- drawing -----------------------------------------------------------------------------------

    def _drawn(self) -> dict[tuple[int, int], tuple[str, bool]]:
        """Signs over the picture by cell: the sign, and whether it belongs to the chosen thing."""
        signs: dict[tuple[int, int], tuple[str, bool]] = {}
        if self.preview is None:
            return signs
        if len(self.points) == 4 and not self._marks:
            for one, other in zip(self.points, self.points[1:] + self.points[:1], strict=True):
                for cell in self._between(one, other):
                    signs[cell] = ("\N{MIDDLE DOT}", False)
        for n, point in enumerate(self.points):
            column, line = self.cell_of(*point)
            for k, letter in enumerate(POINT_NAMES[n]):
                signs[column + k, line] = (letter, self.chosen == len(self.frames) + n)
        for n, frame in enumerate(self.frames):
            if n != self.chosen:
                self._frame(signs, frame, False)
        if 0 <= self.chosen < len(self.frames):
            self._frame(signs, self.frames[self.chosen], True)
        return signs

    def _between(self, one: Point, other: Point) -> list[tuple[int, int]]:
        (c1, l1), (c2, l2) = self.cell_of(*one), self.cell_of(*other)
        steps = max(abs(c2 - c1), abs(l2 - l1), 1)
        return [(round(c1 + (c2 - c1) * k / steps), round(l1 + (l2 - l1) * k / steps)) for k in range(steps + 1)]

    def _frame(self, signs: dict[tuple[int, int], tuple[str, bool]], frame: Frame, chosen: bool) -> None:
        left, top = self.cell_of(frame.x, frame.y)
        right, bottom = self.cell_of(frame.x + frame.w - 1, frame.y + frame.h - 1)
        edge = "╔╗╚╝═║" if chosen else "┌┐└┘─│"
        for column in range(left, right + 1):
            signs[column, top] = (edge[4], chosen)
            signs[column, bottom] = (edge[4], chosen)
        for line in range(top, bottom + 1):
            signs[left, line] = (edge[5], chosen)
            signs[right, line] = (edge[5], chosen)
        for at, sign in (((left, top), 0), ((right, top), 1), ((left, bottom), 2), ((right, bottom), 3)):
            signs[at] = (edge[sign], chosen)
        for k, letter in enumerate(frame.name[: max(right - left - 1, 0)]):
            signs[left + 1 + k, top] = (letter, chosen)

    def render_line(self, y: int) -> Strip:
        """One line of the picture."""
        width = self.size.width
        preview = self.preview
        if preview is None or 2 * y >= preview.rows:
            words = " Opening the picture …" if preview is None and y == 1 else ""
            return Strip([Segment(words, self.rich_style)]).adjust_cell_length(width, self.rich_style)
        cells = [self._cell(preview, column, y) for column in range(min(preview.columns, width))]
        return Strip(cells).adjust_cell_length(width, self.rich_style)

    def _cell(self, preview: Preview, column: int, y: int) -> Segment:
        sign = self._signs.get((column, y))
        if sign is None:
            return cell(preview, column, y, self._marks)
        if sign[1]:
            return Segment(sign[0], Style(color="#000000", bgcolor="#ffd27a", bold=True))
        return Segment(sign[0], Style(color="#ffffff", bgcolor="#000000"))

    # -- the mouse ---------------------------------------------------------------------------------

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Take hold of a frame, its lower right corner, or put a point down."""
        if self.fixed:
            return
        x, y = self.pixel_of(event.x, event.y)
        self.capture_mouse()
        if self.chosen >= len(self.frames):
            self._grip = ("point", 0.0, 0.0)
            self._drag(x, y)
            return
        for n, frame in enumerate(self.frames):
            if frame.x <= x <= frame.x + frame.w and frame.y <= y <= frame.y + frame.h:
                self.chosen = n
                slack = 2.0 * self.px_per_cell
                corner = x > frame.x + frame.w - slack and y > frame.y + frame.h - 2 * slack
                self._grip = ("corner", 0.0, 0.0) if corner else ("frame", x - frame.x, y - frame.y)
                self._tell()
                return
        frame = self.frames[self.chosen]
        self._grip = ("frame", frame.w / 2, frame.h / 2)
        self._drag(x, y)

    def on_mouse_move(self, event: events.MouseMove) -> None:
        """Drag what is held."""
        if self._grip is not None:
            self._drag(*self.pixel_of(event.x, event.y))

    def on_mouse_up(self) -> None:
        """Let go."""
        self._grip = None
        self.release_mouse()

    def _drag(self, x: float, y: float) -> None:
        assert self._grip is not None
        kind, dx, dy = self._grip
        if kind == "point":
            self.points[self.chosen - len(self.frames)] = (x, y)
        else:
            frame = self.frames[self.chosen]
            moved = (
                replace(frame, x=x - dx, y=y - dy) if kind == "frame" else replace(frame, w=x - frame.x, h=y - frame.y)
            )
            self.frames[self.chosen] = self.inside(moved)
        self._tell()

    def _tell(self) -> None:
        self.redraw()
        self.post_message(self.Moved())
