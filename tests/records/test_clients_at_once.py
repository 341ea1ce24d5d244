"""Several programs in one studio on a server: the short form of tests/benchmarks/clients.py, and what it rests on."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.once import new_id, once
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.entries import NewLot, NewTile
from patina.errors import Contended, Refused

ROOT = Path(__file__).parents[2]


@pytest.mark.one_engine("sqlite", why="it starts a server of its own")
def test_nothing_is_lost_and_nothing_is_there_twice() -> None:
    """Three clients with 24 deeds each, three kills, one restart of the server, photographs in an S3 store;
    the long run (8 clients, 500 deeds, 40 kills) is in tests/benchmarks."""
    script = ROOT / "tests" / "benchmarks" / "clients.py"
    command = [sys.executable, str(script), "--clients", "3", "--deeds", "24", "--kills", "3", "--seed", "3"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, timeout=240, check=False)
    assert done.returncode == 0, done.stdout + done.stderr[-3000:]
    assert "72 deeds answered, 3 kills, 1 server restart" in done.stdout and "wrong: 0" in done.stdout


def test_a_deed_under_an_id_is_done_once(studio: Studio) -> None:
    """Sent again, it is not done again, and what it changed is told; a deed that fails leaves its id free."""
    shelf.add_lot(studio, NewLot("liver of sulphur", 100.0))
    uid = new_id()

    def take() -> object:
        return shelf.take_from_lot(studio, "L1", 1.0, "g", "test")

    first, second = once(studio, uid, take), once(studio, uid, take)
    assert (first.before, second.before) == (False, True) and second.result is None
    assert "L1" in first.records and first.records == second.records
    assert shelf.lot_row(studio, "L1").left == 99.0
    other = new_id()
    with pytest.raises(Refused):
        once(studio, other, lambda: shelf.take_from_lot(studio, "L1", 1000.0, "g", "too much"))
    assert not once(studio, other, take).before
    with pytest.raises(Refused, match="no id"):
        once(studio, "T1", take)
    assert shelf.lot_row(studio, "L1").left == 98.0 and upkeep.check(studio).problems == ()


def test_a_deed_that_gave_way_is_done_again(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """A serialisation failure or a deadlock is answered by doing the whole deed again, in this one place."""
    from patina.bench import once as place

    monkeypatch.setattr(place, "FIRST_WAIT_S", 0.0)
    tries: list[int] = []

    def giving_way(times: int) -> Callable[[], object]:
        def deed() -> object:
            tries.append(1)
            if len(tries) <= times:
                raise Contended("Two changes came at the same moment.", "Do it again.")
            return tiles.start_tile(studio, NewTile("A1", "C87300"))

        return deed

    assert not once(studio, new_id(), giving_way(3)).before and len(tries) == 4
    tries.clear()
    with pytest.raises(Contended):
        once(studio, new_id(), giving_way(99))
    assert len(tries) == place.ATTEMPTS and len(tiles.list_tiles(studio)) == 1


@pytest.mark.one_engine("postgresql", why="SQLite has no such failures")
@pytest.mark.parametrize(("state", "kind"), [("40001", "serialization_failure"), ("40P01", "deadlock_detected")])
def test_what_the_server_calls_them(studio: Studio, state: str, kind: str) -> None:
    """The two states of SQL by which a server says that a deed gave way. Source: PostgreSQL's table of error codes."""
    from sqlalchemy import text

    with pytest.raises(Contended, match="gave way"), studio.store.view() as session:
        session.execute(text(f"DO $$ BEGIN RAISE EXCEPTION '{kind}' USING ERRCODE = '{state}'; END $$"))
