"""The nearest finishes: the same answer from the database, from memory and from a full scan, always of today."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert

from patina.bench.matched import rack
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.colour.difference import delta_e_many
from patina.entries import NewLot, NewReading, NewTile
from patina.errors import BadQuantity
from patina.matching.reach import reach_of
from patina.records.matched.rack import Wanted
from patina.records.tables.first import ReadingTable, TileTable

N = 6000


@pytest.fixture(scope="module")
def labs() -> np.ndarray:
    """Invented colours: clouds of patinas and some anywhere."""
    rng = np.random.default_rng(5)
    middles = np.array([[24, 7, 10], [14, 1, 1], [45, -18, 8], [52, -22, -6], [78, 0, 6]])
    found = middles[rng.integers(0, len(middles), N)] + rng.normal(0, 5, (N, 3))
    found[:600] = rng.uniform((2, -60, -60), (98, 60, 60), (600, 3))
    found[:, 0] = np.clip(found[:, 0], 0, 100)
    found[100:110] = found[100]  # equal ones come by number
    return found


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory, labs: np.ndarray) -> Iterator[Studio]:
    """A studio with a tile to each colour, written in bulk."""
    with open_studio(tmp_path_factory.mktemp("rack") / "studio") as studio:
        with studio.store.engine.connect() as connection:
            raw = connection.connection.driver_connection
            moment = "2026-03-02 09:00:00.000000"
            raw.execute("BEGIN")
            raw.executemany(
                "INSERT INTO tile (id, uid, version, created_at, search_text, engraved, alloy, preparation, size,"
                " as_done, made_by, wax_state, note) VALUES (?, ?, 1, ?, '', ?, ?, '', '', '[]', '', 'waxed', '')",
                ((i, f"{i:032x}", moment, f"N-{i}", "C87300" if i % 3 else "C83600") for i in range(1, N + 1)),
            )
            raw.executemany(
                "INSERT INTO reading (id, uid, tile_id, lab_l, lab_a, lab_b, illuminant, observer, source, area,"
                " geometry, instrument, n, wax_state, warmth, read_at, read_by, note, parts, added_at, latest)"
                " VALUES (?, ?, ?, ?, ?, ?, 'D50', '2', 'typed', '', 'unknown', '', 1, 'waxed', 'cold', ?, '', '',"
                " '[]', ?, 1)",
                ((i, f"{i:032x}", i, *map(float, lab), moment, moment) for i, lab in enumerate(labs, 1)),
            )
            raw.execute("COMMIT")
        yield studio


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """A studio without tiles."""
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def put_in(studio: Studio, labs: np.ndarray) -> None:
    """A tile to each colour, every third of another alloy, written at once on either database."""
    moment = datetime(2026, 3, 2, 9, tzinfo=UTC)
    plates = [
        {
            "id": i,
            "engraved": f"N-{i}",
            "alloy": "C87300" if i % 3 else "C83600",
            "preparation": "",
            "size": "",
            "as_done": [],
            "made_by": "",
            "wax_state": "waxed",
            "note": "",
            "search_text": "",
            "version": 1,
        }
        for i in range(1, len(labs) + 1)
    ]
    readings = [
        {
            "id": i,
            "tile_id": i,
            "lab_l": float(L),
            "lab_a": float(a),
            "lab_b": float(b),
            "illuminant": "D50",
            "observer": "2",
            "source": "typed",
            "area": "",
            "geometry": "unknown",
            "instrument": "",
            "n": 1,
            "wax_state": "waxed",
            "warmth": "cold",
            "read_at": moment,
            "read_by": "",
            "note": "",
            "parts": [],
            "added_at": moment,
            "latest": True,
        }
        for i, (L, a, b) in enumerate(labs, 1)
    ]
    with studio.store.engine.begin() as connection:
        connection.execute(insert(TileTable), plates)
        connection.execute(insert(ReadingTable), readings)


def scan(labs: np.ndarray, target: np.ndarray, k: int, among: np.ndarray | None = None) -> list[int]:
    """Numbers of the nearest by comparing every reading."""
    found = delta_e_many(np.broadcast_to(target, labs.shape), labs)
    if among is not None:
        found = np.where(among, found, np.inf)
    return [int(i) + 1 for i in np.argsort(found, kind="stable")[:k]]


def targets(labs: np.ndarray, n: int) -> np.ndarray:
    """Colours like those there are, and colours anywhere."""
    rng = np.random.default_rng(6)
    near = labs[rng.integers(0, len(labs), n)] + rng.normal(0, 2, (n, 3))
    near[::3] = rng.uniform((0, -80, -80), (100, 80, 80), (len(near[::3]), 3))
    near[:, 0] = np.clip(near[:, 0], 0, 100)
    return near


def test_database_and_memory_give_the_answer_of_a_full_scan(large: Studio, labs: np.ndarray) -> None:
    """60 targets, the nearest 20, in the same order; the alloy filter likewise."""
    of_alloy = np.arange(1, N + 1) % 3 == 0
    for target in targets(labs, 60):
        expected = scan(labs, target, 20)
        words = ",".join(repr(float(v)) for v in target)
        assert [int(m.tile[1:]) for m in rack.nearest(large, words, top=20)] == expected
        with large.store.view() as session:
            point = (float(target[0]), float(target[1]), float(target[2]))
            found = rack.from_records(session, Wanted("D50", "2"), point, 20)
            assert [tile for tile, _, _ in found] == expected
            some = rack.from_records(session, Wanted("D50", "2", alloys=("C83600",)), point, 5)
            assert [tile for tile, _, _ in some] == scan(labs, target, 5, of_alloy)
        assert [int(m.tile[1:]) for m in rack.nearest(large, words, top=5, alloy="C83600")] == scan(
            labs, target, 5, of_alloy
        )


def test_a_large_rack_is_laid_out_beside_the_first_answer(
    large: Studio, labs: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first answer comes from the database; later ones from memory are the same."""
    monkeypatch.setattr(rack, "AT_ONCE", 100)
    monkeypatch.setattr(rack, "_STUDIOS", type(rack._STUDIOS)())
    target = "26.0,6.0,9.0"
    first = rack.nearest(large, target, top=20)
    rack.wait_until_laid_out(large)
    assert rack._STUDIOS[large].laid
    assert rack.nearest(large, target, top=20) == first
    assert [int(m.tile[1:]) for m in first] == scan(labs, np.array([26.0, 6.0, 9.0]), 20)


def test_either_database_hands_out_all_that_can_be_near(studio: Studio, labs: np.ndarray) -> None:
    """1500 tiles, 12 targets, the nearest 20 in order by the database alone, of all and of one alloy."""
    some = labs[:1500]
    put_in(studio, some)
    of_alloy = np.arange(1, len(some) + 1) % 3 == 0
    with studio.store.view() as session:
        for target in targets(some, 12):
            point = (float(target[0]), float(target[1]), float(target[2]))
            found = rack.from_records(session, Wanted("D50", "2"), point, 20)
            assert [tile for tile, _, _ in found] == scan(some, target, 20)
            few = rack.from_records(session, Wanted("D50", "2", alloys=("C83600",)), point, 5)
            assert [tile for tile, _, _ in few] == scan(some, target, 5, of_alloy)
            every = rack.from_records(session, Wanted("D50", "2", every=True), point, 20)
            assert [tile for tile, _, _ in every] == scan(some, target, 20)


def test_a_new_reading_is_found_at_once(studio: Studio) -> None:
    """What is added after a search is in the next one; an older reading no longer counts unless asked for."""
    assert rack.nearest(studio, "30,5,5") == ()
    for n, L in ((1, 30.0), (2, 40.0)):
        tiles.start_tile(studio, NewTile(f"T{n}", "C87300"))
        tiles.add_reading(studio, f"T{n}", NewReading(L, 5.0, 5.0))
    assert [m.tile for m in rack.nearest(studio, "30,5,5")] == ["T1", "T2"]
    tiles.add_reading(studio, "T1", NewReading(60.0, 5.0, 5.0))
    assert [m.tile for m in rack.nearest(studio, "30,5,5")] == ["T2", "T1"]
    every = rack.nearest(studio, "30,5,5", every=True)
    assert [(m.tile, m.reading) for m in every] == [("T1", "D1"), ("T2", "D2"), ("T1", "D3")]
    assert [m.tile for m in rack.nearest(studio, "T1")] == ["T2"]
    with pytest.raises(BadQuantity):
        rack.nearest(studio, "30,5,5", top=0)


def test_filters_by_shelf_method_and_hazards(studio: Studio) -> None:
    """Only recipes whose chemicals stand on the shelf, of a method, without a hazard; the shelf is that of now."""
    finishes.add_starters(studio)
    for n, name in enumerate(("Torch sulphide brown", "Hot ferric red-brown", "Silver black"), 1):
        sheet = finishes.recipe_sheet(studio, name)
        tiles.start_tile(studio, NewTile(f"T{n}", "C87300", recipe=sheet.id, revision=sheet.revision))
        tiles.add_reading(studio, f"T{n}", NewReading(20.0 + n, 5.0, 5.0))
    tiles.start_tile(studio, NewTile("T4", "C87300"))
    tiles.add_reading(studio, "T4", NewReading(20.0, 5.0, 5.0))

    def found(**asked: object) -> list[str]:
        return [m.tile for m in rack.nearest(studio, "20,5,5", **asked)]  # type: ignore[arg-type]

    assert found() == ["T4", "T1", "T2", "T3"]
    assert found(on_shelf=True) == []
    shelf.add_lot(studio, NewLot("liver of sulphur", 100.0, "g"))
    assert found(on_shelf=True) == ["T1"]
    assert "T4" not in found(method="torch") and "T1" in found(method="torch")
    with pytest.raises(BadQuantity):
        found(method="magic")
    assert "T3" not in found(avoid=["H272"]) and "T1" in found(avoid=["H272"])


@settings(max_examples=200, deadline=None)
@given(
    st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90)),
    st.tuples(st.floats(0, 100), st.floats(-90, 90), st.floats(-90, 90)),
)
def test_nothing_within_a_difference_lies_beyond_its_reach(
    target: tuple[float, float, float], other: tuple[float, float, float]
) -> None:
    """Any colour lies inside the reach of its own difference from the target (CIEDE2000 bounds)."""
    difference = float(delta_e_many(np.array([target]), np.array([other]))[0])
    reach = reach_of(target, difference)
    assert reach.low <= other[0] <= reach.high
    away = ((target[1] - other[1]) ** 2 + (target[2] - other[2]) ** 2) ** 0.5
    assert away <= (reach.radius_warm if other[2] >= 0 else reach.radius_cool) * (1 + 1e-9) + 1e-9
