"""Two or more finishes laid edge to edge, with what sets each apart from the first in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll

from patina.bench.matched.mottle import compare_surfaces
from patina.bench.readings import tiles
from patina.bench.readings.comparing import compare
from patina.errors import PatinaError
from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.screens.base import Base
from tui.widgets.laid import EdgeToEdge, Laid
from tui.widgets.prose import Prose, ProseView

if TYPE_CHECKING:
    from patina.sheets import ComparisonSheet
    from patina.sheets.mottle import MottleSheet

Beside = tuple["ComparisonSheet", "MottleSheet"]


class SideBySide(Base):
    """Tiles edge to edge. ids: of the tiles, in the order in which they lie; the first is what the others are
    set against."""

    WHERE = "edge"
    PLACE = "tiles"
    CSS_PATH: ClassVar[Any] = STYLES / "screens.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("edge")

    def __init__(self, ids: Sequence[str]) -> None:
        super().__init__()
        self.ids = list(ids)
        self.at = 0
        self.laid: tuple[Laid, ...] = ()
        self.beside: tuple[Beside, ...] = ()

    def body(self) -> ComposeResult:
        """The blocks, then what sets them apart."""
        yield EdgeToEdge(id="edges")
        with VerticalScroll(id="apart"):
            yield ProseView(id="apart-words")

    def on_mount(self) -> None:
        """Lay them out."""
        self.query_one("#apart").focus()
        self.lay()

    def said_anew(self) -> None:
        """After everything was said again."""
        self.lay()

    def lay(self) -> None:
        """Read the tiles and set each against the first, in a thread."""
        ids = tuple(self.ids)

        def read() -> tuple[tuple[Laid, ...], tuple[Beside, ...]]:
            laid = tuple(_laid(tiles.tile_sheet(self.studio, id).row) for id in ids)
            pairs = [(compare(self.studio, ids[0], id), compare_surfaces(self.studio, ids[0], id)) for id in ids[1:]]
            return laid, tuple(pairs)

        self.work("Laying them side by side", read, self._shown, self._not, key="it")

    def _not(self, trouble: PatinaError) -> None:
        self.query_one("#apart-words", ProseView).show(Prose().caution(trouble.what, trouble.remedy, grave=True))

    def _shown(self, read: tuple[tuple[Laid, ...], tuple[Beside, ...]]) -> None:
        self.laid, self.beside = read
        self.query_one(EdgeToEdge).show(self.laid, self.at)
        self.query_one("#apart-words", ProseView).show(apart_words(self.laid, self.beside))

    @on(EdgeToEdge.Chosen)
    def _clicked(self, message: EdgeToEdge.Chosen) -> None:
        self._choose(message.at)

    def _choose(self, at: int) -> None:
        self.at = at % len(self.ids)
        self.query_one(EdgeToEdge).show(self.laid, self.at)

    def action_turn(self, by: int) -> None:
        """Choose the next block, or the one before."""
        self._choose(self.at + by)

    def action_first(self) -> None:
        """The chosen one becomes the first; the others keep their order."""
        self.ids.insert(0, self.ids.pop(self.at))
        self.at = 0
        self.lay()

    def action_shift(self, by: int) -> None:
        """Lay the chosen one further to the right or left, so that it touches another."""
        to = self.at + by
        if 0 <= to < len(self.ids):
            self.ids.insert(to, self.ids.pop(self.at))
            self.at = to
            self.lay()

    def action_two(self) -> None:
        """The first and the chosen one in every figure."""
        from tui.screens.comparing import Comparing

        other = self.ids[self.at or 1]
        self.app.push_screen(Comparing(self.ids[0], other))

    def action_open_tile(self) -> None:
        """Open the sheet of the chosen tile."""
        id = self.ids[self.at]
        self.dismiss(None)
        self.app.call_later(self.patina.open_record, id)

    def action_back(self) -> None:
        """Back."""
        self.dismiss(None)


def _laid(row: Any) -> Laid:
    made = f"{row.recipe}, rev. {row.revision}" if row.recipe_id else "no recipe"
    return Laid(row.id, row.engraved, made, row.lab, tuple((p.lab, p.share) for p in row.parts))


def apart_words(laid: Sequence[Laid], beside: Sequence[Beside]) -> Prose:
    """What sets each finish apart from the first."""
    first = laid[0]
    prose = Prose().heading(f"Against {first.id} {first.name}")
    for n, (one, (sheet, mottle)) in enumerate(zip(laid[1:], beside, strict=True)):
        if n:
            prose.gap()
        d = sheet.difference
        doubt = show.give_or_take(sheet.uncertainty_de00)
        words = f"There is {d.words}." if d.words.startswith("no ") else f"It is {d.words}."
        prose.pair(
            first.lab, one.lab, f"{one.id} {one.name}  ΔE00 {show.number(d.delta_e, 1)} {doubt}", words, sure=True
        )
        if mottle.uneven:
            prose.text(mottle.words, "$text-muted", indent=18)
        if sheet.uncertainty_de00 is not None and d.delta_e < sheet.uncertainty_de00:
            prose.text("The readings cannot tell them apart.", "$text-muted", indent=18)
    warnings = {(warning.text, warning.do): None for sheet, _ in beside for warning in sheet.warnings}
    if warnings:
        prose.gap()
    for text, do in warnings:
        prose.caution(text, do)
    return prose
