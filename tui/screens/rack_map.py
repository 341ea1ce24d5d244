"""The map of the rack on a*–b* or L*–C*: tiles as their real colours, agreed finishes among them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from tui import actions
from tui import format as show
from tui.screens.base import Base
from tui.widgets.rack_map import Dot, RackMap
from tui.widgets.words import Static

if TYPE_CHECKING:
    from collections.abc import Sequence

MOST = 4000
_WAYS = {"left": (-1, 0), "right": (1, 0), "up": (0, 1), "down": (0, -1)}


class RackPlace(Base):
    """The map, with the chosen tile told below. start: id of the tile to begin on."""

    WHERE = "map"
    PLACE = "tiles"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("map")

    def __init__(self, start: str = "") -> None:
        super().__init__()
        self.start = start

    def body(self) -> ComposeResult:
        """The map, and a line on what is chosen."""
        yield RackMap(id="rack-map")
        yield Static(id="rack-told", markup=False)

    @property
    def map(self) -> RackMap:
        """The map."""
        return self.query_one("#rack-map", RackMap)

    def on_mount(self) -> None:
        """Read the rack."""
        self.query_one("#rack-told", Static).styles.height = 2
        self.work("Reading the rack", self._dots, self._shown)

    def _dots(self) -> tuple[Dot, ...]:
        rows = tiles.list_tiles(self.studio, limit=MOST)
        dots = [
            Dot(r.id, f"{r.engraved}  {r.recipe or 'no recipe'}  {r.alloy}", r.lab)
            for r in rows
            if r.lab is not None and r.lab.illuminant == "D50"
        ]
        agreed = [Dot(m.id, m.name, m.lab, True) for m in casts.list_masters(self.studio)]
        return (*dots, *agreed)

    def _shown(self, dots: Sequence[Dot]) -> None:
        self.map.show(dots)
        found = next((i for i, d in enumerate(dots) if d.id == self.start), None)
        if found is not None:
            self.map.at = found
            self.map.refresh()
        self.tell()

    def said_anew(self) -> None:
        """After everything was said again."""
        self.tell()

    def tell(self) -> None:
        """What is chosen, in figures and words."""
        dot = self.map.chosen
        if dot is None:
            words = "No tile has been read yet: in Tiles, f measures one in a photograph, r types a reading in."
        else:
            lab = dot.lab
            figures = f"{show.lab(lab.L, lab.a, lab.b)}  {show.colour_words(lab.L, lab.a, lab.b)}"
            more = f"  The newest {MOST} tiles are shown." if len(self.map.dots) >= MOST else ""
            words = f"{'◎' if dot.agreed else '✚'} {dot.id} {dot.name}\n{figures}{more}"
        self.query_one("#rack-told", Static).update(words)

    def action_move(self, way: str) -> None:
        """To the next tile on that side."""
        self.map.move(*_WAYS[way])
        self.tell()

    def action_axes(self) -> None:
        """The other axes."""
        self.map.turn()
        self.tell()

    def action_open_tile(self) -> None:
        """Open the sheet of the chosen record."""
        if (dot := self.map.chosen) is not None:
            self.dismiss(None)
            self.app.call_later(self.patina.open_record, dot.id)

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)
