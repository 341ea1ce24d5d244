"""What every backup is made of: the manifest, the copy of the database and the photographs, in one file."""

from __future__ import annotations

import json
import os
import sqlite3
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from patina import __version__
from patina.errors import StudioTrouble
from patina.records.keeping import zips
from patina.records.photographs.files import sha256_of
from patina.records.studio.store import Store

FORMAT = "patina backup"
FORMAT_VERSION = 1
MANIFEST = "manifest.json"
Told = Callable[[int, int, str], None]


def quiet(_done: int, _of: int, _what: str) -> None:
    """The progress of somebody who does not look."""


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


def _entry(path: Path) -> dict[str, Any]:
    return {"size": path.stat().st_size, "sha256": sha256_of(path)}
