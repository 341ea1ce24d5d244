"""The check finds whatever was altered behind the program's back."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import UTC
from pathlib import Path

import pytest
from behind_its_back import alter, database, photographs_folder

from patina.bench import upkeep
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.errors import StudioTrouble


def test_a_sound_studio_is_sound(full: Studio) -> None:
    """Nothing is found where nothing was altered, and everything is counted."""
    found = upkeep.check(full)
    assert found.ok and found.problems == () and found.notes == ()
    assert found.photographs == 1
    # recipe, 2 revisions, tile, 3 readings, piece, master, cast, lot, 2 movements, batch, weighed, use, treatment
    assert found.records == 17
    assert found.as_json()["ok"] is True


@pytest.mark.parametrize(
    ("statement", "says"),
    [
        ("UPDATE revision SET document = replace(document, '1.1', '1.9') WHERE number = 1", "Revision 1 of recipe R1"),
        ("UPDATE revision SET finish = 'green'", "listed as something else"),
        ("UPDATE recipe SET revision = 3", "not 1 to 3"),
        ("UPDATE tile SET alloy = 'C90300'", "Tile T1 is not what the log"),
        ("UPDATE reading SET lab_l = 77 WHERE id = 2", "Reading D2 is not what the log"),
        ("UPDATE reading SET latest = NOT latest", "Another reading than the newest"),
        ("DELETE FROM reading WHERE id = 1", "Reading D1 is in the log of changes and gone"),
        ("UPDATE cast_piece SET number = '9/9'", "Cast piece C1"),
        ("UPDATE master SET limit_de = 20", "Master M1"),
        ("UPDATE lot SET left_amount = 5000", "What is left of lot L1"),
        ("UPDATE batch SET left_ml = 1500", "What is left of batch B1"),
        ("UPDATE change SET changed_by = 'someone else' WHERE n = 3", "Entry 3 of the log"),
        ("DELETE FROM change WHERE n = (SELECT max(n) FROM change)", "does not end where it should"),
        ("DELETE FROM change WHERE n = 5", "no entry 5"),
        ("UPDATE change SET previous = hash WHERE n = 4", "Entry 4 of the log"),
        ("DELETE FROM chain_head", "does not end where it should"),
        (
            "INSERT INTO piece (id, uid, title, maker, edition, height_mm, note, version, created_at, search_text) "
            "SELECT 7, 'u', title, maker, edition, height_mm, note, 1, created_at, '' FROM piece",
            "Piece W7",
        ),
    ],
)
def test_every_alteration_is_found(full: Studio, statement: str, says: str) -> None:
    """A changed, added or removed row, in the records or in the log, is named."""
    alter(full, statement)
    found = upkeep.check(full)
    assert not found.ok
    assert any(says in problem for problem in found.problems), found.problems


@pytest.mark.one_engine("sqlite", why="a server does not let a reference break")
def test_a_broken_reference_is_found(full: Studio) -> None:
    """A row that points at nothing is named with the row it points at."""
    alter(full, "UPDATE tile SET revision_id = 999")
    assert any("points at a row of revision that is not there" in p for p in upkeep.check(full).problems)


def test_a_log_rewritten_without_its_hashes_is_found(full: Studio) -> None:
    """Changing a record and the log's words for it together still breaks the chain."""
    alter(
        full,
        "UPDATE tile SET note = 'better'",
        """UPDATE change SET after = replace(after, '"note":""', '"note":"better"') WHERE record = 'T1'""",
    )
    assert any("is not what was written" in p for p in upkeep.check(full).problems)


def test_the_chain_can_be_followed_without_the_program(full: Studio) -> None:
    """The chain is SHA-256 (FIPS 180-4) over the hash before and the entry as sorted, compact JSON."""
    columns = ("n", "at", "changed_by", "deed", "why", "kind", "record", "before", "after", "hash")
    with database(full) as connection:
        found = connection.execute(f"SELECT {', '.join(columns)} FROM change ORDER BY n").fetchall()
        end = connection.execute("SELECT n, hash FROM chain_head").fetchone()
    entries = [dict(zip(columns, row, strict=True)) for row in found]
    previous = "0" * 64
    for entry in entries:
        at = entry["at"]
        moment = at.replace(" ", "T") + "+00:00" if isinstance(at, str) else at.astimezone(UTC).isoformat()
        content = {
            "n": entry["n"],
            "at": moment,
            "by": entry["changed_by"],
            **{key: entry[key] for key in ("deed", "why", "kind", "record", "before", "after")},
        }
        packed = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        previous = hashlib.sha256((previous + packed).encode()).hexdigest()
        assert entry["hash"] == previous
    assert tuple(end) == (len(entries), previous)


def test_a_missing_or_changed_photograph_is_found(full: Studio) -> None:
    """A photograph whose bytes changed, then one that is gone, is named by its hash."""
    sha256 = tiles.tile_sheet(full, "T1").photographs[0].sha256
    path = tiles.photograph_path(full, sha256)
    path.chmod(0o644)
    content = path.read_bytes()
    path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))
    assert upkeep.check(full).problems == (f"Photograph {sha256} is not what it was: its bytes have changed.",)
    path.unlink()
    assert upkeep.check(full).problems == (f"Photograph {sha256} is missing.",)


def test_a_stray_file_is_a_note_and_no_problem(full: Studio) -> None:
    """What an interrupted addition leaves does no harm and is told."""
    stray = photographs_folder(full) / ".incoming-x"
    stray.write_bytes(b"half")
    found = upkeep.check(full)
    assert found.ok and len(found.notes) == 1 and ".incoming-x" in found.notes[0]


def spoil(studio: Studio, pages: str) -> None:
    """Write rubbish over the pages that the query names, as a failing disk would."""
    studio.close()
    file = Path(studio.where) / "studio.db"
    with closing(sqlite3.connect(file)) as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        wanted = [row[0] for row in database.execute(pages)]
    content = bytearray(file.read_bytes())
    for page in wanted:
        content[(page - 1) * 4096 : page * 4096] = b"\xa5" * 4096
    file.write_bytes(content)


@pytest.mark.one_engine("sqlite", why="pages of a file are damaged")
def test_a_damaged_page_of_records_is_told(full: Studio) -> None:
    """The rest of the studio can be opened and looked at; the check says what is damaged."""
    spoil(full, "SELECT rootpage FROM sqlite_master WHERE name = 'reading'")
    with open_studio(full.where) as damaged:
        found = upkeep.check(damaged)
        assert [lot.id for lot in shelf.list_lots(damaged)] == ["L1"]
        with pytest.raises(StudioTrouble, match="damaged"):
            tiles.tile_sheet(damaged, "T1")
    assert not found.ok and any("damaged" in p for p in found.problems)


@pytest.mark.one_engine("sqlite", why="pages of a file are damaged")
def test_a_damaged_layout_is_told_on_opening(full: Studio) -> None:
    """Where not even the list of tables can be read, the studio is not opened and the remedy is named."""
    spoil(full, "SELECT 1")
    with pytest.raises(StudioTrouble, match="no database") as told:
        open_studio(full.where)
    assert "backup" in told.value.remedy


def test_history_tells_who_when_what_and_before(full: Studio) -> None:
    """A change is kept with what the record was before, so that it can be looked up and undone by hand."""
    newest, first = upkeep.history(full, "C1")
    assert (newest.deed, first.deed) == ("change cast", "add cast")
    assert first.before is None and newest.before is not None and newest.after is not None
    assert newest.before["number"] == "3/9" and newest.after["number"] == "4/9"
