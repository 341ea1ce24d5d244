"""Putting a backup back: nothing is trusted, and nothing is in place before everything was proved."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from patina.errors import BadRecipeFile, Damaged, Refused, StudioTrouble
from patina.recipe import Recipe
from patina.records.keeping import zips
from patina.records.keeping.check import check_store
from patina.records.keeping.packing import FORMAT, FORMAT_VERSION, MANIFEST
from patina.records.photographs.places import SETTING
from patina.records.studio.opening import open_studio_store, schema_version
from patina.records.studio.peek import DATABASE_FILE
from patina.records.studio.store import Store
from patina.records.tables.first import RecipeTable, RevisionTable
from patina.records.tables.recipe_json import recipe_from
from patina.records.tables.shelf import ChainHead, ChangeTable
from patina.sheets import CheckSheet

LARGEST_MANIFEST_BYTES = 200_000_000
LARGEST_DATABASE_BYTES = 50_000_000_000
MOST_FILES = 1_000_000
_PHOTOGRAPH = re.compile(r"photographs/([0-9a-f]{2})/(\1[0-9a-f]{62})")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_BLOCK = 1 << 20


def restore_into(store: Store, file: Path) -> CheckSheet:
    """Put a backup into an empty studio and prove it.

    Everything is unpacked beside the studio, compared with the manifest's sizes and hashes and put
    through the whole check first. Raises Refused where the studio holds records or the file is no
    backup of this program, Damaged where it is not what it says, StudioTrouble for the disk.
    """
    with store.view_of_all() as session:
        if session.scalar(select(func.count()).select_from(ChangeTable)):
            raise Refused(
                f"The studio in '{store.where}' holds records; they would be lost.",
                "Restore into an empty folder: patina --studio FOLDER restore FILE.",
            )
    if store.folder is None:
        return _onto_a_server(store, file)
    for left in store.folder.glob(".restoring-*"):  # by a restore that was killed
        shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=".restoring-", dir=store.folder) as folder:
        aside = Path(folder)
        manifest = unpack(file, aside)
        checked = _proved(aside, manifest)
        with _placing():
            _forget_place(aside)
            _place_photographs(aside, store)
            _place_database(aside, store)
    store.engine.dispose()
    return checked


def _onto_a_server(store: Store, file: Path) -> CheckSheet:
    from patina.records.keeping.pg_backup import DUMP_FILE, restore_dump

    with tempfile.TemporaryDirectory(prefix="patina-restoring-") as folder:
        aside = Path(folder)
        manifest = unpack(file, aside, database=DUMP_FILE)
        with _placing():
            _place_photographs(aside, store)
        return restore_dump(store, aside, manifest)


def unpack(file: Path, into: Path, *, photographs: bool = True, database: str = DATABASE_FILE) -> dict[str, Any]:
    """Unpack a backup into an empty folder, every file proved by size and hash. Returns its manifest.

    Raises Refused for what is no backup of this program, Damaged for one that is not what it says.
    """
    with zips.opened(file, "backup", MOST_FILES) as archive:
        members = _members(archive, database)
        manifest = _manifest(archive, members, database)
        files = manifest["files"]
        if set(members) != {MANIFEST, *files}:
            raise Damaged("The backup holds other files than its manifest says.", "Use another backup.")
        wanted = [name for name in files if photographs or name == database]
        _require_room(into, sum(files[name]["size"] for name in wanted))
        for name in wanted:
            _unpack_one(archive, members[name], files[name], into / name)
        return manifest


def _members(archive: zipfile.ZipFile, database: str) -> dict[str, zipfile.ZipInfo]:
    other = {DATABASE_FILE: "studio.dump", "studio.dump": DATABASE_FILE}[database]
    if other in archive.namelist():
        raise Refused(
            "The backup is of a studio on a server." if other != DATABASE_FILE else "The backup is of a folder.",
            "Restore it into an empty database: patina --studio URL restore FILE."
            if other != DATABASE_FILE
            else "Restore it into an empty folder, and move the studio to the server with an archive.",
        )
    named = (MANIFEST, database)
    members = zips.members(archive, lambda n: n in named or _PHOTOGRAPH.fullmatch(n) is not None, "backup")
    if MANIFEST not in members or database not in members:
        raise Refused("The file is no backup of this program: it has no manifest or no database.", "Use another file.")
    return members


def _manifest(archive: zipfile.ZipFile, members: dict[str, zipfile.ZipInfo], database: str) -> dict[str, Any]:
    if members[MANIFEST].file_size > LARGEST_MANIFEST_BYTES:
        raise Refused("The manifest of the backup is larger than any can be.", "Use another backup.")
    try:
        manifest = json.loads(b"".join(zips.blocks(archive, members[MANIFEST])))
    except (ValueError, RecursionError):
        raise Damaged("The manifest of the backup cannot be read.", "Use another backup.") from None
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise Refused("The file is no backup of this program.", "Use another file.")
    if manifest.get("version") != FORMAT_VERSION:
        raise Refused("The backup was written by a newer program.", "Install the newer program.")
    if not _well_formed(manifest, database):
        raise Damaged("The manifest of the backup is not well formed.", "Use another backup.")
    return manifest


def _well_formed(manifest: dict[str, Any], database: str) -> bool:
    files, missing = manifest.get("files"), manifest.get("missing")
    if not isinstance(files, dict) or not isinstance(missing, list) or not isinstance(manifest.get("changes"), int):
        return False
    if not all(isinstance(s, str) and _SHA256.fullmatch(s) for s in missing):
        return False
    for name, entry in files.items():
        if not isinstance(entry, dict) or set(entry) != {"size", "sha256"}:
            return False
        size, sha256 = entry["size"], entry["sha256"]
        if not isinstance(size, int) or isinstance(size, bool) or size < 0 or not isinstance(sha256, str):
            return False
        photograph = _PHOTOGRAPH.fullmatch(name)
        if (photograph is None and name != database) or (photograph and photograph[2] != sha256):
            return False
    return database in files and files[database]["size"] <= LARGEST_DATABASE_BYTES


def _require_room(into: Path, size: int) -> None:
    free = shutil.disk_usage(into).free
    if size * 2 > free:
        raise StudioTrouble(
            f"The backup needs {2 * size / 1e6:.0f} MB to be unpacked and proved; {free / 1e6:.0f} MB are free.",
            "Make room on the disk.",
            title="The backup was not restored",
        )


def _unpack_one(archive: zipfile.ZipFile, info: zipfile.ZipInfo, entry: dict[str, Any], target: Path) -> None:
    """One file, no further than its stated size, and only if its hash is the stated one."""
    if info.file_size != entry["size"]:
        raise Damaged(f"{info.filename} has another size than the manifest says.", "Use another backup.")
    target.parent.mkdir(parents=True, exist_ok=True)
    digest = hashlib.sha256()
    with target.open("xb") as out:
        for block in zips.blocks(archive, info):
            digest.update(block)
            out.write(block)
    if digest.hexdigest() != entry["sha256"]:
        raise Damaged(f"{info.filename} is not what the manifest says.", "Use another backup.")


def _proved(aside: Path, manifest: dict[str, Any]) -> CheckSheet:
    """Open what was unpacked as a studio and put it through the check; only photographs that the
    manifest itself names as missing may be missing."""
    store = open_studio_store(aside, photographs_here=True)
    try:
        _require_own_schema(store)
        _require_same_end(store, manifest)
        checked = check_store(store)
    finally:
        store.close()
    allowed = {f"Photograph {sha256} is missing." for sha256 in manifest["missing"]}
    wrong = [problem for problem in checked.problems if problem not in allowed]
    if wrong:
        raise Damaged(
            f"The backup holds a damaged studio: {' '.join(wrong[:5])}", "Use another backup; nothing was restored."
        )
    return checked


def _require_same_end(store: Store, manifest: dict[str, Any]) -> None:
    """The log of changes must end where the manifest says."""
    with store.view_of_all() as session:
        head = session.scalars(select(ChainHead)).one_or_none()
    if head is None or (head.n, head.hash) != (manifest["changes"], manifest.get("chain")):
        raise Damaged("The log of changes in the backup does not end where its manifest says.", "Use another backup.")


def _require_own_schema(store: Store) -> None:
    """Tables, indexes and triggers must be those of this program, word for word."""
    assert store.folder is not None
    with tempfile.TemporaryDirectory(prefix=".schema-", dir=store.folder) as folder:
        fresh = open_studio_store(folder)
        expected = _schema(fresh)
        fresh.close()
    if _schema(store) != expected:
        raise Refused(
            "The database in the backup is laid out otherwise than this program does it.",
            "Do not use it unless you know where it comes from.",
        )


def _schema(store: Store) -> set[tuple[str, str, str]]:
    assert store.folder is not None
    with closing(sqlite3.connect(store.folder / DATABASE_FILE)) as database:
        rows = database.execute("SELECT type, name, COALESCE(sql, '') FROM sqlite_master").fetchall()
    return {(kind, name, sql) for kind, name, sql in rows}


@contextmanager
def _placing() -> Iterator[None]:
    try:
        yield
    except (OSError, sqlite3.Error) as trouble:
        raise StudioTrouble(
            f"The backup could not be put in place: {trouble}.", "Make room on the disk and restore it again."
        ) from trouble


def _forget_place(aside: Path) -> None:
    """What is restored lies in the studio's own folder, wherever the photographs were kept before."""
    with closing(sqlite3.connect(aside / DATABASE_FILE)) as database, database:
        database.execute("DELETE FROM setting WHERE name = ?", (SETTING,))


def _place_photographs(aside: Path, store: Store) -> None:
    for path in sorted((aside / "photographs").glob("*/*")):
        with path.open("rb") as stream:
            store.files.keep_bytes(iter(lambda stream=stream: stream.read(_BLOCK), b""))  # type: ignore[misc]


def _place_database(aside: Path, store: Store) -> None:
    """All pages in one transaction: the studio is empty before it and whole after it."""
    assert store.folder is not None
    store.engine.dispose()
    source, target = sqlite3.connect(aside / DATABASE_FILE), sqlite3.connect(store.folder / DATABASE_FILE, timeout=10)
    with closing(source), closing(target):
        source.backup(target)
        target.execute("PRAGMA journal_mode=WAL")


def recipes_in_backup(file: Path) -> list[Recipe]:
    """The recipes of a backup as they stand, in order of their ids. Raises BadRecipeFile, Refused, Damaged."""
    with tempfile.TemporaryDirectory(prefix="patina-") as folder:
        unpack(file, Path(folder), photographs=False)
        store = open_studio_store(folder, photographs_here=True)
        try:
            _require_own_schema(store)
            if schema_version(store) is None:
                raise BadRecipeFile(f"{file.name} holds no recipes.", "Give another file.")
            latest = (RevisionTable.recipe_id == RecipeTable.id) & (RevisionTable.number == RecipeTable.revision)
            query = select(RevisionTable.document).join(RecipeTable, latest).order_by(RecipeTable.id)
            with store.view() as session:
                return [recipe_from(document) for document in session.scalars(query)]
        finally:
            store.close()
