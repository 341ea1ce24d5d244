"""The past of a record on screen: history, undo, signing off, amending and withdrawing, by keys."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from screens_driver import Driver, Running

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.sealing import seal_of
from patina.bench.studio import Studio
from patina.entries import NewCast, NewReading, NewTile
from tui.dialogs.history import History
from tui.widgets.prose import ProseView

Start = Callable[..., Running]


def told(person: Driver) -> str:
    """The words of the deed that is shown."""
    return person.app.screen.query_one("#deed-words", ProseView).prose.plain


async def history(person: Driver) -> None:
    """To the history of the chosen record."""
    await person.press("H")
    await person.until(lambda: isinstance(person.app.screen, History) and person.app.screen.query("#deed-words"))
    await person.until(lambda: told(person))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_the_history_of_a_tile_and_a_deed_taken_back_there(studio: Studio, running: Start, size: object) -> None:
    """Each deed shows its fields; u takes the chosen one back, and the sheet shows what was before."""
    tiles.change_tile(studio, "T2", NewTile("QT-9", "C83600", wall_mm=4, recipe="R1", revision=1))
    async with running(size) as person:
        await person.press("3")
        await person.until_text("QT-9")
        await history(person)
        await person.until(lambda: "QT-2 → QT-9" in told(person))
        await person.until(lambda: "4 mm" in told(person))
        await person.press("down")
        await person.until(lambda: "L*" in told(person))
        await person.press("up", "u")
        await person.until_text("QT-2")
    assert tiles.tile_sheet(studio, "T2").row.engraved == "QT-2"


async def test_undo_and_redo_by_keys(studio: Studio, running: Start) -> None:
    """u takes the last deed back, Ctrl+Y puts it back; what cannot be taken back says why."""
    casts.change_cast(studio, "C1", NewCast("W1", number="2/3", alloy="C87300"))
    async with running() as person:
        await person.press("4")
        await person.until_text("2/3")
        await person.press("u")
        await person.until_text("1/3")
        await person.press("ctrl+y")
        await person.until_text("2/3")
        await person.press("ctrl+z")
        await person.until_text("1/3")


async def test_what_is_on_record_for_good_says_the_way(studio: Studio, running: Start) -> None:
    """A reading is not taken out by undo; the sentence names what is done instead."""
    tiles.add_reading(studio, "T1", NewReading(30, 5, 6))
    async with running() as person:
        await person.press("3")
        await person.until_text("QT-2")
        await person.press("u")
        await person.until_text("Withdraw the reading")
        await person.press("escape")


async def test_signing_off_and_amending_by_keys(studio: Studio, running: Start) -> None:
    """S signs the cast off, the sheet says so; A adds to it, and the amendment stands in the sheet."""
    async with running() as person:
        await person.press("4")
        await person.until_text("1/3")
        await person.press("S")
        await person.until_text("never edited again")
        await person.press("ctrl+s")
        await person.until(lambda: "Signed off" in person.sheet())
        await person.press("A")
        await person.until_text("Amend C1")
        await person.fill(words="The base was waxed twice.", why="seen later")
        await person.press("ctrl+s")
        await person.until(lambda: "The base was waxed twice." in person.sheet())
    signed = seal_of(studio, "C1")
    assert (signed.sealed, signed.by, len(signed.amendments)) == (True, "Ansel Brook", 1)


async def test_a_reading_is_withdrawn_from_the_history(studio: Studio, running: Start) -> None:
    """w on the deed that added it asks why; then the tile has no colour."""
    async with running() as person:
        await person.press("3")
        await person.until_text("QT-2")
        await history(person)
        await person.press("w")
        await person.until_text("Withdraw reading D2")
        await person.fill(why="the card lay in the shade")
        await person.press("ctrl+s")
        await person.until(lambda: tiles.tile_sheet(studio, "T2").readings == ())
