"""Opening a studio's database: its pragmas, its migrations, and its troubles in plain words."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event, exc, select, text
from sqlalchemy.orm import Session

from patina.errors import Changed, Refused, StudioTrouble
from patina.records.access import Identity
from patina.records.migrations import HEAD, VERSIONS
from patina.records.peek import DATABASE_FILE as DATABASE_FILE
from patina.records.photographs import PhotographFiles, Photographs

BUSY_MS = 10_000


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
            from patina.records.access import watch
            from patina.records.withdrawn import leave_out_withdrawn

            leave_out_withdrawn(session)
            watch(session, self)
            yield session

    @contextmanager
    def view_of_all(self) -> Iterator[Session]:
        """The same with everything that is on record: for the check, copies and archives."""
        with troubles(self.where), Session(self.engine, autoflush=False) as session:
            yield session

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()


def is_url(where: str | Path) -> bool:
    """Whether the words name a database rather than a folder."""
    return "://" in str(where)


def shown_url(where: str) -> str:
    """A studio's folder, or its URL without the password. Raises StudioTrouble for a URL that is none."""
    if not is_url(where):
        return where
    from sqlalchemy.engine import make_url

    try:
        return make_url(where).render_as_string(hide_password=True)
    except exc.ArgumentError:
        raise StudioTrouble(
            "The database URL cannot be used.", "Write for example postgresql+psycopg://user@host/studio."
        ) from None


def open_studio_store(where: str | Path, *, photographs_here: bool = False) -> Store:
    """Open the studio in a folder or at a database URL; made on first use, brought to the newest schema.

    photographs_here: look for them in the studio's folder, whatever the studio says. Raises
    StudioTrouble for a folder that cannot be made or written, a file that is no database, a studio of
    a newer program, a database that somebody else holds, a full disk.
    """
    if is_url(where):
        return _open_url(str(where))
    folder = Path(where).expanduser()
    with _folder_troubles(folder):
        folder.mkdir(parents=True, exist_ok=True)
        if not folder.is_dir():
            raise NotADirectoryError(str(folder))
        files = PhotographFiles(folder / "photographs")
    engine = sqlite_engine(folder / DATABASE_FILE)
    store = Store(str(folder), folder, engine, files)
    with troubles(store.where):
        bring_to_head(store)
    return store if photographs_here else _with_photographs(store)


def _with_photographs(store: Store) -> Store:
    """The same store with its photographs at the place that counts."""
    from patina.records.photo_places import SETTING, photographs_of
    from patina.records.tables import SettingRow

    with store.view_of_all() as session:
        chosen = session.scalar(select(SettingRow.value).where(SettingRow.name == SETTING))
    return replace(store, files=photographs_of(store.folder, store.where, chosen or ""))


def _open_url(url: str) -> Store:
    from sqlalchemy.engine import make_url

    from patina.records.photographs import folder_for_url
    from patina.records.server import server_engine

    try:
        made = make_url(url)
        if made.get_backend_name() == "sqlite":
            raise StudioTrouble("A SQLite studio is a folder, not a URL.", "Give the folder that holds studio.db.")
        engine = server_engine(made)
    except (exc.ArgumentError, exc.NoSuchModuleError, ImportError) as trouble:
        raise StudioTrouble(
            f"The database URL cannot be used: {type(trouble).__name__}.",
            "Write for example postgresql+psycopg://user@host/studio, and install its driver.",
        ) from None
    shown = made.render_as_string(hide_password=True)
    store = Store(shown, None, engine, PhotographFiles(folder_for_url(shown)))
    with troubles(shown):
        bring_to_head(store)
    return _with_photographs(store)


def sqlite_engine(path: Path) -> Engine:
    """An engine on a SQLite file with foreign keys, WAL, full synchronisation and real transactions."""
    engine = create_engine(f"sqlite+pysqlite:///{path}", connect_args={"timeout": BUSY_MS / 1000})

    @event.listens_for(engine, "connect")
    def _connected(connection: Any, _record: Any) -> None:
        connection.isolation_level = None  # the driver must not open or end transactions by itself
        cursor = connection.cursor()
        cursor.execute(f"PRAGMA busy_timeout={BUSY_MS}")
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.execute("PRAGMA synchronous=FULL")
        _wal(cursor)
        cursor.close()

    @event.listens_for(engine, "begin")
    def _begun(connection: Any) -> None:
        writing = connection.get_execution_options().get("writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


def _wal(cursor: Any) -> None:
    """Write-ahead log on. It is kept in the file, so only the first opening changes anything."""
    if cursor.execute("PRAGMA journal_mode").fetchone()[0] == "wal":
        return
    for attempt in range(200):
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError as trouble:
            # two programs making the same studio: SQLite does not wait here by itself
            if trouble.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or attempt == 199:
                raise
            time.sleep(0.05)


def schema_version(store: Store) -> str | None:
    """The schema version written in the database, None where there is none yet."""
    with store.engine.connect() as connection:
        return _version_in(connection)


def _version_in(connection: Any) -> str | None:
    if connection.dialect.name == "sqlite":
        found = connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'table'")).scalars().all()
    elif connection.dialect.name == "postgresql":  # also where another schema stands first on a login's path
        query = text("SELECT tablename FROM pg_tables WHERE schemaname = ANY (current_schemas(false))")
        found = connection.execute(query).scalars().all()
    else:
        from sqlalchemy import inspect

        found = inspect(connection).get_table_names()
    if "alembic_version" not in found:
        if found:
            raise StudioTrouble(
                "The database there holds tables of something else.",
                "Give an empty folder, or the folder of a studio.",
            )
        return None
    versions = connection.execute(text("SELECT version_num FROM alembic_version")).scalars().all()
    if len(versions) > 1:
        raise StudioTrouble(
            f"The database says that it has {len(versions)} schemas at once.", "Restore the last good backup."
        )
    return str(versions[0]) if versions else None


def bring_to_head(store: Store) -> None:
    """Make the tables of a new studio, or bring an older one to the newest schema. Raises StudioTrouble."""
    version = schema_version(store)
    if version == HEAD:
        return
    if version is not None and version not in VERSIONS:
        raise StudioTrouble(
            f"The studio was written by a newer program (schema {version}; this one knows up to {HEAD}).",
            "Install the newer program; nothing was changed.",
        )
    from patina.records.migrating import migrate

    migrate(store, version)


@contextmanager
def _folder_troubles(folder: Path) -> Iterator[None]:
    try:
        yield
    except (FileExistsError, NotADirectoryError):
        raise StudioTrouble(f"'{folder}' is a file, not a folder.", "Name a folder for the studio.") from None
    except OSError as trouble:
        reason = trouble.strerror or "the system refuses"
        raise StudioTrouble(
            f"The studio folder '{folder}' cannot be made or used: {reason}.",
            "Check that you may write there and that the disk is not full.",
        ) from None


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
            from patina.records.server import server_trouble

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
