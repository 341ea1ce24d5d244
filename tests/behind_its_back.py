"""The database of a studio read and altered without the program, whichever it is."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from patina.bench.studio import Studio

REFUSED: tuple[type[Exception], ...] = (sqlite3.IntegrityError,)
try:
    import psycopg
except ImportError:
    pass
else:
    REFUSED += (psycopg.errors.RaiseException, psycopg.errors.IntegrityError)


@contextmanager
def database(studio: Studio) -> Iterator[Any]:
    """A connection of the driver's own; what was altered is committed at the end."""
    if studio.store.folder is not None:
        with closing(sqlite3.connect(studio.store.folder / "studio.db")) as one, one:
            yield one
    else:
        url = studio.store.engine.url
        host = str(url.query["host"])
        with psycopg.connect(f"host={host} user={url.username} dbname={url.database}") as other:
            yield other


def alter(studio: Studio, *statements: str) -> None:
    """Change the database as somebody would who means it: protections off first."""
    with database(studio) as connection:
        if studio.store.folder is not None:
            for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                connection.execute(f"DROP TRIGGER {name}")
        else:
            connection.execute("SET session_replication_role = replica")
        for statement in statements:
            connection.execute(statement)


def rows(studio: Studio, table: str) -> list[tuple[Any, ...]]:
    """Every row of a table, in order of its first column."""
    with database(studio) as connection:
        return list(connection.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall())


def everything(studio: Studio) -> dict[str, list[tuple[Any, ...]]]:
    """All rows of all tables."""
    if studio.store.folder is not None:
        listing = "SELECT name FROM sqlite_master WHERE type = 'table'"
    else:
        listing = "SELECT tablename FROM pg_tables WHERE schemaname = 'public'"
    with database(studio) as connection:
        names = [name for (name,) in connection.execute(listing).fetchall()]
    return {name: rows(studio, name) for name in names}


def photographs_folder(studio: Studio) -> Path:
    """The folder that holds the studio's photographs."""
    return Path(studio.store.files.where)
