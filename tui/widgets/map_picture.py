"""A photograph in half blocks that zones are drawn on by keys or mouse: polygons, corners, and the cursor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip

from tui.widgets.half_blocks import Rgb, Spot, cell
from tui.widgets.picture import Picture

if TYPE_CHECKING:
    from patina.bench.readings.showing import Preview

Point = tuple[float, float]
WHITE, AMBER, PALE, BLACK = (255, 255, 255), (255, 210, 122), (150, 200, 255), (0, 0, 0)


def _kept_in_sight(first: int, at: int, room: int, whole: int) -> int:
    """What stands first so that ``at`` lies in the middle third of the room, and nothing lies beyond the picture."""
    margin = room // 3
    first = min(max(first, at - room + margin + 1), at - margin)
    return max(0, min(first, whole - room))


@dataclass(frozen=True, slots=True)
class Drawn:
    """A zone on the picture. sign: its number, written in its middle. polygons: in fractions of the picture."""

    sign: str
    polygons: tuple[tuple[Point, ...], ...]
    active: bool = False


class MapPicture(Picture):
    """Shows a preview with zones. All places are fractions of the picture.

    drawn: zones that stand; outline: of the object; corners: of the polygon that is being drawn; done: polygons
    of the same zone that are closed already; cursor: where the next corner goes; chosen_zone: which stands out;
    lettered: test patches, each with its letter.
    Larger than its place, the picture is shown around the cursor.
    """

    class Clicked(Message):
        """A corner was put with the mouse."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.drawn: tuple[Drawn, ...] = ()
        self.outline: tuple[tuple[Point, ...], ...] = ()
        self.corners: list[Point] = []
        self.done: list[tuple[Point, ...]] = []
        self.cursor: Point = (0.5, 0.5)
        self.chosen_zone: int | None = None
        self.lettered: tuple[tuple[Point, str], ...] = ()
        self._corner: Spot = (0, 0)  # column and line of the picture that stand at the upper left

    @property
    def step(self) -> Point:
        """Width and height of a cell, in fractions of the picture."""
        if self.preview is None:
            return (0.01, 0.02)
        return (1.0 / self.preview.columns, 2.0 / self.preview.rows)

    def move_cursor(self, dx: float, dy: float) -> None:
        """Move the cursor by cells, kept within the picture."""
        wide, high = self.step
        x, y = self.cursor
        self.cursor = (min(max(x + dx * wide, 0.0), 1.0), min(max(y + dy * high, 0.0), 1.0))
        self.redraw()

    def redraw(self) -> None:
        """After something that is drawn has changed."""
        self._follow()
        self._marks = {} if self.preview is None else dict(self._lines())
        self._signs = {} if self.preview is None else self._labels()
        self.refresh()

    def _follow(self) -> None:
        """Keep the cursor in sight, in the middle third where the picture goes on."""
        preview = self.preview
        if preview is None:
            return
        column, row = self._spot(self.cursor)
        self._corner = (
            _kept_in_sight(self._corner[0], column, self.size.width, preview.columns),
            _kept_in_sight(self._corner[1], row // 2, self.size.height, (preview.rows + 1) // 2),
        )

    def _spot(self, point: Point) -> Spot:
        assert self.preview is not None
        return (
            min(int(point[0] * self.preview.columns), self.preview.columns - 1),
            min(int(point[1] * self.preview.rows), self.preview.rows - 1),
        )

    def _line(self, one: Point, other: Point) -> Iterable[Spot]:
        (x1, y1), (x2, y2) = self._spot(one), self._spot(other)
        steps = max(abs(x2 - x1), abs(y2 - y1), 1)
        return ((round(x1 + (x2 - x1) * k / steps), round(y1 + (y2 - y1) * k / steps)) for k in range(steps + 1))

    def _lines(self) -> Iterable[tuple[Spot, Rgb]]:
        for n, spot in enumerate(self._around(self.outline)):
            if n % 3:  # broken, so that it is not taken for a zone
                yield spot, WHITE
        for n, zone in enumerate(self.drawn):
            shade = AMBER if n == self.chosen_zone else WHITE if not zone.active else PALE
            for spot in self._around(zone.polygons):
                yield spot, shade
        for spot in self._around(self.done):
            yield spot, AMBER
        for one, other in zip(self.corners, [*self.corners[1:], self.cursor], strict=True) if self.corners else ():
            for spot in self._line(one, other):
                yield spot, AMBER

    def _around(self, polygons: Iterable[tuple[Point, ...]]) -> Iterable[Spot]:
        for polygon in polygons:
            for one, other in zip(polygon, (*polygon[1:], polygon[0]), strict=True):
                yield from self._line(one, other)

    def _labels(self) -> dict[tuple[int, int], tuple[str, bool]]:
        signs: dict[tuple[int, int], tuple[str, bool]] = {}
        for n, zone in enumerate(self.drawn):
            for polygon in zone.polygons:
                column, row = self._spot(
                    (sum(p[0] for p in polygon) / len(polygon), sum(p[1] for p in polygon) / len(polygon))
                )
                for k, letter in enumerate(zone.sign + ("!" if zone.active else "")):
                    signs[column + k, row // 2] = (letter, n == self.chosen_zone)
        for point, letter in self.lettered:
            column, row = self._spot(point)
            signs[column, row // 2] = (letter, False)
        for point in self.corners:
            column, row = self._spot(point)
            signs[column, row // 2] = ("○", True)
        column, row = self._spot(self.cursor)
        signs[column, row // 2] = ("╋", True)
        return signs

    def render_line(self, y: int) -> Strip:
        """One line of the part that is in sight."""
        preview, (left, top) = self.preview, self._corner
        if preview is None or 2 * (y + top) >= preview.rows:
            return super().render_line(y + 2 * preview.rows if preview is not None else y)
        width = self.size.width
        cells = [self._cell(preview, column, y + top) for column in range(left, min(preview.columns, left + width))]
        return Strip(cells).adjust_cell_length(width, self.rich_style)

    def _cell(self, preview: Preview, column: int, y: int) -> Segment:
        sign = self._signs.get((column, y))
        if sign is None:
            return cell(preview, column, y, self._marks)
        if sign[1]:
            return Segment(sign[0], Style(color="#000000", bgcolor="#ffd27a", bold=True))
        return Segment(sign[0], Style(color="#ffffff", bgcolor="#000000", bold=True))

    # -- the mouse ---------------------------------------------------------------------------------

    def on_mouse_down(self, event: events.MouseDown) -> None:
        """Put a corner where the mouse is."""
        event.stop()
        event.prevent_default()
        x, y = event.x + self._corner[0], event.y + self._corner[1]
        if self.preview is None or x >= self.preview.columns or 2 * y >= self.preview.rows:
            return
        self.cursor = ((x + 0.5) / self.preview.columns, (2 * y + 1) / self.preview.rows)
        self.corners.append(self.cursor)
        self.redraw()
        self.post_message(self.Clicked())
