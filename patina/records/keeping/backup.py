"""One file that holds the whole studio, with the hash of everything in it.

A backup is a ZIP file: ``manifest.json``, ``studio.db`` (a consistent copy made while the studio
may be in use) and ``photographs/ab/abcdef…``. The same studio gives the same bytes.
"""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing
from pathlib import Path
from typing import Any

from patina.errors import Refused
from patina.records.keeping.packing import Told, pack, quiet, writing
from patina.records.photographs.files import sha256_of
from patina.records.studio.folder import copy_database
from patina.records.studio.peek import DATABASE_FILE
from patina.records.studio.store import Store


def write_backup(store: Store, file: Path, told: Told = quiet) -> dict[str, Any]:
    """Write the studio into one new file; returns its path, its SHA-256 and what could not be saved.

    told: how many parts are done of how many, and which is next; what it raises stops the work and leaves no file.

    Raises Refused where the file exists, StudioTrouble where it cannot be written. A photograph that is
    missing or damaged is left out and named under "missing".
    """
    if file.exists():
        raise Refused(f"'{file}' is there already.", "Give the backup a name of its own; nothing is written over.")
    if store.folder is None:
        from patina.records.keeping.pg_backup import write_dump

        return write_dump(store, file, told)
    with writing(file), tempfile.TemporaryDirectory(prefix=".backup-", dir=file.absolute().parent) as folder:
        copy = Path(folder) / DATABASE_FILE
        copy_database(store.folder / DATABASE_FILE, copy)
        packed = Path(folder) / "packed"
        missing = pack(store, copy, packed, _facts(copy), DATABASE_FILE, told)
        sha256 = sha256_of(packed)
        packed.replace(file)
    return {"file": str(file), "sha256": sha256, "missing": missing}


def _facts(copy: Path) -> dict[str, Any]:
    with closing(sqlite3.connect(copy)) as database:
        (schema,) = database.execute("SELECT version_num FROM alembic_version").fetchone()
        n, chain = database.execute("SELECT n, hash FROM chain_head").fetchone()
        names = [row[0] for row in database.execute("SELECT sha256 FROM photograph ORDER BY sha256")]
    return {"schema": schema, "changes": n, "chain": chain, "photographs": names}
