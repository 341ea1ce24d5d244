"""The photographs of a record, small, side by side; each comes when it has been read."""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.strip import Strip
from textual.widget import Widget

from tui.widgets.half_blocks import cell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from patina.bench.readings.showing import Preview

COLUMNS, LINES = 22, 8  # of one photograph; below it stands its name
GAP = 2
KEPT = 64  # photographs, of about 1 kB each


class Cache:
    """The small copies that were read last; the one used longest ago makes room.

    >>> kept = Cache(2)
    >>> for name in "abc":
    ...     kept.put(name, name)
    >>> kept.get("a"), kept.get("c"), len(kept)
    (None, 'c', 2)
    """

    def __init__(self, most: int = KEPT) -> None:
        self._most = most
        self._kept: OrderedDict[str, Preview | str] = OrderedDict()

    def __len__(self) -> int:
        return len(self._kept)

    def get(self, sha256: str) -> Preview | str | None:
        """The copy of a photograph, or the words of what was wrong with it; None where it is not here."""
        found = self._kept.get(sha256)
        if found is not None:
            self._kept.move_to_end(sha256)
        return found

    def put(self, sha256: str, small: Preview | str) -> None:
        """Keep a copy."""
        self._kept[sha256] = small
        self._kept.move_to_end(sha256)
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)


CACHE = Cache()


class Thumbnails(Widget):
    """shown: SHA-256 and name of each photograph, in order. What is not in the cache is a grey field."""

    DEFAULT_CSS = "Thumbnails { height: auto; width: 1fr; margin-top: 1; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.shown: tuple[tuple[str, str], ...] = ()

    def show(self, shown: Sequence[tuple[str, str]]) -> None:
        """Show the photographs of another record."""
        self.shown = tuple(shown)
        self.display = bool(self.shown)
        self.refresh(layout=True)

    @property
    def missing(self) -> str | None:
        """The first that is not in the cache."""
        return next((sha256 for sha256, _ in self.shown if CACHE.get(sha256) is None), None)

    def _across(self, width: int) -> int:
        return max((width + GAP) // (COLUMNS + GAP), 1)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """As many rows of pictures as are needed."""
        return -(-len(self.shown) // self._across(width)) * (LINES + 2)

    def render_line(self, y: int) -> Strip:
        """One line over all pictures of a row."""
        width, base = self.size.width, self.rich_style
        across = self._across(width)
        row, line = divmod(y, LINES + 2)
        segments: list[Segment] = []
        for sha256, name in self.shown[row * across : (row + 1) * across]:
            segments += [*self._line_of(sha256, name, line, base), Segment(" " * GAP, base)]
        return Strip(segments).adjust_cell_length(width, base)

    def _line_of(self, sha256: str, name: str, line: int, base: Style) -> list[Segment]:
        if line >= LINES:
            words = name if line == LINES else ""
            words = words if len(words) <= COLUMNS else words[: COLUMNS - 1] + "…"
            return [Segment(f"{words:<{COLUMNS}}", base)]
        small = CACHE.get(sha256)
        if small is None or isinstance(small, str):
            said = ("…" if small is None else small) if line == LINES // 2 else ""
            return [Segment(f"{said[:COLUMNS]:^{COLUMNS}}", base + Style(bgcolor="#6b6258", color="#ffffff"))]
        shown = [cell(small, column, line) for column in range(small.columns)] if 2 * line < small.rows else []
        return [*shown, Segment(" " * (COLUMNS - len(shown)), base)]
