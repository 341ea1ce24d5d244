"""Colours laid edge to edge: blocks that touch, their tones in bands as high as their shares, figures below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from textwrap import wrap

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from patina.language import shown
from patina.sheets import Lab
from tui import format as show
from tui.few_colours import measured
from tui.widgets.half_blocks import HALF

NARROW = 28  # columns below which L*, a*, b* have no room in one line


@dataclass(frozen=True, slots=True)
class Laid:
    """A finish that is laid beside others. parts: its tones with their shares, empty where it is one."""

    id: str
    name: str
    made: str
    lab: Lab
    parts: tuple[tuple[Lab, float], ...] = ()


class EdgeToEdge(Widget):
    """The blocks from side to side without a gap. at: the chosen one, marked above its block."""

    DEFAULT_CSS = "EdgeToEdge { height: 1fr; width: 1fr; text-wrap: nowrap; }"
    COMPONENT_CLASSES = {"edge--name", "edge--chosen", "edge--figure"}  # noqa: RUF012

    class Chosen(Message):
        """A block was clicked."""

        def __init__(self, at: int) -> None:
            super().__init__()
            self.at = at

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.laid: tuple[Laid, ...] = ()
        self.at = 0

    def show(self, laid: Sequence[Laid], at: int) -> None:
        """Show other blocks."""
        self.laid, self.at = tuple(laid), at
        self.refresh()

    def edges(self, width: int) -> list[int]:
        """Columns where the blocks begin, and where the last one ends."""
        return [round(n * width / len(self.laid)) for n in range(len(self.laid) + 1)]

    def on_click(self, event: events.Click) -> None:
        """A click chooses a block."""
        edges = self.edges(self.size.width) if self.laid else [0]
        at = next((n for n in range(len(self.laid)) if edges[n] <= event.x < edges[n + 1]), None)
        if at is not None:
            self.post_message(self.Chosen(at))

    def render_line(self, y: int) -> Strip:
        """A line of names, of blocks or of figures."""
        width, base = self.size.width, self.rich_style
        if not self.laid:
            return Strip.blank(width, base)
        below = [self._figures(one, width // len(self.laid)) for one in self.laid]
        high = max(self.size.height - 1 - max(map(len, below)), 2)
        edges = self.edges(width)
        segments = []
        for n, one in enumerate(self.laid):
            room = edges[n + 1] - edges[n]
            if y == 0:
                segments.append(self._heading(one, n == self.at, room, base))
            elif y <= high:
                segments.append(self._tone(one, y - 1, high, room))
            else:
                line = y - 1 - high
                text, kind = below[n][line] if line < len(below[n]) else ("", "figure")
                style = base + self.get_component_rich_style(f"edge--{kind}", partial=True)
                segments.append(Segment(_fit(f" {text}", room), style))
        return Strip(segments).adjust_cell_length(width, base)

    def _heading(self, one: Laid, chosen: bool, room: int, base: Style) -> Segment:
        kind = "edge--chosen" if chosen else "edge--name"
        sign = "\N{BLACK DOWN-POINTING TRIANGLE}" if chosen else " "
        return Segment(_fit(f"{sign}{one.id} {one.name}", room), base + self.get_component_rich_style(kind))

    def _tone(self, one: Laid, line: int, high: int, room: int) -> Segment:
        """Two bands to a cell; the largest share lies on top, so that the main tones touch."""
        upper, lower = (measured(tone_at(one, (2 * line + half + 0.5) / (2 * high))) for half in (0, 1))
        if upper == lower:  # no drawing, so that the block stays whole without colours
            return Segment(" " * room, Style(bgcolor=upper))
        return Segment(HALF * room, Style(color=upper, bgcolor=lower))

    def _figures(self, one: Laid, room: int) -> list[tuple[str, str]]:
        lab = one.lab
        whole = show.lab(lab.L, lab.a, lab.b)
        figures = [whole] if room >= NARROW else whole.split("  ")
        words = show.colour_words(lab.L, lab.a, lab.b)
        parts = " + ".join(show.percent(share * 100, 0) for _, share in sorted(one.parts, key=lambda p: -p[1]))
        made = wrap(shown(one.made), max(room - 2, 8))[:2]
        lines = [(words, "name"), *((f, "name") for f in figures)]
        if any(len(o.parts) > 1 for o in self.laid):
            lines.append((parts or shown("one tone"), "figure"))
        return [*lines, *((line, "figure") for line in made)]


def tone_at(one: Laid, down: float) -> Lab:
    """The tone at a depth of 0 (top) to 1 (bottom), tones stacked by falling share."""
    until = 0.0
    for tone, share in sorted(one.parts, key=lambda part: -part[1]):
        until += share
        if down <= until:
            return tone
    return min(one.parts, key=lambda part: part[1])[0] if one.parts else one.lab


def _fit(text: str, width: int) -> str:
    if cell_len(text) <= width:
        return set_cell_size(text, width)
    return set_cell_size(text, max(width - 2, 0)) + "… " if width > 2 else " " * width
