"""An open studio: its sessions, and its database's troubles in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Engine, exc
from sqlalchemy.orm import Session

from patina.errors import Changed, Refused, StudioTrouble
from patina.records.access.roles import Identity
from patina.records.photographs.files import Photographs


@dataclass(frozen=True)
class Store:
    """An open studio: its database and its photographs. where: the folder or the URL. identity: who is said to be
    at work."""

    where: str
    folder: Path | None
    engine: Engine
    files: Photographs
    identity: Identity = field(default_factory=Identity)

    @contextmanager
    def view(self) -> Iterator[Session]:
        """A session that only reads, on one consistent state of the records; withdrawn readings are left out, and
        what whoever is at work may not see."""
        with self.view_of_all() as session:
            from patina.records.access.door import watch
            from patina.records.log.withdrawn import leave_out_withdrawn

            leave_out_withdrawn(session)
            watch(session, self.identity)
            yield session

    @contextmanager
    def view_of_all(self) -> Iterator[Session]:
        """The same with everything that is on record: for the check, copies and archives."""
        with troubles(self.where), Session(self.engine, autoflush=False) as session:
            yield session

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


@contextmanager
def troubles(where: str) -> Iterator[None]:
    """Turn what a database says into a trouble that a person can act on."""
    from sqlalchemy.orm.exc import StaleDataError

    try:
        yield
    except StaleDataError:
        raise Changed(
            "Somebody else saved this record in the meantime.", "Look at it again and repeat the change."
        ) from None
    except exc.IntegrityError as trouble:
        raise Refused(
            f"The records would no longer agree with each other ({_said(trouble.orig or trouble)}).",
            "Nothing was saved; look at the record again.",
        ) from trouble
    except exc.DBAPIError as trouble:
        if not isinstance(trouble.orig, sqlite3.Error):
            from patina.records.studio.server import server_trouble

            known = server_trouble(trouble, where)
            if known is not None:
                raise known from trouble
        what, remedy = _in_words(trouble.orig or trouble, where)
        raise StudioTrouble(what, remedy) from trouble
    except (UnicodeEncodeError, OverflowError) as trouble:  # half a character from a terminal; a number without end
        raise Refused(
            f"There is a sign or a number that cannot be kept or looked for ({type(trouble).__name__}).",
            "Type it again; nothing was saved.",
        ) from None
    except sqlite3.Error as trouble:  # what happens while connecting comes unwrapped
        what, remedy = _in_words(trouble, where)
        raise StudioTrouble(what, remedy) from trouble


def _said(trouble: BaseException) -> str:
    return str(trouble).splitlines()[0] if str(trouble) else type(trouble).__name__


_SQLITE_WORDS = {
    "SQLITE_READONLY": ("can only be read", "Make the folder and studio.db writable, or work on a copy."),
    "SQLITE_FULL": ("could not be written: the disk is full", "Make room and do it again; nothing was half-saved."),
    "SQLITE_BUSY": ("is held by another program", "Wait until the other has finished and do it again."),
    "SQLITE_LOCKED": ("is held by another program", "Wait until the other has finished and do it again."),
    "SQLITE_NOTADB": ("holds a studio.db that is no database", "Move that file away, or restore a backup."),
    "SQLITE_CORRUPT": ("has a damaged database", "Copy the folder as it is, then restore the last good backup."),
    "SQLITE_CANTOPEN": ("has a database that cannot be opened", "Check that you may read and write in the folder."),
    "SQLITE_PERM": ("may not be opened by you", "Check that you may read and write in the folder."),
    "SQLITE_IOERR": (
        "could not be read or written by the system",
        "Check the disk and its connection, then try again.",
    ),
}


def _in_words(trouble: BaseException, where: str) -> tuple[str, str]:
    name = getattr(trouble, "sqlite_errorname", None) or ""
    for start, (what, remedy) in _SQLITE_WORDS.items():
        if name.startswith(start):
            return f"The studio in '{where}' {what}.", remedy
    return (
        f"The database of '{where}' does not answer or refused: {_said(trouble)}.",
        "Nothing was saved. Check that it can be reached, then run patina check.",
    )
