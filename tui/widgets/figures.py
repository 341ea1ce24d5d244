"""Figures that are read at arm's length, drawn from blocks, as large as their place allows."""

from __future__ import annotations

import re

from textual.content import Content
from textual.widget import Widget

from patina.language import shown

# Three by five squares a figure, drawn for this program; ":" and "." are one square wide.
_SHAPES = {
    "0": "111 101 101 101 111",
    "1": "010 110 010 010 111",
    "2": "111 001 111 100 111",
    "3": "111 001 111 001 111",
    "4": "101 101 111 001 001",
    "5": "111 100 111 001 111",
    "6": "111 100 111 101 111",
    "7": "111 001 001 010 010",
    "8": "111 101 111 101 111",
    "9": "111 101 111 001 111",
    "/": "001 001 010 100 100",
    "-": "000 000 111 000 000",
    "?": "111 001 011 000 010",
    ".": "0 0 0 0 1",
    ":": "0 1 0 1 0",
    " ": "0 0 0 0 0",
}
_BLOCKS = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
GAP = 1


def drawn(text: str, scale: int) -> list[str]:
    """The figures as lines of blocks, each square ``scale`` cells wide and half as many lines high.

    >>> drawn("7", 2)
    ['██████', '    ██', '    ██', '  ██  ', '  ██  ']
    """
    shapes = [_SHAPES.get(c, _SHAPES["?"]).split() for c in text]
    rows = ["".join(_stretched(shape[row], scale) for shape in shapes) for row in range(5) for _ in range(scale)]
    rows = [row[:-GAP] for row in rows]
    if len(rows) % 2:
        rows.append("0" * len(rows[0]))
    return [
        "".join(_BLOCKS[int(top), int(bottom)] for top, bottom in zip(rows[n], rows[n + 1], strict=True))
        for n in range(0, len(rows), 2)
    ]


def _stretched(row: str, scale: int) -> str:
    return "".join(square * scale for square in row) + "0" * GAP


def largest(text: str, width: int, height: int) -> list[str]:
    """The figures as large as a place allows; as plain text where not even the smallest fit."""
    for scale in (4, 3, 2, 1):
        lines = drawn(text, scale)
        if len(lines) <= height and len(lines[0]) <= width:
            return lines
    return [text[:width]]


def _inked(line: str, style: str) -> Content:
    """Blocks in the style, gaps in none, so that each block keeps its place wherever the screen is drawn."""
    runs = re.findall(r" +|[^ ]+", line)
    return Content("").join(Content(r) if r.isspace() else Content.styled(r, style) for r in runs)


class BigFigure(Widget):
    """A figure with its label above and a word below. short: shown instead where the figure is too wide."""

    DEFAULT_CSS = "BigFigure { width: 1fr; height: 1fr; text-wrap: nowrap; }"

    def __init__(self, label: str, *, id: str) -> None:
        super().__init__(id=id)
        self.label = label
        self.figure, self.short, self.below, self.style = "-", "-", "", "$primary"

    def show(self, label: str, figure: str, below: str, *, short: str = "", style: str = "$primary") -> None:
        """Show another figure."""
        wanted = (label, figure, short or figure, below, style)
        if wanted != (self.label, self.figure, self.short, self.below, self.style):
            self.label, self.figure, self.short, self.below, self.style = wanted
            self.refresh()

    def render(self) -> Content:
        """Label, figure, word."""
        width, height = self.content_size.width, self.content_size.height - 2
        lines = largest(self.figure, width, height)
        if len(lines) < min(5, height) and self.short != self.figure:
            lines = largest(self.short, width, height)
        above = [""] * max((height - len(lines)) // 2, 0)
        body = [*above, *lines]
        body += [""] * (height - len(body))
        return Content("\n").join(
            [
                Content.styled(shown(self.label)[:width], "$text-muted"),
                *(_inked(line, self.style) for line in body),
                Content.styled(shown(self.below)[:width], f"bold {self.style}"),
            ]
        )
