"""Tiles: the rack, photographs, readings, comparisons."""

from __future__ import annotations

from collections.abc import Sequence
from math import atan2, tau
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from patina.bench.readings import tiles
from tui import actions
from tui import format as show
from tui.screens.measuring import Measuring
from tui.screens.place import Shelfful, shades
from tui.screens.record_words import tile_words
from tui.widgets.record_list import Line

if TYPE_CHECKING:
    from patina.sheets import TileRow, TileSheet

ORDERS = ("newest first", "by lightness", "by hue", "by recipe")
EMPTY = """The rack is empty.
Press n to start a test tile; or start one from a recipe in Finishes with t."""


class Tiles(Measuring):
    """The rack, with the sheet of a tile. marked: tiles to be laid side by side."""

    WHERE = PLACE = "tiles"
    WHAT = "a tile"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("tiles")

    def __init__(self) -> None:
        super().__init__()
        self.order = 0

    def shelves(self) -> tuple[Shelfful, ...]:
        """One list: the rack."""
        return (
            Shelfful(
                "tiles",
                lambda text: ordered(tiles.list_tiles(self.studio, text), ORDERS[self.order]),
                tile_line,
                lambda id: tiles.tile_sheet(self.studio, id),
                tile_words,
                EMPTY,
                lambda most, text: ordered(
                    tiles.list_tiles(self.studio, text, limit=None if self.order else most), ORDERS[self.order]
                ),
            ),
        )

    def show_record(self, id: str) -> None:
        """A reading is shown with the tile it belongs to."""
        if id[:1].upper() == "D":
            reading = tiles.reading_of(self.studio, id)
            id = reading.tile or id
        super().show_record(id)

    def action_order(self) -> None:
        """The next order of the rack."""
        self.order = (self.order + 1) % len(ORDERS)
        self.said(f"The rack stands {ORDERS[self.order]}.")
        self.load()

    def action_new(self) -> None:
        """Start a tile."""
        from tui.dialogs.records import tile_form

        self.ask(tile_form(self.studio), self._kept)

    def action_same_again(self) -> None:
        """Start a tile with everything as on the chosen one."""
        from tui.dialogs.records import tile_form

        if self.has_sheet("a tile"):
            self.ask(tile_form(self.studio, like=self.sheet), self._kept)

    def action_change(self) -> None:
        """Correct a tile."""
        from tui.dialogs.records import change_tile_form

        if self.has_sheet("a tile"):
            self.ask(change_tile_form(self.studio, self.sheet), self._kept)

    def _kept(self, sheet: TileSheet) -> None:
        self.said(f"{sheet.row.id} {sheet.row.engraved} is on record.")
        self.show_record(sheet.row.id)

    def action_agree(self) -> None:
        """Make the tile's colour an agreed finish."""
        from tui.dialogs.records import master_form

        if self.sheet is None or self.sheet.row.lab is None:
            self.said("The tile has no reading yet: f measures it in a photograph, r types one in.")
            return
        row = self.sheet.row
        self.ask(
            master_form(self.studio, colour=row.id, name=row.recipe),
            lambda master: self.said(f"{master.id} {master.name} is agreed; it stands in Casts."),
        )

    def action_print_sheet(self) -> None:
        """Write the tile's record."""
        from tui.dialogs.printing import print_tile

        if (id := self.chosen_or_say("a tile")) is not None:
            print_tile(self, id)

    def action_rack_map(self) -> None:
        """The rack as a map."""
        from tui.screens.rack_map import RackPlace

        self.app.push_screen(RackPlace(self.record_list.chosen or ""))

    def action_plot(self) -> None:
        """Plots of how its colour goes on changing."""
        from tui.screens.plots import show_ageing

        if (id := self.chosen_or_say("a tile")) is not None:
            show_ageing(self, id)

    def action_take_in(self) -> None:
        """Take in an instrument's readings."""
        from tui.dialogs.path import AskPath

        before = "Columns L, a, b and optional others; rows that name no tile go to the one chosen here."
        self.ask(AskPath("Take in readings", (".csv", ".txt"), before=before), self._import)

    def _import(self, path: Path) -> None:
        chosen = self.record_list.chosen

        def done(rows: tuple[Any, ...]) -> None:
            self.said(f"{show.times(len(rows), 'reading')} taken in.")
            self.action_read_again()

        self.work("Taking in the readings", lambda: tiles.import_readings_csv(self.studio, path, default=chosen), done)


def ordered(rows: Sequence[TileRow], order: str) -> list[TileRow]:
    """The rack in an order; tiles that were not measured stand last where colour counts."""
    if order == "by lightness":
        return sorted(rows, key=lambda r: (r.lab is None, 0.0 if r.lab is None else r.lab.L))
    if order == "by hue":
        return sorted(rows, key=lambda r: (r.lab is None, 0.0 if r.lab is None else atan2(r.lab.b, r.lab.a) % tau))
    if order == "by recipe":
        return sorted(rows, key=lambda r: (not r.recipe, r.recipe.casefold(), r.revision or 0))
    return list(rows)


def tile_line(row: TileRow) -> Line:
    """A tile as the rack shows it."""
    parts = sorted(row.parts, key=lambda p: -p.share)
    colours = shades([p.lab for p in parts] or [row.lab])
    shares = tuple(p.share for p in parts)
    made = f"{row.recipe}, rev. {row.revision}" if row.recipe_id else "no recipe"
    return Line(row.id, f"{row.engraved}  {row.id}", f"{row.alloy}  {made}", colours, lab_badge(row.lab), shares=shares)


def lab_badge(lab: Any) -> str:
    """The colour in words, for a list."""
    return "" if lab is None else show.colour_words(lab.L, lab.a, lab.b)
