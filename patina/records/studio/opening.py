"""Opening a studio: made on first use, its database brought to the newest schema, its photographs found."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from sqlalchemy import exc, select, text

from patina.errors import StudioTrouble
from patina.records.migrations.schemas import HEAD, VERSIONS
from patina.records.photographs.files import PhotographFiles
from patina.records.studio.folder import sqlite_engine
from patina.records.studio.peek import DATABASE_FILE
from patina.records.studio.store import Store, troubles


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
    from patina.records.photographs.places import SETTING, photographs_of
    from patina.records.tables.first import SettingRow

    with store.view_of_all() as session:
        chosen = session.scalar(select(SettingRow.value).where(SettingRow.name == SETTING))
    return replace(store, files=photographs_of(store.folder, store.where, chosen or ""))


def _open_url(url: str) -> Store:
    from sqlalchemy.engine import make_url

    from patina.records.photographs.files import folder_for_url
    from patina.records.studio.server import server_engine

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
    from patina.records.studio.migrating import migrate

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
