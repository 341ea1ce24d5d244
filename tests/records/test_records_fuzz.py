"""Rubbish in files that are taken in, and many hands at once: a sentence or the whole thing, never half."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from patina.bench import upkeep
from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewLot, NewReading, NewTile
from patina.errors import PatinaError


@pytest.mark.one_engine("sqlite", why="a backup file holds a SQLite database")
def test_a_backup_with_any_bytes_changed_is_whole_or_refused(full: Studio, tmp_path: Path) -> None:
    """Bytes changed, cut out and put in at random places: never another error, never a damaged studio."""
    upkeep.backup(full, tmp_path / "whole")
    whole = (tmp_path / "whole").read_bytes()
    chance = random.Random(20)
    refused = 0
    for n in range(20):
        data = bytearray(whole)
        for _ in range(chance.randint(1, 4)):
            place = chance.randrange(len(data)) if n % 2 else chance.randrange(max(0, len(data) - 900), len(data))
            kind = chance.randrange(3)
            if kind == 0:
                data[place] ^= 1 << chance.randrange(8)
            elif kind == 1:
                del data[place : place + chance.randint(1, 50)]
            else:
                data[place:place] = chance.randbytes(chance.randint(1, 50))
        (tmp_path / "altered").write_bytes(data)
        place_ = tmp_path / f"again{n}"
        try:
            assert upkeep.restore(place_, tmp_path / "altered").ok
        except PatinaError:
            refused += 1
            with open_studio(place_) as again:
                assert upkeep.check(again).records == 0
        shutil.rmtree(place_)
    assert refused > 10


@pytest.fixture(scope="module")
def one_tile() -> Iterator[Studio]:
    """A studio with one tile, shared by the examples."""
    with tempfile.TemporaryDirectory() as folder, open_studio(folder) as studio:
        tiles.start_tile(studio, NewTile("A1", "C87300"))
        yield studio


cells = st.one_of(
    st.sampled_from(
        ["31.5", "1,5", "-3", "T1", "T9", "L", "a", "b", "tile", "n", "", "nan", "1e999", '"', "2026-03-14", "=1+1"]
    ),
    st.text(max_size=8),
)
csv_text = st.lists(st.lists(cells, max_size=6).map(",".join), max_size=6).map("\n".join)


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(body=csv_text, header=st.sampled_from(["", "L,a,b,tile\n", "L;a;b;tile;n\n"]))
def test_any_file_of_readings_is_taken_whole_or_refused(one_tile: Studio, body: str, header: str) -> None:
    """Every row in, or none and a sentence."""
    before = len(tiles.tile_sheet(one_tile, "T1").readings)
    file = Path(one_tile.where) / "readings.csv"
    file.write_bytes((header + body).encode("utf-8", "surrogatepass"))
    try:
        taken = len(tiles.import_readings_csv(one_tile, file, default="T1"))
        assert taken > 0
    except PatinaError as trouble:
        assert trouble.what and trouble.remedy
        taken = 0
    assert len(tiles.tile_sheet(one_tile, "T1").readings) == before + taken


def test_many_threads_of_one_program(full: Studio) -> None:
    """Deeds from several threads (as a screen's workers do them) are all kept, each once."""
    shelf.add_lot(full, NewLot("liver of sulphur", 1000.0))

    def work(n: int) -> str:
        tile = tiles.start_tile(full, NewTile(f"thread {n}", "C87300")).row.id
        tiles.add_reading(full, tile, NewReading(30.0, 0.0, 0.0))
        shelf.take_from_lot(full, "L2", 1.0, "g", "test")
        assert tiles.tile_sheet(full, tile).row.readings == 1
        return tile

    with ThreadPoolExecutor(4) as threads:
        made = list(threads.map(work, range(40)))
    assert len(set(made)) == 40
    assert shelf.lot_row(full, "L2").left == 960.0
    assert upkeep.check(full).problems == ()
