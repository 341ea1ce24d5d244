"""What the screens show, as plain lines: nothing drawn, nothing told by colour or place alone."""

from __future__ import annotations

import re

from patina.language import shown
from tui.widgets.prose import Prose

# Signs that a screen draws -> what is said in their place
_SAID = {"▲!": "Danger:", "▲": "Caution:", "•": "-", "◆": "-", "▸": "", "↕": "", "✖": "out of limits:", "▽": "change:"}
DRAWN = re.compile("[\u2500-\u25ff\u2700-\u27bf\u2800-\u28ff]")


def plain_line(text: str) -> str:
    """A line without anything drawn.

    >>> plain_line(" ▲! acid and sulphide   meet "), plain_line("┄ limits   ─ agreed")
    ('Danger: acid and sulphide meet', 'limits agreed')
    """
    for sign, said in _SAID.items():
        text = text.replace(sign, f" {shown(said)} ")
    return " ".join(DRAWN.sub(" ", text).split())


def lines_of(prose: Prose) -> list[str]:
    """A sheet as lines, each whole: labels stand before their figures, colours as figures and words."""
    lines = [plain_line(f"{first.plain} {body.plain}") for first, _, body in prose.pieces]
    said: list[str] = []
    for line in lines:
        if line or (said and said[-1]):
            said.append(line)
    return said


def numbered(rows: list[tuple[str, ...]]) -> list[str]:
    """Rows of a list, each with the number that opens it."""
    return [f"{n}. {plain_line(', '.join(shown(part) for part in row if part))}" for n, row in enumerate(rows, 1)]
