"""A list of records drawn line by line, so that ten thousand of them cost what the screen shows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.binding import Binding
from textual.geometry import Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from patina.language import shown

ROW_LINES = 2
BLOCK_CELLS = 6
MOST_ALIKE = 3  # colours of a block without shares
_LEFT_HALF = "\N{LEFT HALF BLOCK}"
_HATCH = "\N{LIGHT SHADE}"


@dataclass(frozen=True, slots=True)
class Line:
    """A record as a list shows it. colours: "#rrggbb", drawn side by side in proportion to their
    shares, or the first three alike; None draws no block, an empty tuple a hatched one (nothing measured yet).
    alarm, caution: the badge is one."""

    id: str
    title: str
    below: str = ""
    colours: tuple[str, ...] | None = None
    badge: str = ""
    alarm: bool = False
    shares: tuple[float, ...] = ()
    caution: bool = False


class RecordList(ScrollView, can_focus=True):
    """Records to choose from: arrows, Page keys, Home, End, Enter; a click chooses, a second opens."""

    BINDINGS: ClassVar[list[Any]] = [
        Binding("up", "step(-1)", show=False),
        Binding("down", "step(1)", show=False),
        Binding("pageup", "page(-1)", show=False),
        Binding("pagedown", "page(1)", show=False),
        Binding("home", "jump(0)", show=False),
        Binding("end", "jump(-1)", show=False),
        Binding("enter", "choose", show=False),
    ]
    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "record-list--title",
        "record-list--below",
        "record-list--chosen",
        "record-list--chosen-below",
        "record-list--hatch",
        "record-list--badge",
        "record-list--alarm",
        "record-list--caution",
    }
    cursor: reactive[int] = reactive(0, repaint=False)

    class Moved(Message):
        """Another record is under the cursor; id is None where the list is empty."""

        def __init__(self, record_list: RecordList, id: str | None) -> None:
            super().__init__()
            self.record_list = record_list
            self.id = id

        @property
        def control(self) -> RecordList:
            """The list."""
            return self.record_list

    class Opened(Message):
        """A record is to be opened."""

        def __init__(self, record_list: RecordList, id: str) -> None:
            super().__init__()
            self.record_list = record_list
            self.id = id

        @property
        def control(self) -> RecordList:
            """The list."""
            return self.record_list

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.rows: Sequence[Any] = ()
        self.marked: tuple[str, ...] = ()
        self.empty = ""
        self._to_line: Callable[[Any], Line] = lambda row: Line(str(row), str(row))

    def show(self, rows: Sequence[Any], to_line: Callable[[Any], Line], empty: str, *, keep: str | None = None) -> None:
        """Show other records. empty: what to say where there are none. keep: id to stay on."""
        self.rows, self._to_line, self.empty = rows, to_line, empty
        self._measure()
        at = 0
        if keep is not None:
            at = self._place_of(keep) or 0
        self.set_reactive(RecordList.cursor, at)
        self._into_view()
        self.refresh()
        self.post_message(self.Moved(self, self.chosen))

    @property
    def chosen(self) -> str | None:
        """Id of the record under the cursor."""
        return self._id_of(self.rows[self.cursor]) if self.rows else None

    def choose(self, id: str) -> bool:
        """Move the cursor onto a record; False where it is not in the list."""
        at = self._place_of(id)
        if at is not None:
            self.cursor = at
        return at is not None

    def _place_of(self, id: str) -> int | None:
        return next((n for n, row in enumerate(self.rows) if self._id_of(row) == id), None)

    def _id_of(self, row: Any) -> str:
        """The row's own id where it has one: making lines of a long list in search of one takes a second."""
        id: str | None = getattr(row, "id", None)
        return self._to_line(row).id if id is None else id

    def mark(self, marked: Sequence[str]) -> None:
        """Show which records are marked, in order."""
        self.marked = tuple(marked)
        self.refresh()

    def validate_cursor(self, value: int) -> int:
        """The cursor stays in the list."""
        return max(0, min(value, len(self.rows) - 1))

    def watch_cursor(self, old: int, new: int) -> None:
        """Follow the cursor with the scroll and tell whoever shows the sheet."""
        if old != new:
            self._into_view()
            self.refresh()
            self.post_message(self.Moved(self, self.chosen))

    def _into_view(self) -> None:
        """Scroll by whole records, so that none is cut in two at the top."""
        page = max(self.size.height // ROW_LINES, 1)
        top = self.scroll_offset.y // ROW_LINES
        top = max(min(top, self.cursor), self.cursor - page + 1)
        self.scroll_to(y=top * ROW_LINES, animate=False, force=True, immediate=True)
        self.vertical_scrollbar.position = self.scroll_y  # a bar that is not shown yet is not told by itself

    def _measure(self) -> None:
        """How much there is to scroll: the last record may stand above an odd line."""
        odd = self.size.height % ROW_LINES if len(self.rows) * ROW_LINES > self.size.height else 0
        self.virtual_size = Size(self.size.width or 1, len(self.rows) * ROW_LINES + odd)

    def action_step(self, by: int) -> None:
        """Up or down."""
        self.cursor += by

    def action_page(self, way: int) -> None:
        """A screenful up or down."""
        self.cursor += way * max(self.size.height // ROW_LINES, 1)

    def action_jump(self, to: int) -> None:
        """To the first or the last."""
        self.cursor = 0 if to == 0 else len(self.rows) - 1

    def action_choose(self) -> None:
        """Open the record under the cursor."""
        if self.chosen is not None:
            self.post_message(self.Opened(self, self.chosen))

    def on_click(self, event: events.Click) -> None:
        """A click chooses a record; a click on the chosen one, or a double click, opens it."""
        row = (event.y + self.scroll_offset.y) // ROW_LINES
        if not 0 <= row < len(self.rows):
            return
        again = row == self.cursor or event.chain > 1
        self.cursor = row
        if again:
            self.action_choose()

    def on_resize(self) -> None:
        """Keep the cursor in sight at the new size."""
        self._measure()
        self._into_view()

    def render_line(self, y: int) -> Strip:
        """One line of what is in sight."""
        width = self.scrollable_content_region.width
        base = self.rich_style
        if not self.rows:
            return self._empty_line(y, width, base)
        index, part = divmod(y + self.scroll_offset.y, ROW_LINES)
        if index >= len(self.rows):
            return Strip.blank(width, base)
        line = self._to_line(self.rows[index])
        return Strip(self._segments(line, part, index == self.cursor, width)).adjust_cell_length(width, base)

    def _empty_line(self, y: int, width: int, base: Style) -> Strip:
        from textwrap import wrap

        words = [w for block in shown(self.empty).split("\n") for w in (wrap(block, max(width - 2, 10)) or [""])]
        if not 1 <= y <= len(words):
            return Strip.blank(width, base)
        style = base + self.get_component_rich_style("record-list--below")
        return Strip([Segment(" " + words[y - 1], style)]).adjust_cell_length(width, base)

    def _segments(self, line: Line, part: int, chosen: bool, width: int) -> list[Segment]:
        names = ("title", "below") if not chosen else ("chosen", "chosen-below")
        style = self.get_component_rich_style(f"record-list--{names[part]}")
        parts = [Segment(self._edge(line, part, chosen), style)]
        if line.colours is not None:
            parts += [*self._block(line.colours, line.shares), Segment(" ", style)]
        used = sum(cell_len(s.text) for s in parts)
        badge = f" {shown(line.badge)} " if part == 0 and line.badge else ""
        room = max(width - used - cell_len(badge), 0)
        parts.append(Segment(_fit(line.title if part == 0 else shown(line.below), room), style))
        if badge:
            kind = "alarm" if line.alarm else "caution" if line.caution else "badge"
            parts.append(Segment(badge, style + self.get_component_rich_style(f"record-list--{kind}", partial=True)))
        return parts

    def _edge(self, line: Line, part: int, chosen: bool) -> str:
        if line.id in self.marked and part == 1:
            return f"{self.marked.index(line.id) + 1}\N{BLACK DIAMOND} "
        return ("\N{LEFT HALF BLOCK}  " if self.has_focus else "\N{LEFT ONE QUARTER BLOCK}  ") if chosen else "   "

    def _block(self, colours: tuple[str, ...], shares: tuple[float, ...]) -> list[Segment]:
        if not colours:
            return [Segment(_HATCH * BLOCK_CELLS, self.get_component_rich_style("record-list--hatch"))]
        drawn = colours if shares else colours[:MOST_ALIKE]
        halves = in_proportion(drawn, shares, 2 * BLOCK_CELLS)
        return [_two_halves(left, right) for left, right in zip(halves[::2], halves[1::2], strict=True)]


def _two_halves(left: str, right: str) -> Segment:
    if left == right:  # no drawing, so that the block stays whole without colours
        return Segment(" ", Style(bgcolor=left))
    return Segment(_LEFT_HALF, Style(color=left, bgcolor=right))


def in_proportion(colours: Sequence[str], shares: Sequence[float], cells: int) -> list[str]:
    """So many cells coloured in proportion; without shares, each colour has as much room as the others.

    >>> in_proportion(("brown", "green"), (0.75, 0.25), 8).count("brown")
    6
    """
    shares = shares if len(shares) == len(colours) else [1.0] * len(colours)
    whole, until = sum(shares) or 1.0, 0.0
    drawn: list[str] = []
    for colour, share in zip(colours, shares, strict=True):
        until += share / whole
        drawn += [colour] * (round(until * cells) - len(drawn))
    return (drawn + [colours[-1]] * cells)[:cells]


def _fit(text: str, width: int) -> str:
    if cell_len(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(set_cell_size(text, max(width - 1, 0)).rstrip() + "…", width) if width else ""
