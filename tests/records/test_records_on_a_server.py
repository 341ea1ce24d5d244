"""What two databases must agree on, and what a server alone does."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from postgres_server import Databases
from sqlalchemy import text

from patina.bench import upkeep
from patina.bench.finding import search
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewLot, NewTile
from patina.errors import Changed, Refused, StudioTrouble
from patina.recipe import Recipe

Fill = Callable[[Studio, Recipe, Path], None]

pytestmark = pytest.mark.one_engine("sqlite", why="each opens a studio on a server itself")


@pytest.fixture
def on_server(databases: Databases, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """An empty studio in a database of its own."""
    monkeypatch.setenv("PATINA_PHOTOGRAPHS", str(tmp_path / "photographs"))
    name = databases.new()
    with open_studio(databases.server.url(name)) as opened:
        yield opened
    databases.server.drop(name)


def test_the_same_deeds_give_the_same_sheets(
    on_server: Studio, full: Studio, fill: Fill, brown: Recipe, tmp_path: Path
) -> None:
    """A studio filled by the same deeds shows the same on both databases, and both check clean."""
    fill(on_server, brown, tmp_path)
    assert upkeep.check(on_server).problems == () == upkeep.check(full).problems
    assert upkeep.check(on_server).records == upkeep.check(full).records
    assert finishes.list_recipes(on_server) == finishes.list_recipes(full)
    assert tiles.list_tiles(on_server) == tiles.list_tiles(full)
    assert casts.list_casts(on_server) == casts.list_casts(full)
    assert casts.list_masters(on_server) == casts.list_masters(full)
    assert shelf.list_lots(on_server) == shelf.list_lots(full)
    assert finishes.recipe_sheet(on_server, "R1", 1).recipe == brown
    assert [b.weighed for b in batches.list_batches(on_server)] == [b.weighed for b in batches.list_batches(full)]
    for words in ("harb dark", "seal", "a1", "arbour", "l1", "%"):
        assert search.find_records(on_server, words) == search.find_records(full, words)


def test_two_at_once_lose_nothing(on_server: Studio) -> None:
    """Several take from one lot at once: whoever is told that it changed tries again; the sum is right."""
    shelf.add_lot(on_server, NewLot("liver of sulphur", 100.0))

    def take(_: int) -> None:
        for _attempt in range(200):
            try:
                shelf.take_from_lot(on_server, "L1", 1.0, "g", "test")
                return
            except Changed:
                continue
        raise AssertionError("never got through")

    with ThreadPoolExecutor(4) as threads:
        list(threads.map(take, range(40)))
    assert shelf.lot_row(on_server, "L1").left == 60.0
    assert len(shelf.lot_movements(on_server, "L1")) == 41
    assert upkeep.check(on_server).problems == ()


def test_references_and_floors_are_enforced_there_too(on_server: Studio, brown: Recipe) -> None:
    """Foreign keys, a stock below zero, a second opening: as on SQLite."""
    finishes.save_recipe(on_server, brown)
    tiles.start_tile(on_server, NewTile("A1", "C87300", recipe="R1"))
    shelf.add_lot(on_server, NewLot("liver of sulphur", 100.0))
    for statement in ("UPDATE tile SET revision_id = 99", "UPDATE lot SET left_amount = -1"):
        with pytest.raises(Refused), on_server.store.view() as session:
            session.execute(text(statement))
    assert finishes.recipe_sheet(on_server, "harbour brown").recipe == brown


def test_a_server_that_does_not_answer(tmp_path: Path) -> None:
    """It is told in a sentence."""
    with pytest.raises(StudioTrouble, match="does not answer"):
        open_studio(f"postgresql+psycopg://studio@/none?host={tmp_path}")


def test_two_that_make_the_same_studio(databases: Databases) -> None:
    """Four programs open an empty database at once: one makes the studio, the others wait and find it made."""
    name = f"empty{id(databases)}"
    url = databases.server.create(name)

    def opened(_: int) -> str:
        with open_studio(url) as studio:
            return studio.setting("studio uid")

    with ThreadPoolExecutor(4) as threads:
        uids = set(threads.map(opened, range(4)))
    assert len(uids) == 1 and "" not in uids
    with open_studio(url) as studio:
        assert upkeep.check(studio).problems == ()
    databases.server.drop(name)
