"""Casts: the casts with what was done to them, the pieces, and the finishes that were agreed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult

from patina.bench.pieces import casts
from tui import actions
from tui import format as show
from tui.screens.measuring import Measuring
from tui.screens.place import Shelfful, shades
from tui.screens.record_words import cast_words, master_words, piece_words
from tui.screens.tiles import lab_badge
from tui.screens.treatment_sections import open_words
from tui.screens.treatments_list import (
    begin_for_a_cast,
    care_line,
    conserve,
    open_treatment,
    plot_salts,
    show_all_care,
    tell_care,
    treatments_shelf,
)
from tui.widgets.record_list import Line
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.sheets import CastRow, MasterSheet, PieceRow
    from patina.sheets.treatment import CareRow

CASTS, PIECES, MASTERS, TREATMENTS = range(4)
NOT_STATED = "not stated"


class Casts(Measuring):
    """Four lists: casts, pieces, agreed finishes, treatments. Care that is due is said above them."""

    WHERE = PLACE = "casts"
    WHAT = "a cast"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("casts")

    def shelves(self) -> tuple[Shelfful, ...]:
        """Casts, pieces, agreed finishes, treatments."""
        return (
            Shelfful(
                "casts",
                lambda text: casts.list_casts(self.studio, search=text),
                cast_line,
                lambda id: casts.cast_sheet(self.studio, id),
                cast_words,
                "No casts yet.\nPress n to add one; where its piece is not on record, that is asked for first.",
            ),
            Shelfful(
                "pieces",
                lambda text: casts.list_pieces(self.studio, text),
                piece_line,
                self._piece,
                piece_words,
                "No pieces yet.\nPress n to add one.",
            ),
            Shelfful(
                "agreed finishes",
                lambda text: casts.list_masters(self.studio, text),
                master_line,
                lambda id: casts.master_sheet(self.studio, id),
                master_words,
                "No finish is agreed yet.\nPress n, or choose a tile in Tiles (3) and press a.",
            ),
            treatments_shelf(self),
        )

    def body(self) -> ComposeResult:
        """Care that is due, where any is; then list and sheet."""
        yield Static(id="care-due", markup=False)
        yield from super().body()

    def on_mount(self) -> None:
        """Read the list, and the care that is due."""
        super().on_mount()
        self.show_care(())
        tell_care(self)

    def said_anew(self) -> None:
        """Care that is due, too."""
        super().said_anew()
        self.show_care(())
        tell_care(self)

    def came_back(self) -> None:
        """Coming from another place."""
        super().came_back()
        tell_care(self)

    def show_care(self, rows: tuple[CareRow, ...]) -> None:
        """Say how much care is due."""
        line = self.query_one("#care-due", Static)
        words = care_line(rows)
        line.display = bool(words)
        line.update(words)

    def _piece(self, id: str) -> PieceRow:
        return next(row for row in casts.list_pieces(self.studio) if row.id == id)

    def list_for(self, id: str) -> None:
        """By the letter of the id."""
        if id[:2].upper() == "CT":
            self.to_list(TREATMENTS)
            return
        self.to_list({"W": PIECES, "P": PIECES, "M": MASTERS}.get(id[:1].upper(), CASTS))

    def action_new(self) -> None:
        """Add to the list that is shown."""
        from tui.dialogs import records

        def a_cast(_piece: Any = None) -> None:
            self.ask(records.cast_form(self.studio), lambda sheet: self.show_record(sheet.row.id))

        if self.at == CASTS and not casts.list_pieces(self.studio):
            before = "A cast belongs to a piece, and none is on record yet: first the piece, then its cast."
            self.ask(records.piece_form(self.studio, before), a_cast)
        elif self.at == CASTS:
            a_cast()
        elif self.at == PIECES:
            self.ask(records.piece_form(self.studio), lambda row: self.show_record(row.id))
        elif self.at == TREATMENTS:
            begin_for_a_cast(self)
        else:
            self.ask(records.master_form(self.studio), lambda sheet: self.show_record(sheet.id))

    def action_open_sheet(self) -> None:
        """To the sheet; from the sheet of a treatment, to work on it."""
        if self.at == TREATMENTS and self.focused is self.query_one("#sheet"):
            self.action_treatment()
        else:
            super().action_open_sheet()

    def still_open(self) -> str:
        """What a treatment lacks before it is signed off."""
        return open_words(self.sheet) if self.at == TREATMENTS and self.sheet is not None else super().still_open()

    def action_change(self) -> None:
        """Correct a cast."""
        from tui.dialogs.records import change_cast_form

        if self._target() is not None and self.sheet is not None:
            self.ask(change_cast_form(self.studio, self.sheet), lambda sheet: self.show_record(sheet.row.id))

    def action_owner(self) -> None:
        """What the owner of the cast is given, and what was given to whom."""
        from tui.dialogs.owner import ask_owner

        ask_owner(self, self.record_list.chosen if self.at == CASTS else None)

    def action_series(self) -> None:
        """The edition of the chosen cast or piece as a series."""
        from tui.dialogs.matching import show_series

        if self.at in (MASTERS, TREATMENTS):
            self.said("Choose a cast or a piece first (v changes the list).")
        elif (id := self.chosen_or_say("a cast")) is not None:
            show_series(self, id)

    def action_work_done(self) -> None:
        """Write down what was done."""
        from tui.dialogs.records import treatment_form

        if (target := self._target()) is not None and self.sheet is not None:
            row = self.sheet.row
            form = treatment_form(self.studio, target, f"{row.piece} {row.number}".strip())
            self.ask(form, lambda sheet: self.show_record(sheet.row.id))

    def action_plot(self) -> None:
        """Plots of how its colour goes on changing; of a treatment, what salts are out."""
        from tui.screens.plots import show_ageing

        if self.at == TREATMENTS:
            plot_salts(self, self.sheet)
        elif (id := self.chosen_or_say("a cast")) is not None:
            show_ageing(self, id)

    def action_treatment(self) -> None:
        """The conservator's record of the chosen cast or treatment."""
        if self.at == TREATMENTS:
            if (id := self.chosen_or_say("a treatment")) is not None:
                open_treatment(self, id)
        elif (target := self._target()) is not None and self.sheet is not None:
            row = self.sheet.row
            conserve(self, target, f"{row.piece} {row.number}".strip())

    def action_care_due(self) -> None:
        """All care that is due or soon due."""
        show_all_care(self)

    def action_print_sheet(self) -> None:
        """Write the finish record of the cast, the report of its series or of a treatment, or the agreed finish."""
        from tui.dialogs.printing import ask_sheets, print_agreed, print_cast, series_of, treatment_of

        if self.at == TREATMENTS:
            if (id := self.chosen_or_say("a treatment")) is not None and self.sheet is not None:
                ask_sheets(self, [treatment_of(self, id, self.sheet.record.head.name)])
        elif self.at == MASTERS:
            if (id := self.chosen_or_say("an agreed finish")) is not None and self.sheet is not None:
                print_agreed(self, id, self.sheet.name)
        elif self.at == PIECES:
            if (id := self.chosen_or_say("a piece")) is not None:
                ask_sheets(self, [series_of(self, id)])
        elif (id := self._target()) is not None and self.sheet is not None:
            print_cast(self, id, self.sheet.row.piece_id)


def cast_line(row: CastRow) -> Line:
    """A cast as the list shows it."""
    words = (row.alloy, lab_badge(row.lab), f"work done: {row.treatments}" if row.treatments else "")
    below = "  ".join(w for w in words if w)
    return Line(row.id, f"{row.piece} {row.number}".strip(), below, shades([row.lab]), badge=row.id)


def piece_line(row: PieceRow) -> Line:
    """A piece as the list shows it."""
    edition = f"edition of {row.edition}" if row.edition else "single or not known"
    return Line(row.id, row.title, f"{row.id}  {row.maker}", badge=f"{edition}, {show.times(row.casts, 'cast')}")


def master_line(row: MasterSheet) -> Line:
    """An agreed finish as the list shows it."""
    light = "light not stated" if row.light in ("", NOT_STATED) else row.light
    below = f"{row.id}  {row.zone}, {light}"
    return Line(row.id, row.name, below, shades([row.lab]), badge=f"limit {show.plain(row.limit_de)}")
