"""Bringing a database to the newest schema with Alembic; imported only when that is needed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection, insert, select, text

from patina.records.log.chain import FIRST
from patina.records.migrations.schemas import HEAD
from patina.records.studio.folder import BUSY_MS, copy_database
from patina.records.studio.peek import DATABASE_FILE
from patina.records.studio.server import WRITERS_LOCK
from patina.records.studio.store import Store
from patina.records.tables.base import new_uid
from patina.records.tables.first import SettingRow
from patina.records.tables.shelf import ChainHead

MIGRATION_MS = 60_000  # how long one program waits for another that migrates the same studio


def alembic_config() -> Config:
    """Where the migrations lie. Nothing is read from an ini file."""
    config = Config()
    config.set_main_option("script_location", str(files("patina.records").joinpath("migrations")).replace("%", "%%"))
    return config


def migrate(store: Store, version: str | None) -> None:
    """Migrate in one transaction: a studio is at the old schema or at the new one, never between.

    A database with records in it is first copied beside itself.
    """
    if version is not None and store.folder is not None:
        _copy_aside(store, version)
    with store.engine.connect().execution_options(writing=True) as connection, _patient(connection), connection.begin():
        if connection.dialect.name == "postgresql":  # two programs that open a new studio: one makes it, one waits
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITERS_LOCK})
        config = alembic_config()
        config.attributes["connection"] = connection
        command.upgrade(config, HEAD)
        _ensure_start(connection)


@contextmanager
def _patient(connection: Connection) -> Iterator[None]:
    """On SQLite wait for another program's migration, which takes longer than any deed."""
    if connection.dialect.name != "sqlite":
        yield
        return
    file = connection.connection.driver_connection
    assert file is not None
    file.execute(f"PRAGMA busy_timeout={MIGRATION_MS}")
    try:
        yield
    finally:
        file.execute(f"PRAGMA busy_timeout={BUSY_MS}")


def _ensure_start(connection: object) -> None:
    """The one row at the end of the log, and the studio's own id."""
    execute = connection.execute  # type: ignore[attr-defined]
    if execute(select(ChainHead.id)).first() is None:
        execute(insert(ChainHead).values(id=1, n=0, hash=FIRST))
    if execute(select(SettingRow.name).where(SettingRow.name == "studio uid")).first() is None:
        execute(insert(SettingRow).values(name="studio uid", value=new_uid()))


def _copy_aside(store: Store, version: str) -> None:
    assert store.folder is not None
    aside = store.folder / f"studio-before-{HEAD}-was-{version}.db"
    if not aside.exists():
        copy_database(store.folder / DATABASE_FILE, aside)
