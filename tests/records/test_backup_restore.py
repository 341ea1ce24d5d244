"""A backup holds everything, is the same for the same studio, and nothing hostile gets in by one."""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from patina.bench import upkeep
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewTile
from patina.errors import Damaged, PatinaError, Refused, StudioTrouble

Members = dict[str, bytes]

pytestmark = pytest.mark.one_engine("sqlite", why="a backup file holds a SQLite database")


@pytest.fixture
def packed(full: Studio, tmp_path: Path) -> Path:
    """A backup of the full studio."""
    upkeep.backup(full, tmp_path / "studio.patina")
    return tmp_path / "studio.patina"


def members(file: Path) -> Members:
    """What a backup holds, by name."""
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def repack(file: Path, content: Members) -> Path:
    """The same as a new backup, as somebody else would write it."""
    made = file.with_suffix(".altered")
    with zipfile.ZipFile(made, "w") as archive:
        for name, data in content.items():
            archive.writestr(name, data)
    return made


def with_manifest(content: Members, change: Callable[[dict[str, Any]], None]) -> Members:
    """The members with a changed manifest."""
    manifest = json.loads(content["manifest.json"])
    change(manifest)
    return {**content, "manifest.json": json.dumps(manifest).encode()}


def test_restored_is_what_was_saved(full: Studio, packed: Path, tmp_path: Path) -> None:
    """Every sheet of the restored studio equals that of the old one, and both check clean."""
    found = upkeep.restore(tmp_path / "again", packed)
    assert found == upkeep.check(full)
    with open_studio(tmp_path / "again") as again:
        assert upkeep.check(again) == found
        for read in (
            finishes.list_recipes,
            tiles.list_tiles,
            casts.list_casts,
            casts.list_masters,
            shelf.list_lots,
            lambda s: finishes.recipe_sheet(s, "R1"),
            lambda s: finishes.recipe_sheet(s, "R1", 1),
            lambda s: tiles.tile_sheet(s, "T1"),
            lambda s: casts.cast_sheet(s, "C1"),
            lambda s: upkeep.history(s),
            lambda s: s.setting("studio uid"),
        ):
            assert read(again) == read(full)
        sha256 = tiles.tile_sheet(again, "T1").photographs[0].sha256
        assert tiles.photograph_path(again, sha256).read_bytes() == tiles.photograph_path(full, sha256).read_bytes()
        assert tiles.start_tile(again, NewTile("next", "C87300")).row.id == "T2"
        assert upkeep.check(again).ok


def test_the_same_studio_gives_the_same_bytes(full: Studio, packed: Path, tmp_path: Path) -> None:
    """Two backups of an unchanged studio are equal, and the hash told is that of the file."""
    told = upkeep.backup(full, tmp_path / "second.patina")
    assert packed.read_bytes() == (tmp_path / "second.patina").read_bytes()
    assert told["sha256"] == hashlib.sha256(packed.read_bytes()).hexdigest()


def test_a_backup_can_be_opened_with_common_tools(packed: Path) -> None:
    """A ZIP reader, SHA-256 and SQLite are enough to prove and read it."""
    with zipfile.ZipFile(packed) as archive:
        assert archive.testzip() is None
    content = members(packed)
    manifest = json.loads(content["manifest.json"])
    for name, entry in manifest["files"].items():
        assert entry == {"size": len(content[name]), "sha256": hashlib.sha256(content[name]).hexdigest()}
    copy = packed.with_suffix(".db")
    copy.write_bytes(content["studio.db"])
    with closing(sqlite3.connect(copy)) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert database.execute("SELECT name FROM recipe").fetchall() == [("Harbour brown",)]


def test_a_backup_made_while_somebody_writes_is_whole(full: Studio, tmp_path: Path) -> None:
    """What is not committed is not in it, and the writer is not disturbed."""
    with closing(sqlite3.connect(Path(full.where) / "studio.db")) as writer:
        writer.execute("BEGIN IMMEDIATE")
        writer.execute("UPDATE tile SET note = 'not committed'")
        upkeep.backup(full, tmp_path / "busy.patina")
        writer.rollback()
    assert upkeep.restore(tmp_path / "again", tmp_path / "busy.patina").ok


def test_nothing_is_written_over(full: Studio, packed: Path) -> None:
    """Neither an older backup nor a studio with records is replaced."""
    before = packed.read_bytes()
    with pytest.raises(Refused, match="there already"):
        upkeep.backup(full, packed)
    assert packed.read_bytes() == before
    with pytest.raises(Refused, match="holds records"):
        upkeep.restore(full, packed)


def test_a_backup_that_cannot_be_written_leaves_nothing(full: Studio, tmp_path: Path) -> None:
    """A folder that is not there is told, and no half file is left."""
    with pytest.raises(StudioTrouble):
        upkeep.backup(full, tmp_path / "no" / "such" / "folder.patina")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["full"]


def test_what_can_be_saved_is_saved(full: Studio, tmp_path: Path) -> None:
    """A missing photograph is named and everything else is in the backup and comes back."""
    sha256 = tiles.tile_sheet(full, "T1").photographs[0].sha256
    tiles.photograph_path(full, sha256).unlink()
    told = upkeep.backup(full, tmp_path / "rest.patina")
    assert told["missing"] == [sha256]
    found = upkeep.restore(tmp_path / "again", tmp_path / "rest.patina")
    assert found.problems == (f"Photograph {sha256} is missing.",)
    with open_studio(tmp_path / "again") as again:
        assert tiles.tile_sheet(again, "T1") == tiles.tile_sheet(full, "T1")


def test_recipes_can_be_taken_from_a_backup(packed: Path, studio: Studio, full: Studio) -> None:
    """Importing a backup into another studio gives its recipes as they stand."""
    assert finishes.import_files(studio, [packed]) == ("Harbour brown",)
    assert finishes.recipe_sheet(studio, "R1").recipe == finishes.recipe_sheet(full, "R1").recipe


def _flip(data: bytes, place: int) -> bytes:
    return data[:place] + bytes([data[place] ^ 0xFF]) + data[place + 1 :]


def _photograph(content: Members) -> str:
    return next(name for name in content if name.startswith("photographs/"))


def _database(content: Members, folder: Path, *statements: str, honest: bool = True) -> Members:
    """The members with an altered database, its hash put right in the manifest."""
    copy = folder / "copy.db"
    copy.write_bytes(content["studio.db"])
    with closing(sqlite3.connect(copy)) as database, database:
        for statement in statements:
            database.execute(statement)
    data = copy.read_bytes()
    entry = {"size": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    changed = {**content, "studio.db": data}
    return with_manifest(changed, lambda m: m["files"].update({"studio.db": entry})) if honest else changed


Alteration = Callable[[Members, Path], Members]
HOSTILE: dict[str, Alteration] = {
    "path upwards": lambda c, _: {**c, "../evil": b"x"},
    "absolute path": lambda c, _: {**c, "/etc/evil": b"x"},
    "backslashes": lambda c, _: {**c, "..\\evil": b"x"},
    "a program": lambda c, _: {**c, "photographs/run.sh": b"x"},
    "photograph under another hash": lambda c, _: {**c, "photographs/aa/" + "a" * 64: b"x"},
    "one byte of a photograph": lambda c, _: {**c, _photograph(c): _flip(c[_photograph(c)], 50)},
    "one byte of the database": lambda c, _: {**c, "studio.db": _flip(c["studio.db"], 5000)},
    "a photograph left out": lambda c, _: {n: d for n, d in c.items() if n != _photograph(c)},
    "no manifest": lambda c, _: {n: d for n, d in c.items() if n != "manifest.json"},
    "no database": lambda c, _: {n: d for n, d in c.items() if n != "studio.db"},
    "manifest of rubbish": lambda c, _: {**c, "manifest.json": b"{" * 5000},
    "manifest of something else": lambda c, _: {**c, "manifest.json": b'{"format": "other"}'},
    "manifest of a list": lambda c, _: {**c, "manifest.json": b"[]"},
    "a newer format": lambda c, _: with_manifest(c, lambda m: m.update(version=2)),
    "sizes as words": lambda c, _: with_manifest(c, lambda m: m["files"]["studio.db"].update(size="big")),
    "a size below zero": lambda c, _: with_manifest(c, lambda m: m["files"]["studio.db"].update(size=-1)),
    "a huge size": lambda c, _: with_manifest(c, lambda m: m["files"]["studio.db"].update(size=10**17)),
    "a path in the manifest": lambda c, _: with_manifest(
        c, lambda m: m["files"].update({"../x": {"size": 1, "sha256": "a" * 64}})
    ),
    "fewer changes than told": lambda c, _: with_manifest(c, lambda m: m.update(changes=3)),
    "a rewritten record": lambda c, f: _database(c, f, "UPDATE tile SET alloy = 'gold'"),
    "a broken reference": lambda c, f: _database(c, f, "UPDATE tile SET revision_id = 99"),
    "a trigger": lambda c, f: _database(
        c, f, "CREATE TRIGGER evil AFTER INSERT ON tile BEGIN UPDATE lot SET note = 'x'; END"
    ),
    "a table of its own": lambda c, f: _database(c, f, "CREATE TABLE evil (x)"),
    "a view in place of a table": lambda c, f: _database(
        c, f, "ALTER TABLE setting RENAME TO other", "CREATE VIEW setting AS SELECT * FROM other"
    ),
    "a newer schema": lambda c, f: _database(c, f, "UPDATE alembic_version SET version_num = '9999'"),
    "rubbish for a database": lambda c, _: with_manifest(
        {**c, "studio.db": b"rubbish"},
        lambda m: m["files"].update({"studio.db": {"size": 7, "sha256": hashlib.sha256(b"rubbish").hexdigest()}}),
    ),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_backup_that_is_not_what_it_says_is_refused(packed: Path, tmp_path: Path, name: str) -> None:
    """Each is refused with a sentence; the studio stays empty and nothing lies beside or above it."""
    altered = repack(packed, HOSTILE[name](members(packed), tmp_path))
    place = tmp_path / "deep" / "again"
    with pytest.raises(PatinaError) as told:
        upkeep.restore(place, altered)
    assert told.value.what and told.value.remedy
    assert not list(place.glob("photographs/*")) and not list(place.glob(".restoring*"))
    assert [p.name for p in place.parent.iterdir()] == ["again"]
    with open_studio(place) as again:
        found = upkeep.check(again)
        assert (found.ok, found.records, found.photographs) == (True, 0, 0)
        with pytest.raises(PatinaError):
            upkeep.restore(again, altered)


def test_a_link_in_a_backup_is_refused(packed: Path, tmp_path: Path) -> None:
    """A symbolic link under a photograph's name is not followed and not made."""
    content = members(packed)
    made = tmp_path / "link.patina"
    with zipfile.ZipFile(made, "w") as archive:
        for name, data in content.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = (0o120777 if name.startswith("photographs/") else 0o100644) << 16
            archive.writestr(info, b"/etc/passwd" if name.startswith("photographs/") else data)
    with pytest.raises(Refused, match="no backup of this program has"):
        upkeep.restore(tmp_path / "again", made)


def test_the_same_name_twice_is_refused(packed: Path, tmp_path: Path) -> None:
    """Two members of one name could be proved and unpacked as different things."""
    made = tmp_path / "twice.patina"
    shutil.copy(packed, made)
    with pytest.warns(UserWarning, match="Duplicate"), zipfile.ZipFile(made, "a") as archive:
        archive.writestr("manifest.json", b"{}")
    with pytest.raises(Refused, match=r"manifest\.json"):
        upkeep.restore(tmp_path / "again", made)


def test_a_bomb_is_unpacked_no_further_than_it_says(packed: Path, tmp_path: Path) -> None:
    """A member that swells beyond its stated size stops there: memory and disk stay small."""
    content = members(packed)
    bomb = b"\0" * 200_000_000
    made = tmp_path / "bomb.patina"
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in content.items():
            archive.writestr(name, bomb if name == "studio.db" else data)
    assert made.stat().st_size < 2_000_000
    with pytest.raises(Damaged, match="another size"):
        upkeep.restore(tmp_path / "again", made)
    lying = made.read_bytes().replace(len(bomb).to_bytes(4, "little"), len(content["studio.db"]).to_bytes(4, "little"))
    made.write_bytes(lying)
    with pytest.raises(PatinaError):
        upkeep.restore(tmp_path / "again", made)
    assert sum(p.stat().st_size for p in (tmp_path / "again").rglob("*")) < 2_000_000


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04", b"no zip at all", b"PK\x05\x06" + b"\0" * 18])
def test_no_backup_at_all(tmp_path: Path, content: bytes) -> None:
    """Empty, cut off, not a ZIP, a ZIP of nothing: each is told."""
    (tmp_path / "x").write_bytes(content)
    with pytest.raises(PatinaError):
        upkeep.restore(tmp_path / "again", tmp_path / "x")
    with pytest.raises(Refused, match="no file"):
        upkeep.restore(tmp_path / "again", tmp_path / "not there")


def test_a_backup_cut_off_at_any_place_is_refused(packed: Path, tmp_path: Path) -> None:
    """A copy that did not finish is never taken for whole."""
    whole = packed.read_bytes()
    for share in (0.1, 0.5, 0.9, 0.999):
        (tmp_path / "cut").write_bytes(whole[: int(len(whole) * share)])
        with pytest.raises(PatinaError):
            upkeep.restore(tmp_path / "again", tmp_path / "cut")


def test_restoring_into_an_open_empty_studio(packed: Path, studio: Studio, full: Studio) -> None:
    """The studio that is open shows the restored records at once, added substances included."""
    assert studio.catalogue()
    upkeep.restore(studio, packed)
    assert finishes.list_recipes(studio) == finishes.list_recipes(full)


@pytest.mark.parametrize("moment", ["photographs", "database"])
def test_a_restore_that_is_killed_can_be_done_again(packed: Path, tmp_path: Path, moment: str) -> None:
    """Killed between photographs and database, or right before the database: still empty, and it works then."""
    place = tmp_path / "again"
    code = f"""
import os, signal, sys
from patina.bench import upkeep
from patina.records.keeping import restore
at = restore._place_database if {moment!r} == "database" else restore._place_photographs
def killed(*a):
    os.kill(os.getpid(), signal.SIGKILL)
setattr(restore, at.__name__, killed)
upkeep.restore({str(place)!r}, {str(packed)!r})
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parents[2], check=False)
    assert done.returncode == -9
    with open_studio(place) as again:
        assert finishes.list_recipes(again) == ()
    assert upkeep.restore(place, packed).ok
