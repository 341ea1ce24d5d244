"""Keeping a studio safe: proving it, saving it into one file, putting it back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from patina.bench.studio import Studio, open_studio
from patina.errors import Refused
from patina.sheets import ChangeRow, CheckSheet
from patina.sheets.upkeep import SalvageSheet

Told = Callable[[int, int, str], None]


def quiet(_done: int, _of: int, _what: str) -> None:
    """The progress of somebody who does not look."""


def check(studio: Studio, told: Told = quiet) -> CheckSheet:
    """Prove every record, the log of changes and every photograph. told: parts done, of how many, which is next."""
    from patina.records.keeping.check import check_store

    return check_store(studio.store, told)


def backup(studio: Studio, file: Path, told: Told = quiet) -> dict[str, Any]:
    """Write the whole studio into one new file while it may be in use. told: parts done, of how many, which is next;
    what it raises stops the work, and no file is left.

    Returns {"file", "sha256", "missing"}: missing names photographs whose files are gone or damaged.
    Raises Refused where the file exists, StudioTrouble where it cannot be written.
    """
    from patina.records.keeping.backup import write_backup

    studio.require("read all")
    written = write_backup(studio.store, Path(file), told)
    if not written["missing"]:
        from patina.bench.backups import remember_backup

        remember_backup(studio, Path(file))
    return written


def salvage(folder: Path, into: Path) -> SalvageSheet:
    """Save what can be read of a damaged studio in a folder into a new one, with a list of what was lost.

    The damaged studio is only read. Raises Refused where there is nothing to read or the new folder is not
    empty, StudioTrouble where it cannot be written.
    """
    from patina.records.keeping.salvage import salvage_studio

    return salvage_studio(Path(folder), Path(into))


def restore(studio: Studio | str | Path, file: Path) -> CheckSheet:
    """Put a backup into an empty studio, proved before anything is in place.

    studio: an open one, or the folder of one to be made. Raises Refused where it holds records or
    the file is no backup, Damaged where the backup is not what it says, StudioTrouble.
    """
    from patina.records.keeping.restore import restore_into

    if Path(file).exists() and not Path(file).is_file():  # a device can be without end
        raise Refused(f"'{file}' is no file.", "Give the file of a backup.", field="file")
    if isinstance(studio, Studio):
        found = restore_into(studio.store, Path(file))
        studio.forget()
        return found
    with open_studio(studio) as opened:
        return restore_into(opened.store, Path(file))


def history(studio: Studio, record: str = "", *, limit: int = 200) -> tuple[ChangeRow, ...]:
    """The log of changes, newest first: of one record (R1, T1 …), or of the whole studio."""
    from patina.records.log.changes import changes

    with studio.store.view() as session:
        return changes(session, record.strip().upper(), limit)
