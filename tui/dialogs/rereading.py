"""Every photograph read again with today's reading: asked, done with a bar, stopped at any photograph."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.widgets import ProgressBar

from patina.errors import BadQuantity, PatinaError, Refused
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, Form
from tui.jobs import ready_for_processes
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import RereadSheet
    from tui.jobs import Ticket
    from tui.screens.base import Base


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be read again. since: photographs added on that day or later, None for all. cluster: address of a
    Dask scheduler, empty for this machine. fresh: also what an earlier run has read."""

    since: date | None = None
    cluster: str = ""
    fresh: bool = False


class Rereading(Dialog["RereadSheet"]):
    """Reads, and shows how far it is. The answer is what came out, also where it was stopped midway."""

    HEADING = "Reading every photograph again"
    YES = ""
    NO = "Stop (Esc)"

    def __init__(self, studio: Studio, asked: Asked, *, keep: bool = False, withdraw: bool = False) -> None:
        super().__init__()
        self._studio = studio
        self._asked = asked
        self._keep, self._withdraw = keep, withdraw
        self._ticket: Ticket[RereadSheet] | None = None
        self._done = (0, 0, "")
        self.stopping = False

    def body(self) -> ComposeResult:
        """A bar, and how far it is."""
        words = (
            "New readings are put beside the old ones."
            if self._keep
            else "Nothing is put on record; what was read is kept aside and not read twice."
        )
        yield Static(words, classes="field-hint", markup=False)
        yield ProgressBar(id="shoot-bar", show_eta=True)
        yield Static("Looking for what is to be read …", id="shoot-file", markup=False)

    def on_mount(self) -> None:
        """Begin."""
        self._ticket = self.patina.jobs.start(self.HEADING, self._read, self._came, self._failed, quiet=True)
        self.set_interval(0.1, self._look)

    def _read(self, ticket: Ticket[RereadSheet]) -> RereadSheet:
        from patina.bench.readings.rereading import reread

        def told(done: int, of: int, name: str) -> None:
            self._done = (done, of, name)
            ticket.say(f"{done} of {of}")

        ready_for_processes()
        return reread(
            self._studio,
            since=self._asked.since,
            cluster=self._asked.cluster,
            fresh=self._asked.fresh and not self._keep,
            keep=self._keep,
            withdraw=self._withdraw,
            progress=told,
            stop=lambda: self.stopping,
        )

    def _look(self) -> None:
        if self._ticket is not None and self._ticket.stopped:
            self.stopping = True
            self.dismiss(None)
            return
        done, of, name = self._done
        if of:
            self.query_one(ProgressBar).update(total=of, progress=done)
        if self.stopping:
            self.query_one("#shoot-file", Static).update("It stops after this photograph …")
        elif of:
            self.query_one("#shoot-file", Static).update(f"{done} of {of} read, the last: {name}")

    def _came(self, sheet: RereadSheet) -> None:
        self.dismiss(sheet)

    def _failed(self, trouble: PatinaError) -> None:
        self.dismiss(None)
        raise trouble

    def action_leave(self) -> None:
        """Stop after the photograph that is being read; what was read is shown."""
        self.stopping = True


def ask_reread(screen: Base) -> None:
    """Ask what is to be read again, read it, and show what would change."""

    def wanted(values: Mapping[str, str]) -> Asked:
        since = None
        if values["since"]:
            try:
                since = date.fromisoformat(values["since"])
            except ValueError:
                raise BadQuantity(f"'{values['since']}' is no day.", "Write it as 2026-03-31.", field="since") from None
        fresh = values["fresh"].casefold() or "no"
        if fresh not in ("yes", "no"):
            raise Refused(f"'{values['fresh']}' is neither yes nor no.", "Write yes or no.", field="fresh")
        return Asked(since, values["cluster"], fresh == "yes")

    fields = [
        Field("since", "Added since", "2026-03-31; empty: all"),
        Field("cluster", "Dask cluster", "tcp://host:8786; empty: the cores of this machine"),
        Field("fresh", "Forget the last run", "yes or no", "no", ("yes", "no")),
    ]
    before = "Every photograph is read again with today's reading. You see what would change before it is kept."
    screen.ask(Form("Read photographs again", fields, wanted, before=before), lambda asked: _read(screen, asked))


def _read(screen: Base, asked: Asked) -> None:
    from tui.screens.reread import Reread

    def shown(sheet: RereadSheet) -> None:
        screen.app.push_screen(Reread(asked, sheet), read_anew)

    def read_anew(kept: Any) -> None:
        if kept:
            screen.action_read_again()  # type: ignore[attr-defined]

    screen.ask(Rereading(screen.studio, asked), shown)
