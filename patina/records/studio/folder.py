"""The database of a studio that lies in a folder: SQLite with its pragmas, and a copy of it while it may be in use."""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event

BUSY_MS = 10_000  # how long one program waits for another that writes


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


def copy_database(source: Path, target: Path) -> None:
    """A consistent copy of a SQLite database that may be in use, on disk before this returns."""
    with closing(sqlite3.connect(source)) as one, closing(sqlite3.connect(target)) as other:
        one.backup(other)
        other.execute("PRAGMA journal_mode=DELETE")
    with target.open("rb") as copied:
        os.fsync(copied.fileno())
