"""Keeping the studio safe by keys: its last backup, a new one, the proof of everything, the reminder."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.errors import BadQuantity
from tui import format as show
from tui.dialogs.bringing import Bringing
from tui.dialogs.choose import Choose
from tui.dialogs.form import Field, Form
from tui.dialogs.message import Notes
from tui.dialogs.path import AskPath
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.sheets import CheckSheet
    from patina.sheets.upkeep import BackupDue
    from tui.screens.base import Base

ENDING = ".patina-backup"


def ask_safe(screen: Base) -> None:
    """Say how it stands with backups, and offer what can be done."""
    from patina.bench.backups import backup_due

    screen.work("Looking at the last backup", lambda: backup_due(screen.studio), lambda told: _offer(screen, told))


def _offer(screen: Base, told: BackupDue) -> None:
    options = (
        ("backup", "Make a backup: the whole studio in one file"),
        ("check", "Prove every record and every photograph"),
        ("place", "Where the photographs lie: take them to another folder or store"),
        ("reread", "Read every photograph again with today's reading"),
        ("remind", f"Remind me every {told.days} days: change it" if told.days else "Remind me every so many days"),
    )
    ways = {"backup": _ask_file, "check": _check, "place": _place, "reread": _reread, "remind": _remind}
    heading = "A backup is due" if told.due else "Keep the studio safe"
    screen.ask(Choose(heading, options, before=told.said), lambda way: ways[way](screen, told))


def _ask_file(screen: Base, told: BackupDue) -> None:
    folder = Path(told.file).parent if told.file else Path.cwd()
    value = str((folder if folder.is_dir() else Path.cwd()) / _free(folder, f"studio-{date.today():%Y-%m-%d}"))
    before = "Nothing is written over. A backup on another disk outlives this one."
    dialog = AskPath("Write the backup", (ENDING,), value=value, must_exist=False, before=before)
    screen.ask(dialog, lambda path: _backup(screen, path))


def _free(folder: Path, name: str) -> str:
    """A name that no file bears yet."""
    names = (f"{name}{f'-{n}' if n else ''}{ENDING}" for n in range(1000))
    return next(n for n in names if not (folder / n).exists())


def _backup(screen: Base, path: Path) -> None:
    from patina.bench.upkeep import backup

    def written(came: dict[str, Any]) -> None:
        screen.app.push_screen(Notes("The backup is made", backup_words(came)))

    screen.ask(Bringing("Writing the backup", lambda told: backup(screen.studio, path, told), keeps=True), written)


def backup_words(came: Mapping[str, Any]) -> Prose:
    """What was written, and what could not be."""
    prose = Prose().fact("file", came["file"]).fact("SHA-256", came["sha256"])
    if came["missing"]:
        prose.heading("Photographs that were gone or damaged").bullets(came["missing"])
        return prose.gap().text("It does not count as whole. Bring these files back, then make another.")
    prose.gap().text("It holds every record and every photograph.")
    return prose.text("In a new, empty studio it is put back with: patina restore FILE.")


def _check(screen: Base, _told: BackupDue) -> None:
    from patina.bench.upkeep import check

    def proved(found: CheckSheet) -> None:
        heading = "All is sound" if found.ok else "Something is not as it was"
        screen.app.push_screen(Notes(heading, check_words(found)))

    screen.ask(Bringing("Proving the studio", lambda told: check(screen.studio, told), keeps=False), proved)


def check_words(found: CheckSheet) -> Prose:
    """What the proof looked at, and what it found."""
    prose = Prose().fact("records", str(found.records)).fact("photographs", str(found.photographs))
    if found.problems:
        prose.heading(show.times(len(found.problems), "problem"))
        for problem in found.problems:
            prose.caution(problem, grave=True)
        prose.gap().text("Make a copy of the studio as it is, then restore the last good backup into a new one.")
    if found.notes:
        prose.heading("Odd, and harmless").bullets(found.notes)
    return prose


def _place(screen: Base, _told: BackupDue) -> None:
    from tui.dialogs.photo_place import ask_place

    ask_place(screen)


def _reread(screen: Base, _told: BackupDue) -> None:
    from tui.dialogs.rereading import ask_reread

    ask_reread(screen)


def _remind(screen: Base, told: BackupDue) -> None:
    from patina.bench.backups import change_backup_days

    def keep(values: Mapping[str, str]) -> int:
        typed = values["days"]
        if typed and not typed.isdecimal():
            raise BadQuantity(f"'{typed}' is no number of days.", "Give 1 to 3650 days.", field="days")
        try:
            change_backup_days(screen.studio, int(typed or 0))
        except BadQuantity as trouble:
            trouble.field = "days"
            raise
        return int(typed or 0)

    def kept(days: int) -> None:
        screen.said(f"A reminder comes {days} days after a backup." if days else "No reminder comes any more.")

    fields = [Field("days", "Days", "7; empty: never", str(told.days or ""))]
    screen.ask(Form("Remind me of a backup", fields, keep, before=told.said), kept)
