"""The map of a rack: tiles as their real colours on two axes of CIELAB."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.content import Content
from textual.widget import Widget

from patina.bench.readings.showing import screen_colour
from patina.sheets import Lab
from tui import format as show
from tui.charts import axis_range, place

_LEFT = 6


@dataclass(frozen=True, slots=True)
class Dot:
    """Something on the map. id: of its record. agreed: an agreed finish rather than a tile."""

    id: str
    name: str
    lab: Lab
    agreed: bool = False


class RackMap(Widget):
    """Two axes and the tiles between them. at: index of the chosen dot, None on an empty map."""

    DEFAULT_CSS = "RackMap { height: 1fr; width: 1fr; text-wrap: nowrap; }"
    AXES = (("a*", "b*"), ("C*", "L*"))

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.dots: tuple[Dot, ...] = ()
        self.axes = 0
        self.at: int | None = None

    def show(self, dots: Sequence[Dot]) -> None:
        """Show other dots; the chosen one stays where it is still there."""
        kept = self.chosen.id if self.chosen else None
        self.dots = tuple(dots)
        self.at = next((i for i, d in enumerate(self.dots) if d.id == kept), 0 if dots else None)
        self.refresh()

    @property
    def chosen(self) -> Dot | None:
        """The dot under the cursor."""
        return None if self.at is None else self.dots[self.at]

    def turn(self) -> None:
        """The other pair of axes."""
        self.axes = (self.axes + 1) % len(self.AXES)
        self.refresh()

    def point(self, lab: Lab) -> tuple[float, float]:
        """Where a colour lies: across and up."""
        return (lab.a, lab.b) if self.axes == 0 else (lab.chroma, lab.L)

    def move(self, across: int, up: int) -> None:
        """To the nearest dot on that side; to the sides within a cone, so that each can be reached."""
        if self.at is None:
            return
        x, y = self.point(self.dots[self.at].lab)
        best: tuple[float, int] | None = None
        for i, dot in enumerate(self.dots):
            dx, dy = self.point(dot.lab)[0] - x, self.point(dot.lab)[1] - y
            ahead, aside = (dx * across, abs(dy)) if across else (dy * up, abs(dx))
            if ahead <= 1e-9:
                continue
            length = ahead + 2 * aside
            if best is None or length < best[0]:
                best = (length, i)
        if best is not None:
            self.at = best[1]
            self.refresh()

    def grid(self, columns: int, rows: int) -> list[list[list[int]]]:
        """For each cell the dots in it, rows from above."""
        points = [self.point(d.lab) for d in self.dots]
        self._x = axis_range([p[0] for p in points], least=40.0)
        self._y = axis_range([p[1] for p in points], least=40.0)
        cells: list[list[list[int]]] = [[[] for _ in range(columns)] for _ in range(rows)]
        for i, (x, y) in enumerate(points):
            across, up = place(x, *self._x, columns), place(y, *self._y, rows)
            if across is not None and up is not None:
                cells[rows - 1 - up][across].append(i)
        return cells

    def render(self) -> Content:
        """The map. A cell with several tiles shows how many; an agreed finish is ◎; the cursor is ✚."""
        width, height = self.content_size.width or 60, self.content_size.height or 20
        columns, rows = max(10, (width - _LEFT - 1) // 2), max(4, height - 2)  # two cells wide, so about square
        cells = self.grid(columns, rows)
        x_name, y_name = self.AXES[self.axes]
        lines = []
        for n, row in enumerate(cells):
            label = {0: f"{self._y[1]:.0f}", rows - 1: f"{self._y[0]:.0f}", rows // 2: y_name}.get(n, "")
            line = Content.styled(f"{label:>{_LEFT - 1}}│", "$text-muted")
            lines.append(line + Content("").join(self._cell(cell) for cell in row))
        low, high = f"{self._x[0]:.0f}", f"{self._x[1]:.0f}"
        room = max(2 * columns - len(low) - len(high), len(x_name) + 2)
        lines.append(Content.styled(" " * (_LEFT - 1) + "└" + "─" * (2 * columns), "$text-muted"))
        lines.append(Content.styled(" " * _LEFT + low + x_name.center(room) + high, "$text-muted"))
        return Content("\n").join(lines)

    def _cell(self, cell: list[int]) -> Content:
        if not cell:
            return Content("  ")
        shown = self.at if self.at in cell else cell[0]
        assert shown is not None
        dot = self.dots[shown]
        shade = screen_colour(dot.lab)
        if shown == self.at:
            sign = "✚"
        elif any(self.dots[i].agreed for i in cell):
            sign = "◎"
        else:
            sign = "·" if len(cell) == 1 else str(len(cell)) if len(cell) < 10 else "+"
        return Content.styled(f"{sign} ", f"bold {show.ink_on(shade)} on {shade}")
