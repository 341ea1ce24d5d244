"""The screens by mouse: places, rows, keys below, options and buttons are clicked, and nothing is typed but words."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from screens_driver import Driver, Running

from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import Studio

Start = Callable[..., Running]


async def _click_words(person: Driver, words: str) -> None:
    """Click on these words where they stand on the screen."""
    await person.until_text(words)
    lines = person.text().splitlines()
    row = next(n for n, line in enumerate(lines) if words in line)
    column = lines[row].index(words) + 1
    await person.pilot.click(offset=(column, row))


async def _place(person: Driver, name: str) -> None:
    await _click_words(person, f" {name.capitalize()} ")
    await person.until(lambda: person.app.current_mode == name)
    await person.until(lambda: not person.app.jobs.running)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_a_round_by_mouse(running: Start, studio: Studio, size: tuple[int, int]) -> None:
    """Through the five places by their bar; a row is chosen, opened and left; a tile is marked, a lot is put on the
    shelf, a form left by its button: every step a click."""
    async with running(size) as person:
        for name in ("shelf", "bench", "casts", "finishes", "tiles"):
            await _place(person, name)
        await _click_words(person, "QT-1  T1")
        await person.until(lambda: person.app.screen.record_list.chosen == "T1")
        await person.until(lambda: person.app.screen.sheet.row.id == "T1")
        if size[0] < 100:
            await _click_words(person, "QT-1  T1")
            await person.until(lambda: person.app.screen.has_class("-reading"))
        await person.until_text("C87300")
        await person.press("escape")
        await _click_words(person, " New ")
        await person.until_text("Start a test tile")
        await _click_words(person, "Leave (Esc)")
        await person.until(lambda: type(person.app.screen).__name__ == "Tiles")
        await _place(person, "shelf")
        await _click_words(person, " New lot ")
        await person.until(lambda: person.app.screen.query("#field-amount"))
        await person.pilot.click("#field-substance")
        await person.write("sodium chloride")
        await person.pilot.click("#field-amount")
        await person.write("500 g")
        await _click_words(person, "Save (Ctrl+S)")
        await person.until(lambda: any(lot.substance == "sodium chloride" for lot in shelf.list_lots(studio)))
        await _place(person, "tiles")
        await _click_words(person, "QT-2  T2")
        await person.until(lambda: person.app.screen.record_list.chosen == "T2")
        await _click_words(person, " Mark")
        await person.until(lambda: person.app.screen.marked == ["T2"])
    assert len(tiles.list_tiles(studio)) == 2
