"""A picture by kitty's graphics protocol, put among the text by placeholders.

The picture is sent once; each cell it covers then holds a placeholder that names its row and column, in a
colour that is the picture's number. So it scrolls, is covered and goes away as text does.
Source: kitty's terminal graphics protocol and its part on Unicode placeholders
(sw.kovidgoyal.net/kitty/graphics-protocol).
"""

from __future__ import annotations

import io
from base64 import standard_b64encode
from itertools import count
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

if TYPE_CHECKING:
    from PIL.Image import Image

CHUNK = 4096  # the longest piece the protocol allows
PLACEHOLDER = chr(0x10EEEE)
_numbers = count(0x70A1)  # of pictures; below 2**24, and not those that other programs begin with


def transmission(picture: Image, number: int, columns: int, lines: int) -> str:
    """What sends a picture and lets it be placed over so many cells. Nothing is answered (q=2)."""
    file = io.BytesIO()
    picture.save(file, "PNG", compress_level=3)
    data = standard_b64encode(file.getvalue()).decode("ascii")
    pieces = [data[at : at + CHUNK] for at in range(0, len(data), CHUNK)]
    sent = []
    for n, piece in enumerate(pieces):
        keys = f"a=T,U=1,i={number},f=100,c={columns},r={lines},q=2," if n == 0 else "q=2,"
        sent.append(f"\x1b_G{keys}m={int(n < len(pieces) - 1)};{piece}\x1b\\")
    return "".join(sent)


def removal(number: int) -> str:
    """What takes a picture out of the terminal's memory."""
    return f"\x1b_Ga=d,d=I,i={number},q=2\x1b\\"


class KittyPicture(Widget):
    """Shows a picture as large as there is room. cell_px: width and height of a cell in pixels."""

    DEFAULT_CSS = "KittyPicture { width: 1fr; height: 1fr; }"

    def __init__(self, picture: Image, cell_px: tuple[int, int]) -> None:
        super().__init__()
        self.picture = picture
        self._cell_px = cell_px
        self._number = 0
        self._cells = (0, 0)

    def _fitted(self, size: Size) -> tuple[int, int]:
        """Columns and lines that the picture takes of the room."""
        wide, high = self.picture.width / self._cell_px[0], self.picture.height / self._cell_px[1]
        scale = min(size.width / wide, size.height / high)
        return max(round(wide * scale), 1), max(round(high * scale), 1)

    def _send(self, words: str) -> None:
        driver = self.app._driver
        if driver is not None:  # by the way that everything else goes, so that nothing comes between
            driver.write(words)

    def _sent(self) -> tuple[int, int]:
        """Columns and lines of the picture, which was sent for them."""
        cells = self._fitted(self.size)
        if cells != self._cells:
            self.forget()
            self._cells, self._number = cells, next(_numbers)
            self._send(transmission(self.picture, self._number, *cells))
        return cells

    def forget(self) -> None:
        """Take the picture out of the terminal."""
        if self._number:
            self._send(removal(self._number))
            self._number, self._cells = 0, (0, 0)

    def on_unmount(self) -> None:
        """A picture that is no longer shown takes no room."""
        self.forget()

    def render_line(self, y: int) -> Strip:
        """The placeholders of a line."""
        width, base = self.size.width, self.rich_style
        # under a dialog colours are dimmed, and a dimmed colour is another picture's number
        if not width or not self.screen.is_active:
            return Strip.blank(width, base)
        columns, lines = self._sent()
        if y >= lines:
            return Strip.blank(width, base)
        from textual_image.renderable.tgp import _NUMBER_TO_DIACRITIC as MARKS

        columns = min(columns, width, len(MARKS))
        words = "".join(f"{PLACEHOLDER}{chr(MARKS[y])}{chr(MARKS[x])}" for x in range(columns))
        ink = f"#{self._number:06x}"
        return Strip([Segment(words, Style(color=ink))], columns).adjust_cell_length(width, base)
