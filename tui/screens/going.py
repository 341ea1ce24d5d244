"""From a record to those that hang together with it, and the way back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from patina.sheets.named import named
from tui.screens.base import Base

if TYPE_CHECKING:
    from patina.sheets import Found


class Going(Base):
    """A screen with a chosen record, from which one goes to others."""

    @property
    def standing_on(self) -> str | None:
        """Id of the chosen record."""
        raise NotImplementedError

    @property
    def called(self) -> str:
        """What the chosen record is called; empty where that is not known here."""
        return ""

    def action_related(self) -> None:
        """Offer the records that hang together with the chosen one."""
        from patina.bench.finding.related import related

        id = self.standing_on
        if id is None:
            self.said("Choose a record first.")
            return
        self.work(f"Looking for what belongs to {id}", lambda: related(self.studio, id), self._offer, key="related")

    def _offer(self, found: tuple[Found, ...]) -> None:
        from tui.dialogs.choose import Choose

        if not found:
            self.said(f"Nothing hangs together with {named(self.standing_on, self.called)} yet.")
            return
        options = [(f.id, f"{f.kind:<14} {f.id:<6} {f.name}") for f in found]
        self.ask(Choose(f"From {named(self.standing_on, self.called)} to", options), self._go)

    def _go(self, id: str) -> None:
        """A pot that is used up stands in no list; its sheet is shown here."""
        if id[0] != "B":
            self.patina.open_record(id)
            return
        from patina.bench.pots.batches import batch_sheet

        self.work(f"Reading {id}", lambda: batch_sheet(self.studio, id), self._pot, key="related")

    def _pot(self, sheet: Any) -> None:
        if sheet.left_ml > 0:
            self.patina.open_record(sheet.id)
            return
        from tui.dialogs.message import Notes
        from tui.screens.mix_words import batch_words

        self.app.push_screen(Notes(f"Pot {sheet.id}, used up", batch_words(sheet)))

    def action_go_back(self) -> None:
        """Back to the record one came from."""
        self.patina.go_back()
