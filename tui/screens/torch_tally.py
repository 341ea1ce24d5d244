"""Writing down at the torch: in the database, and in this machine's journal while that is out of reach."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from patina.bench.torch import work
from patina.bench.torch.offline import Live, Tally
from patina.errors import Changed, PatinaError, Unreachable
from tui.screens import torch_words as words
from tui.screens.base import Base

if TYPE_CHECKING:
    from patina.sheets import ReplaySheet, WorkSheet


class TorchTally(Base):
    """What the torch screen does with a key. tally: what it writes down with, None before it is shown."""

    sheet: WorkSheet
    tally: Tally | None = None
    _reaching = False
    _leaving = False

    def show(self, sheet: WorkSheet) -> None:
        """Show the work as it stands."""
        raise NotImplementedError

    def answer(self, text: str, *, bad: bool = False) -> None:
        """What became of the last key."""
        raise NotImplementedError

    def on_unmount(self) -> None:
        """Let go of the journal; what it holds waits."""
        if self.tally is not None:
            self.tally.close()

    def put(self, kind: str, given: dict[str, Any], live: Live) -> bool:
        """Write down a key; answer with what is on disk now, or with why nothing was written.

        kind, given: what the journal keeps of it. live: the deed itself, told its stamp.
        """
        tally = self.tally
        assert tally is not None
        if not tally.offline:
            tally.sheet = self.sheet
        return self.write(lambda: tally.write(kind, given, live))

    def write(self, deed: Callable[[], WorkSheet]) -> bool:
        """Do a deed; answer with what is on disk now, or with why nothing was written."""
        try:
            sheet = deed()
        except Unreachable:  # a deed that the journal does not know
            self.lost()
            return False
        except Changed as trouble:
            self.show(work.work_sheet(self.studio, self.sheet.row.id))
            self.answer(f"{trouble.title}. {trouble.what} {trouble.remedy}", bad=True)
            return False
        except PatinaError as trouble:
            self.app.bell()
            self.answer(f"NOT WRITTEN: {trouble.what} {trouble.remedy}", bad=True)
            return False
        self.show(sheet)
        last = sheet.events[-1]
        gone = next((e for e in sheet.events if e.id == last.cancels), None)
        told = words.event_line(last) + (f": {words.happened(gone)}" if gone is not None else "")
        if self.tally is not None and self.tally.offline:
            self.answer(f"In the journal  {told}. {words.AWAY}", bad=True)
        else:
            self.answer(f"On disk  {told}")
        return True

    # -- without the database --------------------------------------------------------------------------

    def lost(self) -> None:
        """The database does not answer: say so, and let the tally go on in the journal."""
        assert self.tally is not None
        self.tally.lost()
        self.show(self.tally.sheet)
        self.app.bell()
        self.answer(words.OFFLINE, bad=True)

    def reach(self) -> None:
        """Look, in a thread, whether the database is back; one look at a time."""
        if self._reaching or self.tally is None:
            return
        self._reaching = True
        self.work("Database", self.tally.reconnect, self._came_back, self._stays, quiet=True)

    def _came_back(self, told: ReplaySheet | None) -> None:
        self._reaching = False
        if told is None or self.tally is None:
            return
        self._leaving = False
        self.show(self.tally.sheet)
        self.answer(words.replayed(told), bad=bool(told.as_notes or told.others))

    def _stays(self, trouble: PatinaError) -> None:
        """The database answers and the journal does not go on record: it waits, and is told of."""
        self._reaching = False
        self.answer(f"The journal waits: {trouble.what} {trouble.remedy}", bad=True)

    def without_database(self, what: str) -> bool:
        """Say that something does not work now; False where the database can be reached."""
        if self.tally is None or not self.tally.offline:
            return False
        self.app.bell()
        self.answer(f"{what} needs the database. {words.OFFLINE}", bad=True)
        return True

    def asked_to_stay(self) -> bool:
        """Before the screen is left without the database, once: what waits, and what leaving means."""
        if self._leaving or self.tally is None or not self.tally.offline:
            return False
        self._leaving = True
        self.answer(words.leaving_offline(self.tally.waiting), bad=True)
        return True

    def offer_journal(self) -> None:
        """A journal of this work that waits from before is offered to be put on record."""
        from tui.dialogs.offline import offer_journal

        offer_journal(self)
