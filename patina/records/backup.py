"""One file that holds the whole studio, with the hash of everything in it.

A backup is a ZIP file: ``manifest.json``, ``studio.db`` (a consistent copy made while the studio
may be in use) and ``photographs/ab/abcdef…``. The same studio gives the same bytes.
"""

from __future__ import annotations

import json
import os
import sqlite3
import tempfile
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from patina import __version__
from patina.errors import Refused, StudioTrouble
from patina.records import zips
from patina.records.engine import DATABASE_FILE, Store
from patina.records.photographs import sha256_of

FORMAT = "patina backup"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"
Told = Callable[[int, int, str], None]


def quiet(_done: int, _of: int, _what: str) -> None:
    """The progress of somebody who does not look."""


def copy_database(source: Path, target: Path) -> None:
    """A consistent copy of a SQLite database that may be in use, on disk before this returns."""
    with closing(sqlite3.connect(source)) as one, closing(sqlite3.connect(target)) as other:
        one.backup(other)
        other.execute("PRAGMA journal_mode=DELETE")
    with target.open("rb") as copied:
        os.fsync(copied.fileno())


def write_backup(store: Store, file: Path, told: Told = quiet) -> dict[str, Any]:
    """Write the studio into one new file; returns its path, its SHA-256 and what could not be saved.

    told: how many parts are done of how many, and which is next; what it raises stops the work and leaves no file.

    Raises Refused where the file exists, StudioTrouble where it cannot be written. A photograph that is
    missing or damaged is left out and named under "missing".
    """
    if file.exists():
        raise Refused(f"'{file}' is there already.", "Give the backup a name of its own; nothing is written over.")
    if store.folder is None:
        from patina.records.pg_backup import write_dump

        return write_dump(store, file, told)
    with writing(file), tempfile.TemporaryDirectory(prefix=".backup-", dir=file.absolute().parent) as folder:
        copy = Path(folder) / DATABASE_FILE
        copy_database(store.folder / DATABASE_FILE, copy)
        packed = Path(folder) / "packed"
        missing = pack(store, copy, packed, _facts(copy), DATABASE_FILE, told)
        sha256 = sha256_of(packed)
        packed.replace(file)
    return {"file": str(file), "sha256": sha256, "missing": missing}


@contextmanager
def writing(file: Path) -> Iterator[None]:
    """Turn what may happen to a backup on its way to the disk into sentences."""
    try:
        yield
    except sqlite3.Error as trouble:
        raise StudioTrouble(
            f"The database could not be copied: {trouble}.", "Make room on the disk, or run patina check."
        ) from trouble
    except OSError as trouble:
        raise StudioTrouble(
            f"'{file}' could not be written: {trouble.strerror}.",
            "Check the folder and the room on the disk; no half backup was left.",
            title="The backup was not made",
        ) from None


def pack(
    store: Store, copy: Path, packed: Path, facts: dict[str, Any], name_of_copy: str, told: Told = quiet
) -> list[str]:
    """Put the copy of the database, the photographs and the manifest into one file; returns what is missing.

    facts: schema, changes, chain and photographs as the copy holds them. name_of_copy: in the file.
    """
    of = 2 * len(facts["photographs"]) + 2  # each is looked at, and each is packed
    told(0, of, "the database")
    files = {name_of_copy: _entry(copy)}
    paths = {name_of_copy: copy}
    missing: list[str] = []
    for n, sha256 in enumerate(facts["photographs"], 1):
        told(n, of, "looking at the photographs")
        size = store.files.size(sha256)
        if size is None or store.files.fault(sha256, size) is not None:
            missing.append(sha256)
            continue
        name, path = f"photographs/{sha256[:2]}/{sha256}", store.files.existing(sha256)
        files[name], paths[name] = {"size": size, "sha256": sha256}, path
    manifest = {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "program": __version__,
        "schema": facts["schema"],
        "changes": facts["changes"],
        "chain": facts["chain"],
        "missing": missing,
        "files": files,
    }
    with packed.open("wb") as out:
        with zipfile.ZipFile(out, "w", allowZip64=True) as archive:
            zips.add(archive, MANIFEST, json.dumps(manifest, indent=1, sort_keys=True).encode(), packed=True)
            for n, name in enumerate(sorted(paths), of - len(paths) - 1):
                told(n, of, "packing")
                zips.add(archive, name, paths[name], packed=not name.startswith("photographs/"))
        out.flush()
        os.fsync(out.fileno())
    told(of, of, "")
    return missing


def _facts(copy: Path) -> dict[str, Any]:
    with closing(sqlite3.connect(copy)) as database:
        (schema,) = database.execute("SELECT version_num FROM alembic_version").fetchone()
        n, chain = database.execute("SELECT n, hash FROM chain_head").fetchone()
        names = [row[0] for row in database.execute("SELECT sha256 FROM photograph ORDER BY sha256")]
    return {"schema": schema, "changes": n, "chain": chain, "photographs": names}


def _entry(path: Path) -> dict[str, Any]:
    return {"size": path.stat().st_size, "sha256": sha256_of(path)}
