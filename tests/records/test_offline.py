"""The database is stopped while somebody works at the torch, and started again: each key counts once."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from postgres_server import Databases

from patina.bench import upkeep
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import offline, work
from patina.cli import main
from patina.entries import NewBatch, NewCast, NewLot, NewPiece, NewTemperature, NewWork
from patina.errors import Damaged, Refused, StudioTrouble, Unreachable
from patina.recipe import Recipe
from patina.records.studio import server as server_words
from patina.records.torch.journal import journals_of
from patina.sheets import WorkSheet

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.one_engine("sqlite", why="each stops and starts the server itself")


@pytest.fixture
def on_server(databases: Databases, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, brown: Recipe) -> Iterator[Studio]:
    """A studio on a server with a cast, a pot, and a work on it at its second step; journals in a new folder."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(server_words, "LOOKS_S", (0.0, 0.05))
    name = databases.new()
    with open_studio(databases.server.url(name)) as opened:
        finishes.save_recipe(opened, brown)
        casts.add_piece(opened, NewPiece("Grey seal"))
        casts.add_cast(opened, NewCast("W1", "1/3", "C87300"))
        batches.mix_batch(opened, NewBatch("R1", 1, "sulphide wash", 500))
        zones = (("front", 0.4), ("back", 0.3))
        work.start_work(opened, NewWork("C1", "R1", zones=zones, batch="B1", done_by="Maren"))
        work.move_to(opened, "J1", step=2)
        yield opened
    databases.server.drop(name)


@pytest.fixture
def away(databases: Databases) -> Iterator[Callable[[], None]]:
    """Stops the server as a crash would; it runs again when the test is over."""
    stopped: list[bool] = []

    def stop() -> None:
        databases.server.stop("immediate")
        stopped.append(True)

    def start() -> None:
        if stopped:
            stopped.clear()
            databases.server.start()

    stop.back = start  # type: ignore[attr-defined]
    yield stop
    start()


def press(tally: offline.Tally, kind: str = "pass", **given: object) -> WorkSheet:
    """A key at the torch, as the screen does it."""
    studio, which, seen = tally.studio, tally.sheet.row.id, tally.sheet.seq
    deeds = {
        "pass": lambda s: work.pass_done(studio, which, seen=seen, stamp=s),
        "note": lambda s: work.write_note(studio, which, str(given["text"]), seen=seen, stamp=s),
        "move": lambda s: work.move_to(studio, which, step=given["step"], zone=given["zone"], seen=seen, stamp=s),
        "level": lambda s: work.volume_left(studio, which, given["left_ml"], seen=seen, stamp=s),
        "back": lambda s: work.go_back(studio, which, seen=seen, stamp=s),
    }
    return tally.write(kind, dict(given), deeds.get(kind, deeds["pass"]))


def test_the_tally_goes_on_without_the_database(on_server: Studio, away: Callable[[], None]) -> None:
    """Passes, zones, notes, figures and going back are shown as they are done, wait in the journal, and are on
    record once, in order and with their times, when the database is back."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    press(tally)
    away()
    before = datetime.now(UTC)
    assert press(tally).passes_done == 2 and tally.offline and tally.waiting == 1
    press(tally, "note", text="a darker rim")
    assert press(tally, "level", left_ml=460.0).pot.left_ml == 460.0  # type: ignore[union-attr]
    assert press(tally, "move", step=2, zone="back").zone == "back"
    press(tally)
    sheet = press(tally)
    assert sheet.passes_done == 2
    last = sheet.events[-1]
    assert press(tally, "back", taken=last.id).passes_done == 1
    given = offline.temperature_given(NewTemperature(85.0, None, "", 20.0))
    assert press(tally, "temperature", **given).last_temperature.true_c == 85.0  # type: ignore[union-attr]
    with pytest.raises(Refused, match="cannot be left"):
        press(tally, "level", left_ml=900.0)
    assert tally.waiting == 8 and tally.reconnect() is None
    with pytest.raises(Unreachable, match="does not answer"):
        batches.list_batches(on_server)
    shown = tally.sheet
    away.back()  # type: ignore[attr-defined]
    told = tally.reconnect()
    assert told is not None and (told.written + told.there, told.others, told.as_notes) == (8, 0, ())
    sheet = work.work_sheet(on_server, "J1")
    kinds = [e.kind for e in sheet.events][-9:]
    assert kinds == ["pass", "pass", "note", "level", "move", "pass", "pass", "back", "temperature"]
    assert [s.done for s in sheet.steps] == [s.done for s in shown.steps]
    assert [e.seq for e in sheet.events] == list(range(1, len(sheet.events) + 1))
    replayed = sheet.events[-8:]
    assert [e.at for e in replayed] == sorted(e.at for e in replayed) and replayed[0].at >= before
    assert replayed[-1].at < datetime.now(UTC) and sheet.clock_note == ""
    assert sheet.pot is not None and batches.batch_sheet(on_server, "B1").left_ml == 460.0
    assert not tally.offline and offline.waiting(on_server) == () and upkeep.check(on_server).problems == ()
    assert press(tally).passes_done == 2


def test_what_others_wrote_meanwhile_stays_and_is_told(on_server: Studio, away: Callable[[], None]) -> None:
    """Work of another bench on the same piece, even its end, is kept; the journal comes after it."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    away()
    press(tally)
    press(tally)
    away.back()  # type: ignore[attr-defined]
    with open_studio(on_server.where) as other:
        work.pass_done(other, "J1", by="Jory")
        work.end_work(other, "J1", by="Jory")
    told = tally.reconnect()
    assert told is not None and told.others == 2 and told.written == 2
    sheet = work.work_sheet(on_server, "J1")
    assert sheet.steps[1].done == (3, 0) and sheet.row.ended_at is None
    assert [e.kind for e in sheet.events][-5:] == ["pass", "end", "resume", "pass", "pass"]
    assert sheet.clock_note == "" and upkeep.check(on_server).problems == ()


def test_a_key_whose_answer_was_lost_counts_once(on_server: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """The connection breaks after the commit and before its answer: the key goes into the journal as well,
    under the id that is on record already, and is not written a second time."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    done = work.pass_done

    def cut_off(*given: object, **more: object) -> WorkSheet:
        done(*given, **more)  # type: ignore[arg-type]
        raise Unreachable("The connection was lost.", "Look at the record.")

    monkeypatch.setattr(work, "pass_done", cut_off)
    assert press(tally).passes_done == 1 and tally.waiting == 1
    monkeypatch.setattr(work, "pass_done", done)
    told = tally.reconnect()
    assert told is not None and (told.written, told.there, told.others) == (0, 1, 0)
    assert work.work_sheet(on_server, "J1").steps[1].done == (1, 0)


def test_what_the_records_refuse_is_kept_as_a_note(on_server: Studio, away: Callable[[], None]) -> None:
    """A figure of the pot that cannot be true any more does not stop the rest and is not lost."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    away()
    press(tally, "level", left_ml=480.0)
    press(tally)
    away.back()  # type: ignore[attr-defined]
    batches.use_from_batch(on_server, "B1", 100, "another piece")
    told = tally.reconnect()
    assert told is not None and told.written == 2 and "480" in told.as_notes[0]
    sheet = work.work_sheet(on_server, "J1")
    assert [e.kind for e in sheet.events][-2:] == ["note", "pass"] and "held 400 mL" in sheet.events[-2].note
    assert batches.batch_sheet(on_server, "B1").left_ml == 400.0


REPLAY = """
import sys, time
from patina.bench.torch import offline
from patina.bench.studio import open_studio
put = offline._put
def slowly(*given):
    print("put", flush=True)
    time.sleep(0.05)
    return put(*given)
offline._put = slowly
with open_studio(sys.argv[1]) as studio:
    print("ready", flush=True)
    offline.replay_all(studio)
    print("done", flush=True)
"""


def test_killed_while_it_is_replayed(on_server: Studio, away: Callable[[], None]) -> None:
    """SIGKILL in the middle of the replay, five times, at other places each: in the end each key is there once,
    in order and with its time."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    away()
    for n in range(40):
        press(tally, "note", text=f"key {n}") if n % 4 == 3 else press(tally)
    tally.close()
    away.back()  # type: ignore[attr-defined]
    (journal,) = journals_of(on_server.where)
    entries = journal.read()[1]
    for life in range(5):
        command = [sys.executable, "-c", REPLAY, on_server.where]
        child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True, env=os.environ)
        assert child.stdout is not None
        seen = [child.stdout.readline() for _ in range(2 + 2 * life)]
        time.sleep(0.007 * life)
        child.send_signal(signal.SIGKILL)
        rest, _ = child.communicate(timeout=20)
        assert "done" not in "".join(seen) + rest and journals_of(on_server.where)
    (told,) = offline.replay_all(on_server)
    assert told.there >= 5 and told.there + told.written == 40
    kept = [e for e in work.work_sheet(on_server, "J1").events if e.said.get("from_journal")]
    assert [(e.at, e.kind) for e in kept] == [(e.at, e.deed) for e in entries]
    assert work.work_sheet(on_server, "J1").steps[1].done == (30, 0)
    assert offline.replay_all(on_server) == () and upkeep.check(on_server).problems == ()


def test_a_journal_waits_for_a_program_that_is_started_again(
    on_server: Studio, databases: Databases, away: Callable[[], None], capsys: pytest.CaptureFixture[str]
) -> None:
    """`patina journal` lists it, shows it and puts it on record; a second time there is nothing to do."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    away()
    press(tally)
    press(tally, "note", text="wind")
    (journal,) = journals_of(on_server.where)
    with pytest.raises(Refused, match="in use by another program"), journal.held():
        pass
    tally.close()
    away.back()  # type: ignore[attr-defined]
    (row,) = offline.waiting(on_server, "J1")
    assert (row.keys, row.work) == (2, "J1") and "Grey seal" in row.target
    said = []
    databases.server.stop("immediate")  # to look at what waits no database is needed
    for words in (["list"], ["show", row.name]):
        with pytest.raises(SystemExit) as left:
            main(["--studio", on_server.where, "journal", *words, "--json"])
        assert left.value.code == 0
        capsys.readouterr()
    databases.server.start()
    for words in (["list"], ["show", row.name], ["replay"], ["replay"], ["list"]):
        with pytest.raises(SystemExit) as left:
            main(["--studio", on_server.where, "journal", *words, "--json"])
        assert left.value.code == 0
        said.append(json.loads(capsys.readouterr().out))
    assert said[0]["waiting"][0]["keys"] == 2 and [e["deed"] for e in said[1]["entries"]] == ["pass", "note"]
    assert said[2]["replayed"][0]["written"] == 2 and said[3]["replayed"] == [] and said[4]["waiting"] == []


def test_a_journal_cut_off_or_altered(on_server: Studio, away: Callable[[], None]) -> None:
    """A last line that was cut off was never answered and is left out; a line altered or taken out is told."""
    tally = offline.Tally(on_server, work.work_sheet(on_server, "J1"))
    away()
    for _ in range(3):
        press(tally)
    tally.close()
    away.back()  # type: ignore[attr-defined]
    (journal,) = journals_of(on_server.where)
    whole = journal.path.read_bytes()
    for cut in range(1, len(whole.splitlines(keepends=True)[-1])):
        journal.path.write_bytes(whole[:-cut])
        # without its end of line alone the line is whole, and counts
        assert len(journal.read()[1]) == (3 if cut == 1 else 2)
    lines = whole.splitlines(keepends=True)
    for other in (lines[:2] + lines[3:], [lines[0], lines[1].replace(b"front", b"back "), *lines[2:]], lines[1:]):
        journal.path.write_bytes(b"".join(other))
        with pytest.raises(Damaged):
            journal.read()
        assert offline.waiting(on_server)[0].trouble
        with pytest.raises(Damaged):
            offline.replay_all(on_server)
    assert work.work_sheet(on_server, "J1").steps[1].done == (0, 0)
    journal.path.write_bytes(whole)
    assert offline.replay_all(on_server)[0].written == 3


def test_a_journal_of_another_work_is_not_put_on_this_one(on_server: Studio, away: Callable[[], None]) -> None:
    """The same id in a studio that was made anew is another work."""
    sheet = work.work_sheet(on_server, "J1")
    from dataclasses import replace

    other = replace(sheet, row=replace(sheet.row, started_at=sheet.row.started_at - timedelta(days=1)))
    tally = offline.Tally(on_server, other)
    away()
    press(tally)
    tally.close()
    away.back()  # type: ignore[attr-defined]
    with pytest.raises(Refused, match="another work"):
        offline.replay_all(on_server)
    assert len(offline.waiting(on_server)) == 1


def test_a_deed_that_loses_its_server_is_not_saved(
    on_server: Studio, databases: Databases, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The server goes in the middle of a deed: it is told as not saved, and nothing of it is there afterwards."""
    from patina.bench.shelves import shelf
    from patina.records.log import changes as log

    real = log.entry_hash

    def stopping(entry: object) -> str:
        databases.server.stop("immediate")
        monkeypatch.setattr(log, "entry_hash", real)
        return real(entry)

    monkeypatch.setattr(log, "entry_hash", stopping)
    try:
        with pytest.raises(Unreachable, match="this was not saved"):
            shelf.add_lot(on_server, NewLot("liver of sulphur", 100.0))
    finally:
        databases.server.start()
    assert shelf.list_lots(on_server) == () and upkeep.check(on_server).problems == ()


def test_a_commit_whose_answer_is_lost_is_looked_up(on_server: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """The connection breaks while the answer to a commit is awaited: the server is asked what became of it."""
    from sqlalchemy import exc
    from sqlalchemy.orm import Session

    from patina.bench.shelves import shelf

    commit = Session.commit
    lost = exc.OperationalError("COMMIT", {}, Exception("server closed the connection"), connection_invalidated=True)

    def after(session: Session) -> None:
        commit(session)
        raise lost

    def instead(session: Session) -> None:
        session.rollback()
        raise lost

    monkeypatch.setattr(Session, "commit", after)
    assert shelf.add_lot(on_server, NewLot("liver of sulphur", 100.0)).id == "L1"
    monkeypatch.setattr(Session, "commit", instead)
    with pytest.raises(Unreachable, match="this was not saved"):
        shelf.add_lot(on_server, NewLot("liver of sulphur", 50.0))
    monkeypatch.setattr(server_words, "_became", lambda *_: None)
    with pytest.raises(Unreachable, match="is not known"):
        shelf.add_lot(on_server, NewLot("liver of sulphur", 50.0))
    monkeypatch.undo()
    assert [lot.amount for lot in shelf.list_lots(on_server)] == [100.0]


def test_locks_and_limits_are_told_in_sentences(on_server: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else writes for too long; a statement is stopped; a database that can only be read."""
    from sqlalchemy import text

    from patina.records.studio.server import take_the_right_to_write

    with open_studio(on_server.where) as other, other.store.view() as holding:
        take_the_right_to_write(holding)
        on_server.store.engine.dispose()
        monkeypatch.setattr(server_words, "_SESSION", ("SET lock_timeout = '100ms'",))
        with pytest.raises(StudioTrouble, match="written to by somebody else") as told:
            work.pass_done(on_server, "J1")
        assert "nothing was saved" in told.value.remedy
    with pytest.raises(StudioTrouble, match="took too long"), on_server.store.view() as session:
        session.execute(text("SET statement_timeout = '20ms'"))
        session.execute(text("SELECT pg_sleep(5)"))
    with pytest.raises(StudioTrouble, match="can only be read"), on_server.store.view() as session:
        session.execute(text("SET TRANSACTION READ ONLY"))
        session.execute(text("DELETE FROM word"))
    assert work.work_sheet(on_server, "J1").passes_done == 0
