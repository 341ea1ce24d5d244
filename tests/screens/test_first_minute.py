"""An empty studio asks where to begin, and each door leads somewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from screens_driver import Running

from patina.bench.recipes.finishes import list_recipes
from patina.bench.studio import Studio, open_studio
from tui.dialogs.first_minute import LOOK_AT_DEMO


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Studio]:
    """A new studio."""
    with open_studio(tmp_path / "new") as opened:
        yield opened


async def test_the_starters_come_in_by_two_keys(running: Callable[..., Running], empty: Studio) -> None:
    """The fourth door takes in the starter recipes, as many as it promises, and the list shows them."""
    async with running((80, 24), empty) as driver:
        await driver.until_text("Start a first recipe")
        await driver.press("down", "down", "down", "enter")
        await driver.until(lambda: len(list_recipes(empty)) == 20)
        await driver.until_text("finishes: 20")


async def test_the_demo_is_asked_for(running: Callable[..., Running], empty: Studio) -> None:
    """The first door leaves the program with the wish to see the demo; nothing was written."""
    async with running((80, 24), empty) as driver:
        await driver.until_text("Look at the demo")
        await driver.press("enter")
        await driver.until(lambda: driver.app.return_value == LOOK_AT_DEMO)
    assert not list_recipes(empty)


async def test_a_first_recipe_can_be_written(running: Callable[..., Running], empty: Studio) -> None:
    """The third door asks a few questions, and by F4 opens a recipe's text at once."""
    async with running((80, 24), empty) as driver:
        await driver.until_text("Start a first recipe")
        await driver.press("down", "down", "enter")
        await driver.until_text("A new recipe")
        await driver.press("f4")
        await driver.until(lambda: getattr(driver.app.screen, "WHERE", "") == "recipe")


async def test_who_and_how_one_reads_is_kept(running: Callable[..., Running], empty: Studio) -> None:
    """The last door asks for name and language, keeps them, and comes back to the doors."""
    async with running((80, 24), empty) as driver:
        await driver.until_text("Who I am")
        await driver.press("up", "enter")
        await driver.until_text("Who works here")
        await driver.fill(who="Ansel Brook", measures="US")
        await driver.press("ctrl+s")
        await driver.until_text("Start a first recipe")
    assert empty.setting("who") == "Ansel Brook"
    assert empty.setting("measures") == "US"


async def test_a_studio_that_has_begun_has_no_doors(running: Callable[..., Running], empty: Studio) -> None:
    """Without a recipe, but with a tile on record, nothing stands before the list, which says what would fill it."""
    from patina.bench.readings.tiles import start_tile
    from patina.entries import NewTile

    start_tile(empty, NewTile("A1", "C87300"))
    async with running((80, 24), empty) as driver:
        await driver.until_text("No finishes yet.")
        await driver.press("3")
        await driver.until_text("A1  T1")
        assert type(driver.app.screen).__name__ == "Tiles"
