"""Taking in a shoot: which folder, how far it is, what was filed and what was not; and its placards."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.widgets import DirectoryTree, Input, ProgressBar

from patina.bench.readings.shoot import file_shoot, placard
from patina.errors import PatinaError, Refused
from patina.sheets.named import named
from tui import format as show
from tui.dialogs.base import Dialog
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.dialogs.path import PHOTOGRAPHS, AskPath
from tui.jobs import Ticket, ready_for_processes
from tui.widgets.prose import Prose
from tui.widgets.words import Static

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets import FiledPhotograph, ShootSheet
    from tui.screens.base import Base

PAPERS = ("a4", "letter", "a3")
_GROUPS = (
    ("no-placard", "No placard was seen", False),
    ("trouble", "Could not be filed", True),
    ("twice", "There twice", False),
    ("known", "Filed before", False),
)


class AskFolder(AskPath):
    """The answer is a folder."""

    @on(DirectoryTree.DirectorySelected)
    def _folder_found(self, event: DirectoryTree.DirectorySelected) -> None:
        event.stop()
        self.query_one(Input).value = f"{event.path}/"

    @on(DirectoryTree.FileSelected)
    def _file_in_it(self, event: DirectoryTree.FileSelected) -> None:
        event.stop()
        event.prevent_default()  # a file stands for the folder it lies in
        self.query_one(Input).value = f"{event.path.parent}/"

    def _trouble(self, text: str) -> str:
        if not text:
            return "No folder is named. Type its path, or choose it below."
        if not Path(text).expanduser().is_dir():
            return f"There is no folder {text}. Check the path, or choose the folder below."
        return ""


class TakingIn(Dialog["ShootSheet"]):
    """Files a folder, and shows how far it is. The answer is what came of it."""

    HEADING = "Taking in the shoot"
    YES = ""
    NO = "Stop (Esc)"

    def __init__(self, studio: Studio, folder: Path) -> None:
        super().__init__()
        self._studio = studio
        self._folder = folder
        self._ticket: Ticket[ShootSheet] | None = None
        self._done = (0, 0, "")
        self._turn = Lock()
        self._ended = False

    @property
    def filing(self) -> bool:
        """All is read, and is being filed: too late to stop."""
        return 0 < self._done[1] == self._done[0]

    def body(self) -> ComposeResult:
        """A bar, and the file that was read last."""
        yield Static(f"Each photograph is read by its placard. From {self._folder}", classes="field-hint", markup=False)
        yield ProgressBar(id="shoot-bar", show_eta=True)
        yield Static("Looking through the folder …", id="shoot-file", markup=False)

    def on_mount(self) -> None:
        """Begin."""
        self._ticket = self.patina.jobs.start("Taking in the shoot", self._file, self._filed, self._failed, quiet=True)
        self.set_interval(0.1, self._look)

    def _file(self, ticket: Ticket[ShootSheet]) -> ShootSheet:
        def told(done: int, of: int, name: str) -> None:
            with self._turn:
                if ticket.stopped:  # nothing is filed before all is read
                    raise Refused("The shoot was stopped.", "Take the folder in again; nothing is filed twice.")
                self._done = (done, of, name)
            ticket.say(f"{done} of {of}")

        ready_for_processes()
        return file_shoot(self._studio, self._folder, progress=told)

    def _look(self) -> None:
        if self._ticket is not None and self._ticket.stopped:
            self._end(None)
            return
        done, of, name = self._done
        if self.filing and self._ticket in self.patina.jobs.running:
            self.patina.jobs.running.remove(self._ticket)  # Ctrl+T comes too late as well
        if of:
            self.query_one(ProgressBar).update(total=of, progress=done)
            words = "All are read; they are being filed." if self.filing else f"{done} of {of} read, the last: {name}"
            self.query_one("#shoot-file", Static).update(words)

    def _filed(self, sheet: ShootSheet) -> None:
        self._end(sheet)

    def _failed(self, trouble: PatinaError) -> None:
        self._end(None)
        raise trouble

    def _end(self, sheet: ShootSheet | None) -> None:
        """Once; the clock that looks may come a last time."""
        if not self._ended:
            self._ended = True
            self.dismiss(sheet)

    def action_leave(self) -> None:
        """Stop; what was read is dropped."""
        with self._turn:
            late = self.filing
            if self._ticket is not None and not late:
                self.patina.jobs.stop(self._ticket)
        if late:
            self.notify("All is read and is being filed; that cannot be stopped any more.", timeout=4)
            return
        self.notify("Stopped. Nothing of this shoot was filed.", timeout=4)
        self._end(None)


def ask_shoot(screen: Base, chosen: str | None) -> None:
    """Ask for a folder, file it and tell what came of it. chosen: record to stay on."""
    before = "Photographs that show a placard are filed to its tile or cast and read. Nothing is filed twice."
    screen.ask(
        AskFolder("Take in a shoot", PHOTOGRAPHS, before=before), lambda folder: _take_in(screen, folder, chosen)
    )


def _take_in(screen: Base, folder: Path, chosen: str | None) -> None:
    def told(sheet: ShootSheet) -> None:
        screen.load(keep=chosen)  # type: ignore[attr-defined]
        screen.app.push_screen(Notes("What came of the shoot", shoot_words(sheet)))

    screen.ask(TakingIn(screen.studio, folder), told)


def shoot_words(sheet: ShootSheet) -> Prose:
    """What was filed, with its colours; what was not, and why."""
    prose = Prose()
    if not sheet.filed and not sheet.unfiled:
        return prose.text("There is no photograph in that folder.")
    prose.text(f"{show.times(len(sheet.filed), 'photograph')} filed, {len(sheet.unfiled)} not.", "bold").gap()
    for one in sheet.filed:
        _filed(prose, one)
    for code, heading, grave in _GROUPS:
        of_it = [u for u in sheet.unfiled if u.code == code]
        if not of_it:
            continue
        prose.heading(f"{heading}: {len(of_it)}")
        for unfiled in of_it:
            if code == "known":
                prose.bullets([unfiled.file])
            else:
                prose.caution(f"{unfiled.file}: {unfiled.what}", unfiled.remedy, grave=grave)
    return prose


def _filed(prose: Prose, one: FiledPhotograph) -> None:
    if not one.readings:
        prose.text(f"✓ {one.file} to {named(one.target, one.name)}, without a reading")
    for reading in one.readings:
        doubt = f"ΔE00 {show.give_or_take(reading.uncertainty_de00)}"
        prose.colour(reading.lab, doubt, f"{one.file} to {named(one.target, one.name)}")
    for warning in one.warnings:
        prose.caution(warning.text, warning.do)
    prose.gap()


def ask_placard(screen: Base, id: str) -> None:
    """Ask where to and on what paper, then print the placard of a record."""
    folder = Path(screen.studio.where) if Path(screen.studio.where).is_dir() else Path.cwd()
    fields = [
        Field("file", "File", "ends in .pdf or .png", str(folder / f"placard-{id.lower()}.pdf")),
        Field("paper", "Paper", "a4, letter or a3", "a4", PAPERS),
    ]
    before = "Print it at full size. Lay chart and tile into its windows, and photograph the whole sheet."

    def check(values: Mapping[str, str]) -> tuple[Path, str]:
        if values["paper"] not in PAPERS:
            raise Refused(
                f"'{values['paper']}' is no paper known here.", f"Use one of: {', '.join(PAPERS)}.", field="paper"
            )
        path = Path(values["file"]).expanduser()
        if not values["file"] or not path.parent.is_dir():
            raise Refused(f"There is no folder {path.parent}.", "Name a file in a folder that is there.", field="file")
        if path.suffix.lower() not in (".pdf", ".png"):
            raise Refused("A placard is a PDF or a PNG file.", "Let the name end in .pdf or .png.", field="file")
        return path, values["paper"]

    def write(asked: tuple[Path, str]) -> None:
        screen.work(
            "Setting the placard",
            lambda: placard(screen.studio, id, asked[0], paper=asked[1]),
            lambda path: screen.said(f"Written: {path}"),
        )

    screen.ask(Form(f"The placard of {id}", fields, check, before=before), write)
