"""Saving what can be read of a damaged studio into a new one, with a list of what was saved and what was lost.

The damaged database is copied first and only the copy is read: table by table, in ranges of row numbers that
are halved until only the rows on broken pages are left out. A row is taken where its columns can be read and
what it points at is there; the log of changes is begun anew, since it cannot be whole, and says so.
"""

from __future__ import annotations

import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from patina.errors import Refused, StudioTrouble
from patina.records.keeping.check import check_store
from patina.records.keeping.salvage_log import begin_log_anew
from patina.records.photographs.files import sha256_of
from patina.records.studio.opening import open_studio_store
from patina.records.studio.peek import DATABASE_FILE
from patina.records.studio.store import Store
from patina.sheets.upkeep import SalvageSheet

LIST_FILE = "salvaged.txt"
HIGHEST = 1 << 40
STEP = 4096
BROKEN = (sqlite3.DatabaseError, OverflowError, UnicodeDecodeError)
# tables that every studio has had since the first schema
FIRST_TABLES = {"recipe", "revision", "tile", "reading", "photograph", "lot", "batch", "cast_piece"}
LEFT_OUT = {"change", "chain_head", "word", "gram", "alembic_version"}


def salvage_studio(folder: Path, into: Path) -> SalvageSheet:
    """Save what can be read. Raises Refused, StudioTrouble; never fails on the damage itself."""
    if not (folder / DATABASE_FILE).is_file():
        raise Refused(f"There is no {DATABASE_FILE} in '{folder}'.", "Name the folder of the damaged studio.")
    if into.exists() and any(into.iterdir()):
        raise Refused(f"'{into}' is not empty.", "Name a new folder for what can be saved.")
    lost: list[str] = []
    try:
        new = open_studio_store(into)
        try:
            with tempfile.TemporaryDirectory(prefix=".salvage-", dir=into) as aside:
                saved = _database(folder, Path(aside), new, lost)
            photographs = _photographs(folder, new, lost)
            sound = _prove(new, lost)
        finally:
            new.close()
        return _listed(into, saved, photographs, lost, sound)
    except OSError as trouble:
        raise StudioTrouble(
            f"What was saved could not be written: {trouble.strerror or trouble}.",
            "Make room, and name another new folder.",
        ) from None


# -- the database ----------------------------------------------------------------------------------


def _database(folder: Path, aside: Path, new: Store, lost: list[str]) -> dict[str, int]:
    copy = aside / DATABASE_FILE
    for name in (DATABASE_FILE, f"{DATABASE_FILE}-wal"):
        if (folder / name).is_file():
            shutil.copyfile(folder / name, aside / name)
    assert new.folder is not None
    new.engine.dispose()
    saved: dict[str, int] = {}
    with (
        closing(sqlite3.connect(copy, isolation_level=None)) as old,
        closing(sqlite3.connect(new.folder / DATABASE_FILE, isolation_level=None)) as made,
    ):
        old.text_factory = lambda raw: raw.decode("utf-8", errors="replace")
        triggers = made.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        made.execute("PRAGMA foreign_keys=OFF")
        made.execute("BEGIN IMMEDIATE")
        for name, _ in triggers:
            made.execute(f"DROP TRIGGER {name}")
        for table in _tables(made):
            saved[table] = _table(old, made, table, lost)
        _drop_orphans(made, lost, saved)
        for _, sql in triggers:
            made.execute(sql)
        made.execute("COMMIT")
    return {table: count for table, count in saved.items() if count}


def _tables(made: sqlite3.Connection) -> list[str]:
    rows = made.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    return [name for (name,) in rows if name not in LEFT_OUT]


def _table(old: sqlite3.Connection, made: sqlite3.Connection, table: str, lost: list[str]) -> int:
    """Take the rows of one table over; how many could be read and kept."""
    wanted = [(row[1], row[3]) for row in made.execute(f'PRAGMA table_info("{table}")')]
    try:
        there = {row[1] for row in old.execute(f'PRAGMA table_info("{table}")')}
    except BROKEN as trouble:
        lost.append(f"The table {table} could not be found: {trouble}.")
        return 0
    columns = [name for name, _ in wanted if name in there]
    if not columns:
        if there or table in FIRST_TABLES:
            lost.append(f"The table {table} is not in the damaged database.")
        return 0
    named = ", ".join(f'"{name}"' for name in columns)
    insert = f'INSERT OR REPLACE INTO "{table}" ({named}) VALUES ({", ".join("?" * len(columns))})'
    count = 0
    for row in _rows(old, table, named, lost):
        try:
            made.execute(insert, row)
            count += 1
        except (*BROKEN, sqlite3.InterfaceError) as trouble:
            lost.append(f"A row of {table} ({row[0]!s:.40}) says what cannot be: {trouble}.")
    return count


def _rows(old: sqlite3.Connection, table: str, named: str, lost: list[str]) -> Iterator[Any]:
    """Every row that can be read, from ranges of row numbers that are halved around what is broken."""
    try:
        top = old.execute(f'SELECT max(rowid) FROM "{table}"').fetchone()[0] or 0
    except BROKEN:
        top = _last_seen(old, table)
    if not isinstance(top, int) or not 0 <= top < HIGHEST:
        top = HIGHEST
    first = 1
    while first <= top:
        last = min(first + STEP - 1, top) if top < HIGHEST else first + STEP - 1
        got: list[Any] = []
        _range(old, table, named, first, last, got, lost)
        yield from got
        if top == HIGHEST and not got and first > STEP:
            return
        first = last + 1


def _last_seen(old: sqlite3.Connection, table: str) -> int:
    """The highest row number that the table's pages show before they break."""
    top = 0
    for order in ("ASC", "DESC"):
        try:
            for (id,) in old.execute(f'SELECT rowid FROM "{table}" ORDER BY rowid {order}'):
                top = max(top, id)
        except BROKEN:
            continue
    return top + STEP


def _range(
    old: sqlite3.Connection, table: str, named: str, first: int, last: int, got: list[Any], lost: list[str]
) -> None:
    query = f'SELECT {named} FROM "{table}" NOT INDEXED WHERE rowid BETWEEN ? AND ? ORDER BY rowid'
    try:
        got += old.execute(query, (first, last)).fetchall()
    except BROKEN as trouble:
        if first == last:
            lost.append(f"Row {first} of {table} could not be read: {trouble}.")
            return
        middle = (first + last) // 2
        _range(old, table, named, first, middle, got, lost)
        _range(old, table, named, middle + 1, last, got, lost)


def _drop_orphans(made: sqlite3.Connection, lost: list[str], saved: dict[str, int]) -> None:
    """Leave out rows that point at a row that was lost, until none does."""
    for _ in range(20):
        broken = made.execute("PRAGMA foreign_key_check").fetchall()
        if not broken:
            return
        for table, rowid, parent, _key in {(b[0], b[1], b[2], 0) for b in broken}:
            lost.append(f"Row {rowid} of {table} was readable and left out: what it belongs to, in {parent}, is lost.")
            made.execute(f'DELETE FROM "{table}" WHERE rowid = ?', (rowid,))
            saved[table] = max(saved.get(table, 1) - 1, 0)


# -- what follows ----------------------------------------------------------------------------------


def _photographs(folder: Path, new: Store, lost: list[str]) -> int:
    """Take every photograph over whose bytes are what its name says."""

    count = 0
    for path in sorted((folder / "photographs").glob("*/*")) if (folder / "photographs").is_dir() else ():
        try:
            if path.is_symlink() or not path.is_file():
                continue
            if sha256_of(path) != path.name:
                lost.append(f"Photograph {path.name} is damaged: its bytes are not what its hash says.")
                continue
            new.files.keep(path)
            count += 1
        except OSError as trouble:
            lost.append(f"Photograph {path.name} could not be read: {trouble.strerror}.")
    return count


def _prove(new: Store, lost: list[str]) -> bool:
    """Begin the log and the index of words anew over what was saved, and prove it."""

    begin_log_anew(new, lost)
    checked = check_store(new)
    lost += [f"The check says: {problem}" for problem in checked.problems]
    return checked.ok


def _listed(into: Path, saved: dict[str, int], photographs: int, lost: list[str], sound: bool) -> SalvageSheet:
    unique = tuple(dict.fromkeys(lost))
    file = into / LIST_FILE
    lines = ["Saved:", *(f"  {table.replace('_', ' ')}: {n}" for table, n in sorted(saved.items()))]
    lines += [f"  photographs: {photographs}", "", "Lost, or not as it was:"]
    lines += [f"  {line}" for line in unique] or ["  nothing that was noticed"]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return SalvageSheet(str(into), saved, photographs, unique, sound, str(file))
