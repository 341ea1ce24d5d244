"""Shelf: chemicals, lot by lot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from patina.bench.shelves import shelf
from patina.language import shown
from tui import actions
from tui import format as show
from tui.screens.place import Place, Shelfful
from tui.screens.record_words import lot_words
from tui.screens.release_words import lot_together
from tui.widgets.prose import Prose
from tui.widgets.record_list import Line

if TYPE_CHECKING:
    from patina.sheets import LotRow

EMPTY = """Nothing stands on the shelf.
Press n to put a lot on it."""


class Shelf(Place):
    """Lots, with the hazards of what is in them."""

    WHERE = PLACE = "shelf"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("shelf")

    def shelves(self) -> tuple[Shelfful, ...]:
        """One list: the lots."""
        return (
            Shelfful(
                "lots",
                lambda text: shelf.list_lots(self.studio, text),
                lot_line,
                lambda id: (shelf.lot_row(self.studio, id), self._words(id)),
                lambda read: read[1],
                EMPTY,
            ),
        )

    def _words(self, id: str) -> Prose:
        row = shelf.lot_row(self.studio, id)
        prose = lot_words(row, shelf.lot_movements(self.studio, id))
        return prose.extend(self._hazards(row)).extend(lot_together(self.studio, row.id))

    def _hazards(self, row: LotRow) -> Prose:
        """The hazards of the substance as sold; unknown is said."""
        from patina.bench.shelves.hazards import hazards_of

        prose = Prose().heading("Hazards of the substance as sold")
        told = hazards_of(self.studio, row.substance_key)
        prose.fact("signal word", show.signal_word(row.signal_word), "bold")
        for statement in told.statements:
            prose.caution(statement, grave=row.signal_word == "Danger")
        prose.bullets(told.gases, "~").text(told.basis, "$text-muted")
        return prose.gap().text("The supplier's safety data sheet decides.", "$text-muted")

    def action_new(self) -> None:
        """Put a lot on the shelf."""
        from tui.dialogs.stock import lot_form

        self.ask(lot_form(self.studio), self._kept)

    def action_add_substance(self) -> None:
        """A substance from its data sheet."""
        from tui.dialogs.substance import substance_form

        self.ask(substance_form(self.studio), lambda sheet: self.said(f"Ready for recipes: {sheet.substance.name}."))

    def action_old_data(self) -> None:
        """Substances whose data ask to be checked; one of them can be checked or renewed at once."""
        from patina.bench.shelves.substances import stale_substances
        from tui.dialogs.choose import Choose
        from tui.dialogs.substance import check_form

        def tell(rows: Any) -> None:
            if not rows:
                self.said("No substance asks to be checked.")
                return
            options = [(row.key, f"{row.name}: {row.check}") for row in rows]
            self.ask(Choose("Check which against its data sheet?", options), lambda key: self._check(check_form, key))

        self.work("Looking at the dates", lambda: stale_substances(self.studio), tell, quiet=True)

    def _check(self, form: Any, key: str) -> None:
        self.ask(form(self.studio, key), lambda sheet: self.said(f"On record: data sheet of {sheet.substance.name}."))

    def action_change(self) -> None:
        """Correct a lot."""
        from tui.dialogs.stock import change_lot_form

        if self.has_sheet("a lot"):
            self.ask(change_lot_form(self.studio, self.sheet[0]), self._kept)

    def action_take(self) -> None:
        """Take from a lot."""
        from tui.dialogs.stock import take_form

        if self.has_sheet("a lot"):
            self.ask(take_form(self.studio, self.sheet[0]), self._kept)

    def action_count(self) -> None:
        """Write what a stock-take found in a lot."""
        from tui.dialogs.stock import count_form

        if self.has_sheet("a lot"):
            self.ask(count_form(self.studio, self.sheet[0]), self._kept)

    def action_drums(self) -> None:
        """The waste drums: what stands in each, something more, one that was fetched."""
        from tui.dialogs.waste import ask_drums

        ask_drums(self)

    def action_print_sheet(self) -> None:
        """Write the wall sheet or the first-aid card of the shelf."""
        from patina.bench.paper import printing
        from tui.dialogs.choose import Choose
        from tui.dialogs.printing import ask_print

        def taken(what: str) -> None:
            write = printing.wall_sheet if what == "wall sheet" else printing.first_aid_card
            ask_print(self, what, what, lambda path: write(self.studio, path))

        options = [
            ("wall sheet", "Wall sheet: what stands here and what must be kept apart"),
            ("first-aid card", "First-aid card: what to do, by route"),
        ]
        self.ask(Choose("Print", options), taken)

    def _kept(self, row: LotRow) -> None:
        self.said(f"{row.id} {row.substance}: {show.amount(row.left, row.unit)} left.")
        self.show_record(row.id)


def lot_line(row: LotRow) -> Line:
    """A lot as the list shows it."""
    gone = row.state in ("expired", "spent")
    word = {"Danger": "▲! Danger", "Warning": "▲ Warning", "unknown": "? unknown"}.get(row.signal_word or "", "")
    opened = "opened" if row.state == "opened" else ""
    below = "  ".join(w for w in (row.id, f"{show.amount(row.left, row.unit)} left", opened, row.place) if w)
    badge = row.state.upper() if gone else word
    return Line(row.id, shown(row.substance), below, badge=badge, alarm=gone, caution=not gone)
