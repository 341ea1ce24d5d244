"""A deed is kept whole or not at all: after errors, kills, full disks and two programs at once."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import pytest
from behind_its_back import everything
from sqlalchemy import event, text

from patina.bench import upkeep
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewBatch, NewLot, NewReading, NewTile, Weighed
from patina.errors import Changed, NotFound, Refused, ShortStock, StudioTrouble
from patina.recipe import Recipe
from patina.records.log import changes as log

ROOT = Path(__file__).parents[2]


def test_a_deed_that_fails_late_leaves_nothing(full: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error while the log is being written undoes the records written before it."""
    before = everything(full)

    def broken(*_: object) -> str:
        raise OSError("the log cannot be written")

    monkeypatch.setattr(log, "entry_hash", broken)
    weighed = (Weighed("liver of sulphur", 5, 5, "g", "L1"),)
    with pytest.raises(OSError, match="cannot be written"):
        batches.mix_batch(full, NewBatch("R1", 1, "sulphide wash", 1000, weighed))
    assert everything(full) == before


@pytest.mark.parametrize(
    ("amounts", "trouble"), [((400, 200), ShortStock), ((5, 5000), ShortStock), ((493, 0), ShortStock)]
)
def test_short_stock_takes_nothing(full: Studio, amounts: tuple[int, ...], trouble: type[Exception]) -> None:
    """Two lines from one lot are added up before anything is taken."""
    before = everything(full)
    weighed = tuple(Weighed("liver of sulphur", a, a, "g", "L1") for a in amounts)
    with pytest.raises(trouble, match="L1"):
        batches.mix_batch(full, NewBatch("R1", 1, "sulphide wash", 1000, weighed))
    assert everything(full) == before


def test_one_bad_reading_of_many_keeps_none(full: Studio) -> None:
    """Several readings are kept together or not at all."""
    before = everything(full)
    with pytest.raises(NotFound, match="T99"):
        tiles.keep_readings(full, [("T1", NewReading(30, 1, 1)), ("T99", NewReading(30, 1, 1))])
    assert everything(full) == before


def test_one_bad_file_of_many_takes_in_none(full: Studio, tmp_path: Path, brown: Recipe) -> None:
    """A recipe that is here already, among new ones: nothing is taken in."""
    (tmp_path / "old.toml").write_text(finishes.export_recipe(full, "R1"), encoding="utf-8")
    with open_studio(tmp_path / "other") as other:
        finishes.save_recipe(other, replace(brown, name="Another"))
        (tmp_path / "new.toml").write_text(finishes.export_recipe(other, "R1"), encoding="utf-8")
    before = everything(full)
    with pytest.raises(Refused, match="already there"):
        finishes.import_files(full, [tmp_path / "new.toml", tmp_path / "old.toml"])
    assert everything(full) == before
    assert finishes.import_files(full, [tmp_path / "new.toml"]) == ("Another",)


def test_references_are_enforced(full: Studio) -> None:
    """The database refuses a tile of a revision that is not there, on every connection."""
    for _ in range(3):
        with pytest.raises(Refused, match=r"(?i)foreign key"), full.store.view() as session:
            session.execute(text("UPDATE tile SET revision_id = 4711"))
        full.store.engine.dispose()


@pytest.mark.one_engine("sqlite", why="its own settings; a server keeps the usual ones")
def test_the_database_is_set_up_to_survive_a_power_cut(full: Studio) -> None:
    """Write-ahead log, full synchronisation (2) and foreign keys (1), as SQLite itself reports them."""
    with full.store.view() as session:
        said = [session.execute(text(f"PRAGMA {p}")).scalar() for p in ("journal_mode", "synchronous", "foreign_keys")]
    assert said == ["wal", 2, 1]


def test_a_version_that_changes_between_reading_and_writing_is_told(full: Studio) -> None:
    """The version is compared in the UPDATE itself as well."""
    from patina.records.studio.unit import unit
    from patina.records.tables.first import TileTable

    with pytest.raises(Changed), unit(full.store, "change tile") as work:
        tile = work.session.get_one(TileTable, 1)
        work.session.execute(text("UPDATE tile SET version = version + 1"))
        tile.note = "late"
        work.commit()
    assert tiles.tile_sheet(full, "T1").note == ""


def test_a_stale_tile_is_told(full: Studio) -> None:
    """The second of two who corrected the same tile is told and overwrites nothing."""
    entry = NewTile("A1", "C87300", recipe="R1", revision=1)
    tiles.change_tile(full, "T1", replace(entry, note="first"), version=1)
    with pytest.raises(Changed):
        tiles.change_tile(full, "T1", replace(entry, note="second"), version=1)
    assert tiles.tile_sheet(full, "T1").note == "first"


@pytest.mark.one_engine("sqlite", why="a page limit of its files; a server's full disk is no test's to make")
def test_a_full_database_is_told_and_nothing_is_half_saved(full: Studio, brown: Recipe) -> None:
    """SQLite's own "disk full" (here by its page limit) becomes a sentence; then room is made and it works."""

    def limited(connection, _record) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count={pages}")

    full.store.engine.dispose()
    event.listen(full.store.engine, "connect", limited)
    big = replace(brown, name="Big", steps=tuple(replace(s, note="n" * 20_000) for s in brown.steps))
    before = everything(full)
    with pytest.raises(StudioTrouble, match="full"):
        finishes.save_recipe(full, big)
    assert everything(full) == before
    event.remove(full.store.engine, "connect", limited)
    full.store.engine.dispose()
    assert finishes.save_recipe(full, big).recipe == big
    assert upkeep.check(full).ok


def test_a_photograph_that_does_not_fit_leaves_nothing(full: Studio, tmp_path: Path) -> None:
    """With no room for the file (a real limit on file size), no file and no record is left."""
    code = f"""
import resource, signal, sys
from pathlib import Path
from PIL import Image
from patina.bench.readings import tiles
from patina.bench.studio import open_studio
from patina.errors import StudioTrouble
picture = Path({str(tmp_path)!r}) / "large.png"
Image.effect_noise((600, 600), 80).save(picture)
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with open_studio({full.where!r}) as studio:
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))
    try:
        tiles.add_photograph(studio, "T1", picture)
    except StudioTrouble as trouble:
        print(trouble.title, "|", trouble.what, "|", trouble.remedy)
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("The photograph was not stored")
    assert len(tiles.tile_sheet(full, "T1").photographs) == 1
    found = upkeep.check(full)
    assert found.ok and found.notes == ()


WRITER = """
import sys
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.pots import batches
from patina.bench.studio import open_studio
from patina.entries import NewBatch, NewReading, NewTile, Weighed
with open_studio(sys.argv[1]) as studio:
    print("ready", flush=True)
    for i in range(int(sys.argv[2])):
        name = f"{sys.argv[3]}-{i}"
        tile = tiles.start_tile(studio, NewTile(name, "C87300", recipe="R1")).row.id
        tiles.add_reading(studio, tile, NewReading(30.0, 1.0, 2.0))
        weighed = (Weighed("liver of sulphur", 0.1, 0.1, "g", "L1"),)
        batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 20.0, weighed, note=name))
        print(name, flush=True)
"""


def start_writer(studio: Studio, deeds: int, name: str) -> subprocess.Popen[str]:
    """Another program at work in the same studio."""
    command = [sys.executable, "-c", WRITER, studio.where, str(deeds), name]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def test_two_programs_at_once_lose_nothing(full: Studio) -> None:
    """Two writers and this program, each with its own deeds: all are kept, in one unbroken log."""
    writers = [start_writer(full, 15, name) for name in ("one", "two")]
    for i in range(15):
        tiles.start_tile(full, NewTile(f"three-{i}", "C87300"))
    for writer in writers:
        _, said = writer.communicate(timeout=60)
        assert writer.returncode == 0, said
    engraved = {row.engraved for row in tiles.list_tiles(full)}
    assert engraved >= {f"{name}-{i}" for name in ("one", "two", "three") for i in range(15)}
    assert shelf.lot_row(full, "L1").left == pytest.approx(492.4 - 30 * 0.1, abs=1e-9)
    assert upkeep.check(full).problems == ()


KILLS = int(os.environ.get("PATINA_KILLS", "6"))


def test_killed_at_any_moment_nothing_acknowledged_is_lost(full: Studio) -> None:
    """SIGKILL at random moments: every deed that was acknowledged is there, and the check is clean.

    PATINA_KILLS sets how often (6; set 200 for a full run).
    """
    chance = random.Random(4)
    acknowledged: set[str] = set()
    for round_ in range(KILLS):
        writer = start_writer(full, 10_000, f"k{round_}")
        assert writer.stdout is not None
        assert writer.stdout.readline() == "ready\n"
        for _ in range(chance.randint(0, 3)):
            acknowledged.add(writer.stdout.readline().rstrip("\n"))
        time.sleep(chance.uniform(0.0, 0.03))
        writer.send_signal(signal.SIGKILL)
        rest, _ = writer.communicate(timeout=20)
        # a last line without its end was cut off while it was being written: not acknowledged
        acknowledged |= set(rest.split("\n")[:-1])
        with open_studio(full.where) as again:
            found = upkeep.check(again)
            assert found.problems == ()
            kept = {batch.note for batch in batches.list_batches(again, open_only=False)}
            assert acknowledged <= kept
    assert len(acknowledged) >= KILLS // 2
    kept_lot = shelf.lot_row(full, "L1").left
    assert kept_lot <= 492.4 - 0.1 * len(acknowledged) + 1e-6


def test_a_stock_of_zero_is_the_floor_in_the_database_too(full: Studio) -> None:
    """The database refuses a lot below zero, whoever asks."""
    shelf.add_lot(full, NewLot("bismuth nitrate", 10))
    with pytest.raises(Refused, match="not_below_zero"), full.store.view() as session:
        session.execute(text("UPDATE lot SET left_amount = -1"))
