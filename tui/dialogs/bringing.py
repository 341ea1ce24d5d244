"""Work on a file or folder that is brought in, with a bar and a way to stop; and what is asked before it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.widgets import ProgressBar

from patina.errors import BadQuantity, PatinaError, Refused
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, Form
from tui.jobs import Ticket
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.sheets.bringing import BringQuestion

Told = Callable[[int, int, str], None]


class Bringing(Dialog[Any]):
    """Does something row by row or file by file. The answer is what came of it, None where it was stopped."""

    YES = ""
    NO = "Stop (Esc)"

    def __init__(
        self,
        heading: str,
        work: Callable[[Told], Any],
        *,
        keeps: bool,
        stopped: str = "Stopped. Nothing of it was kept.",
    ) -> None:
        super().__init__()
        self._stopped = stopped
        self._heading = heading
        self._work = work
        self._keeps = keeps
        self._ticket: Ticket[Any] | None = None
        self._done = (0, 0, "")
        self._turn = Lock()
        self._ended = False

    def heading(self) -> str:
        """What is being done."""
        return self._heading

    @property
    def late(self) -> bool:
        """Everything is done and is being kept: too late to stop."""
        return self._keeps and 0 < self._done[1] == self._done[0]

    def body(self) -> ComposeResult:
        """A bar, and how far it is."""
        yield ProgressBar(id="shoot-bar", show_eta=True)
        yield Static("Reading …", id="shoot-file", markup=False)

    def on_mount(self) -> None:
        """Begin."""
        self._ticket = self.patina.jobs.start(self._heading, self._go, self._end, self._failed, quiet=True)
        self.set_interval(0.1, self._look)

    def _go(self, ticket: Ticket[Any]) -> Any:
        def told(done: int, of: int, name: str) -> None:
            with self._turn:
                if ticket.stopped:
                    raise Refused("It was stopped.", "Nothing of it was kept.")
                self._done = (done, of, name)

        return self._work(told)

    def _look(self) -> None:
        if self._ticket is not None and self._ticket.stopped:
            self._end(None)
            return
        done, of, name = self._done
        if of:
            self.query_one(ProgressBar).update(total=of, progress=done)
            self.query_one("#shoot-file", Static).update(f"{done} of {of} {name}"[:100])

    def _failed(self, trouble: PatinaError) -> None:
        self._end(None)
        raise trouble

    def _end(self, came: Any) -> None:
        if not self._ended:
            self._ended = True
            self.dismiss(came)

    def action_leave(self) -> None:
        """Stop; what was done so far is taken back."""
        with self._turn:
            late = self.late
            if self._ticket is not None and not late:
                self.patina.jobs.stop(self._ticket)
        if late:
            self.notify("All is read and is being kept; that cannot be stopped any more.", timeout=4)
            return
        self.notify(self._stopped, timeout=4)
        self._end(None)


def typed_answer(question: BringQuestion) -> Form:
    """Asks for an answer in words; what it would be by choice is offered."""

    def submit(values: Mapping[str, str]) -> str:
        if not values["answer"]:
            raise BadQuantity("Nothing is answered.", "Type it, or leave.", field="answer")
        return values["answer"]

    offered = tuple(a for a, _ in question.options)
    before = question.asks + (f"  In: {', '.join(question.cells)}" if question.cells else "")
    field = Field("answer", "Answer", offered[0] if offered else "", question.answer, offered)
    return Form(question.heading or "Every row", [field], submit, before=before)


def mapping_name(name: str) -> Form:
    """Asks under which name a mapping is kept."""

    def submit(values: Mapping[str, str]) -> str:
        if not 0 < len(values["name"]) <= 60:
            raise BadQuantity("The name has at most 60 letters, and at least one.", "Correct it.", field="name")
        return values["name"]

    return Form("Keep the mapping", [Field("name", "Name", "old cards", name)], submit)


def row_of_headings(row: int) -> Form:
    """Asks for the number of the row that names the columns."""

    def submit(values: Mapping[str, str]) -> int:
        text = values["row"]
        if not (text.isascii() and text.isdigit() and 0 < int(text) < 1_048_577):
            raise BadQuantity(f"'{text}' is no number of a row.", "Count the rows of the sheet from 1.", field="row")
        return int(text)

    return Form("Which row holds the headings?", [Field("row", "Row", "1", str(row))], submit)


def ask_pictures(check: Callable[[str], object]) -> Form:
    """Asks for a folder of old photographs, and how their names say where they belong. check: of the pattern."""

    def submit(values: Mapping[str, str]) -> tuple[Path, str, bool]:
        folder = Path(values["folder"]).expanduser()
        if not values["folder"] or not folder.is_dir():
            raise BadQuantity(f"There is no folder {values['folder']}.", "Check the path.", field="folder")
        check(values["pattern"])
        return folder, values["pattern"], values["search"] != "no"

    return Form(
        "Bring in old photographs",
        [
            Field("folder", "Folder", "a folder, with the folders in it", f"{Path.cwd()}/"),
            Field("pattern", "File names", "{mark}_{state}   or {piece}-{number} *   or {id} *"),
            Field("search", "Look for charts", "yes", "yes", ("yes", "no")),
        ],
        submit,
        before="A placard in the picture says where it belongs; else its file name does. {id}, {mark}, {piece}, "
        "{number}, {state}, {date} and * stand for parts of it.",
    )
