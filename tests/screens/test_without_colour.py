"""Colour is never the only signal: without colours the screens say the same in words, figures and shapes."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from screens_driver import Driver, Running
from snapshots import picture_of
from textual.color import Color

from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.entries import NewTile
from tui import format as show

Start = Callable[..., Running]


@pytest.fixture(autouse=True)
def _no_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """What people set who want no colours. Source: the informal standard NO_COLOR, no-color.org."""
    monkeypatch.setenv("NO_COLOR", "1")


async def _to(person: Driver, key: str, place: str) -> None:
    await person.press(key)
    await person.until(lambda: person.app.current_mode == place and person.app.screen.sheet is not None)


def _greys(person: Driver) -> bool:
    """Whether every colour on the screen is a grey."""
    shades = {colour for runs in picture_of(person)["lines"] for _, *both, _ in runs for colour in both if colour}
    return all(max(c.rgb) - min(c.rgb) <= 2 for c in map(Color.parse, shades))


async def test_tiles_are_told_by_words_and_signs(running: Start, studio: Studio) -> None:
    """In greys each tile has its colour in words, the chosen one a bar, a marked one its number, an empty one a
    hatched block."""
    tiles.start_tile(studio, NewTile("NC-1", "C87300"))
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("down", "space", "down")
        await person.until_text("1\N{BLACK DIAMOND}")
        lines = person.text().splitlines()
        assert _greys(person)
        for row in person.app.screen.record_list.rows:
            title = next(line[:46] for line in lines if row.engraved in line[:46])
            assert row.lab is None or show.colour_words(row.lab.L, row.lab.a, row.lab.b) in title
        assert any("░░░░░░" in line for line in lines)
        assert any(line.startswith("\N{LEFT HALF BLOCK}") and "QT-1" in line for line in lines)
        await person.until_text("▸Tiles")


async def test_side_by_side_is_told_by_words(running: Start) -> None:
    """In greys two tiles side by side still say what sets them apart, and which one is chosen."""
    async with running((80, 24)) as person:
        await _to(person, "3", "tiles")
        await person.press("space", "down", "space", "z")
        await person.until_text("Against T2")
        assert _greys(person)
        await person.until(lambda: "▼T2" in person.text() and "darker" in person.text())


async def test_an_expired_lot_is_told_by_a_word(running: Start) -> None:
    """In greys an expired lot says EXPIRED, and a grave caution has its sign."""
    async with running() as person:
        await _to(person, "5", "shelf")
        await person.until_text("EXPIRED")
        assert _greys(person)
        await person.until_text("▲!")
