"""Forms lose nothing: what is typed is there again, and a whole tile is begun from another one."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from screens_driver import Running

from patina.bench.readings.tiles import list_tiles, tile_sheet
from patina.bench.studio import Studio
from tui.dialogs.records import next_engraved


async def test_what_was_typed_is_there_again(running: Callable[..., Running], studio: Studio) -> None:
    """A form that is left half filled, and a program that ends, lose nothing; Ctrl+Z forgets it."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("n")
        await driver.until_text("Start a test tile")
        await driver.fill(engraved="QT-77", preparation="slag wool, degreased")
        await driver.press("escape")
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("n")
        await driver.until_text("not saved stands below")
        assert driver.app.screen.values["engraved"] == "QT-77"
        assert driver.app.screen.values["preparation"] == "slag wool, degreased"
        await driver.press("ctrl+z")
        await driver.until(lambda: driver.app.screen.values["engraved"] == "")
    assert len(list_tiles(studio)) == 2


async def test_a_saved_form_leaves_no_draft(running: Callable[..., Running], studio: Studio) -> None:
    """Once the record is written the form opens empty again."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("n")
        await driver.until_text("Start a test tile")
        await driver.fill(engraved="QT-78", alloy="C87300")
        await driver.press("ctrl+s")
        await driver.until(lambda: len(list_tiles(studio)) == 3)
        await driver.until_text("QT-78")
        await driver.press("n")
        await driver.until(lambda: hasattr(driver.app.screen, "values"))
        assert driver.app.screen.values["engraved"] == ""


async def test_the_same_again_for_a_whole_tile(running: Callable[..., Running], studio: Studio) -> None:
    """N and Ctrl+S make the next tile with recipe, alloy and wax as on the chosen one."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.until(lambda: driver.app.screen.sheet is not None)
        await driver.press("N")
        await driver.until_text("Start a test tile")
        await driver.press("ctrl+s")
        await driver.until(lambda: len(list_tiles(studio)) == 3)
    new = next(tile for tile in list_tiles(studio) if tile.engraved == "QT-3")
    old = next(tile for tile in list_tiles(studio) if tile.engraved == "QT-2")
    assert (new.recipe, new.revision, new.alloy, new.wax_state) == (old.recipe, old.revision, old.alloy, old.wax_state)
    assert tile_sheet(studio, new.id).as_done == tile_sheet(studio, old.id).as_done


@pytest.mark.parametrize(("now", "following"), [("HM-09", "HM-10"), ("7", "8"), ("A99", "A100"), ("left", "")])
def test_the_next_engraving(now: str, following: str) -> None:
    """A row of tiles is counted on with its leading zeros."""
    assert next_engraved(now) == following


async def test_what_was_saved_last_is_offered_again(running: Callable[..., Running], studio: Studio) -> None:
    """The instrument of the last reading stands in the form of the next one, its figures do not."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("r")
        await driver.until_text("A reading of")
        await driver.fill(L="30", a="6", b="9", instrument="bench spectrophotometer", geometry="d:8 SCI")
        await driver.press("ctrl+s")
        await driver.until(lambda: not driver.app.screen.is_modal)
        await driver.press("down", "r")
        await driver.until_text("A reading of")
        assert driver.app.screen.values["instrument"] == "bench spectrophotometer"
        assert driver.app.screen.values["geometry"] == "d:8 SCI"
        assert driver.app.screen.values["L"] == ""


async def test_the_next_number_of_the_row_is_offered(running: Callable[..., Running]) -> None:
    """A new tile begins without a number; the arrow down gives the one after the newest tile's."""
    async with running((80, 24)) as driver:
        await driver.press("3")
        await driver.until_text("QT-2")
        await driver.press("n")
        await driver.until_text("Start a test tile")
        assert driver.app.screen.values["engraved"] == ""
        await driver.press("down")
        await driver.until(lambda: driver.app.screen.values["engraved"] == "QT-3")
