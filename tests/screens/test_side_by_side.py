"""Tiles laid edge to edge: by keys, blocks that touch, tones as high as their shares, differences in words."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from screens_driver import Driver, Running

from patina.bench.readings import tiles
from patina.bench.readings.showing import screen_colour
from patina.bench.studio import Studio
from patina.colour.values import Lab
from patina.entries import NewReading, NewTile
from tui.screens.measuring import MOST_MARKED
from tui.widgets.laid import EdgeToEdge, Laid, tone_at
from tui.widgets.record_list import in_proportion

Start = Callable[..., Running]
BROWN, GREEN = Lab(27.0, 6.5, 9.0), Lab(58.0, -14.0, 6.0)
MOTTLE = ((27.0, 6.5, 9.0, 0.7), (58.0, -14.0, 6.0, 0.3))


def _rack(studio: Studio, count: int) -> None:
    """Further tiles, each lighter than the one before; the last is a mottle of two tones."""
    for n in range(count):
        row = tiles.start_tile(studio, NewTile(f"EE-{n}", "C87300")).row
        parts = MOTTLE if n == count - 1 else ()
        reading = NewReading(40.0 + 3 * n, 4.0, 12.0, uncertainty_de00=0.5, parts=parts)
        tiles.add_reading(studio, row.id, reading)


async def _marked(person: Driver, how_many: int) -> None:
    await person.press("3")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
    for _ in range(how_many):
        await person.press("space", "down")


def _said(person: Driver, words: str) -> bool:
    return any(words in n.message for n in person.app._notifications)


async def _laid(person: Driver, key: str = "z") -> EdgeToEdge:
    await person.press(key)
    await person.until(lambda: type(person.app.screen).__name__ == "SideBySide" and person.app.screen.laid)
    return person.app.screen.query_one(EdgeToEdge)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_three_tiles_lie_edge_to_edge(running: Start, studio: Studio, size: tuple[int, int]) -> None:
    """Marked with Space, three tiles fill the width without a gap, each in its own colour, with id and figures."""
    _rack(studio, 1)
    async with running(size) as person:
        await _marked(person, 3)
        edges = await _laid(person)
        assert [one.id for one in edges.laid] == ["T3", "T2", "T1"]
        ends = edges.edges(edges.size.width)
        line = [s for s in edges.render_line(2) if s.style and s.style.bgcolor]
        assert [len(s.text) for s in line] == [b - a for a, b in pairwise(ends)]
        assert sum(len(s.text) for s in line) == edges.size.width
        plain = [screen_colour(BROWN), *(screen_colour(one.lab) for one in edges.laid[1:])]
        assert [s.style.bgcolor.name for s in line] == plain
        for words in ("T3 EE-0", "T2 QT-2", "T1 QT-1", "L* 31.0", "a* 7.5", "70 % + 30 %", "Against T3 EE-0", "ΔE00"):
            await person.until_text(words)


def test_tones_are_as_high_as_their_shares() -> None:
    """Of a mottle of 70 % brown and 30 % green the upper seven tenths are brown, whatever order the parts come in."""
    laid = Laid("T1", "", "", BROWN, ((GREEN, 0.3), (BROWN, 0.7)))
    tones = [tone_at(laid, (n + 0.5) / 20) for n in range(20)]
    assert tones == [BROWN] * 14 + [GREEN] * 6
    assert tone_at(Laid("T1", "", "", GREEN), 0.9) == GREEN


def test_a_list_block_is_in_proportion() -> None:
    """Shares decide how wide each tone is in the list; without them all are alike; every cell is filled."""
    assert in_proportion(("a", "b"), (0.7, 0.3), 12) == ["a"] * 8 + ["b"] * 4
    assert in_proportion(("a", "b", "c"), (), 12) == ["a"] * 4 + ["b"] * 4 + ["c"] * 4
    assert in_proportion(("a", "b", "c"), (0.98, 0.01, 0.01), 12) == ["a"] * 12


async def test_the_first_is_what_others_are_set_against(running: Start) -> None:
    """x makes the chosen one the first: what was lighter is darker then; figures by hand from the two readings."""
    async with running() as person:
        await _marked(person, 2)
        await _laid(person)
        await person.until_text("Against T2 QT-2")
        await person.until_text("darker")
        assert round(person.app.screen.beside[0][0].difference.dL, 6) == -4.0  # 27.0 against 31.0
        await person.press("right", "v")
        await person.until_text("Against T1 QT-1")
        await person.until(lambda: "lighter" in person.text() and person.app.screen.ids == ["T1", "T2"])
        await person.press("shift+right")
        await person.until(lambda: person.app.screen.ids == ["T2", "T1"] and not person.app.jobs.running)
        await person.press("enter")
        await person.until(lambda: person.app.screen.WHERE == "tiles" and person.app.screen.sheet.row.id == "T1")


async def test_six_lie_side_by_side_and_a_seventh_pushes_the_first_out(running: Start, studio: Studio) -> None:
    """On 80 columns six blocks lie side by side, each with its lightness; of seven marks the last six count."""
    _rack(studio, 5)
    async with running((80, 24)) as person:
        await _marked(person, 7)
        edges = await _laid(person, "c")
        assert len(edges.laid) == MOST_MARKED
        assert [one.id for one in edges.laid] == ["T6", "T5", "T4", "T3", "T2", "T1"]
        await person.until(lambda: all(f"L* {one.lab.L:.1f}" in person.text() for one in edges.laid))
        await person.press("left", "c")
        await person.until(lambda: type(person.app.screen).__name__ == "Comparing" and person.app.screen.sheet)
        assert person.app.screen.sample == "T1"


async def test_what_was_not_measured_is_said(running: Start, studio: Studio) -> None:
    """A tile without a reading has no colour to lay down, and one tile lies beside nothing: both are said."""
    tiles.start_tile(studio, NewTile("EE-9", "C87300"))
    async with running() as person:
        await _marked(person, 0)
        await person.press("z")
        await person.until(lambda: _said(person, "Mark two or more with Space"))
        await person.press("space", "down", "space", "z")
        await person.until(lambda: _said(person, "T3 has no reading yet"))
