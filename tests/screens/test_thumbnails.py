"""Thumbnails come after the sheet and never keep a person waiting."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PIL import Image
from screens_driver import Driver, Running

from patina.bench.readings import tiles
from patina.bench.readings.showing import Preview, preview
from patina.bench.studio import Studio
from patina.colour.values import Lab
from tui.screens import measuring
from tui.widgets.half_blocks import cell, outlines
from tui.widgets.prose import Prose
from tui.widgets.thumbnails import CACHE, COLUMNS, KEPT, LINES, Cache, Thumbnails

Start = Callable[..., Running]


@pytest.fixture(autouse=True)
def empty_cache() -> Iterator[None]:
    """Each test begins with no thumbnail read."""
    CACHE._kept.clear()
    yield
    CACHE._kept.clear()


@pytest.fixture
def photographs(studio: Studio, tmp_path: Path) -> list[str]:
    """Two photographs of T2, one of T1: each of one colour, 400 × 300 px. Their hashes."""
    hashes = []
    for n, (tile, colour) in enumerate((("T2", (96, 64, 40)), ("T2", (40, 96, 64)), ("T1", (64, 40, 96)))):
        path = tmp_path / f"one-{n}.png"
        Image.new("RGB", (400, 300), colour).save(path)
        hashes.append(tiles.add_photograph(studio, tile, path).sha256)
    return hashes


def _thumbnails(person: Driver) -> Thumbnails:
    return person.app.screen.query_one(Thumbnails)  # type: ignore[no-any-return]


async def _to_tiles(person: Driver) -> None:
    await person.press("3")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)


async def test_keys_are_answered_while_thumbnails_load(
    running: Start, studio: Studio, photographs: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a photograph that takes for ever to read, the list moves, the sheet changes and dialogs open; only
    one is read at a time; when it is read the pictures come one after another."""
    may_go_on, begun = Event(), []

    def slow(path: Path, columns: int, rows: int) -> Any:
        begun.append(path)
        assert may_go_on.wait(20)
        return preview(path, columns, rows)

    monkeypatch.setattr(measuring, "preview", slow)
    try:
        async with running() as person:
            await _to_tiles(person)
            await person.until(lambda: "one-0.png" in person.sheet() and begun)
            assert [sha256 for sha256, _ in _thumbnails(person).shown] == photographs[:2]
            await person.press("down")
            await person.until(lambda: person.app.screen.sheet.row.id == "T1")
            await person.press("up")
            await person.until(lambda: person.app.screen.sheet.row.id == "T2")
            await person.press("n")
            await person.until(lambda: type(person.app.screen).__name__ == "Form")
            await person.press("escape")
            await person.until(lambda: len(begun) == 1)
            may_go_on.set()
            await person.until(lambda: _thumbnails(person).missing is None)
            assert {CACHE.get(sha256).at(0, 0) for sha256 in photographs[:2]} == {(96, 64, 40), (40, 96, 64)}
    finally:
        may_go_on.set()


async def test_what_was_read_is_not_read_again(
    running: Start, studio: Studio, photographs: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Coming back to a tile, its pictures are there at once, from memory."""
    read: list[Path] = []

    def counted(path: Path, columns: int, rows: int) -> Any:
        read.append(path)
        return preview(path, columns, rows)

    monkeypatch.setattr(measuring, "preview", counted)
    async with running((80, 24)) as person:
        await _to_tiles(person)
        await person.until(lambda: _thumbnails(person).missing is None and len(CACHE) == 2)
        await person.press("down")
        await person.until(lambda: person.app.screen.sheet.row.id == "T1" and len(CACHE) == 3)
        await person.press("up")
        await person.until(lambda: person.app.screen.sheet.row.id == "T2")
        assert _thumbnails(person).missing is None
        assert len(read) == 3


async def test_a_photograph_whose_file_is_gone_is_said_in_its_place(
    running: Start, studio: Studio, photographs: list[str]
) -> None:
    """A lost file stands as words in its field; the other picture is shown, and no dialog comes up."""
    tiles.photograph_path(studio, photographs[0]).unlink()
    async with running() as person:
        await _to_tiles(person)
        await person.until(lambda: _thumbnails(person).missing is None)
        assert isinstance(CACHE.get(photographs[0]), str)
        assert isinstance(CACHE.get(photographs[1]), Preview)
        assert type(person.app.screen).__name__ == "Tiles"


def test_the_cache_has_a_bound() -> None:
    """However many photographs are seen, so many small copies are kept, the newest used among them."""
    cache = Cache()
    small = Preview(COLUMNS, 2 * LINES, bytes(3 * COLUMNS * 2 * LINES), 4000, 3000)
    for n in range(10 * KEPT):
        cache.put(f"{n}", small)
        cache.get("0" if n < KEPT else f"{n - KEPT + 1}")
    assert len(cache) == KEPT
    assert cache.get(f"{10 * KEPT - 1}") is small
    assert cache.get("1") is None


def test_half_blocks_hold_two_pixels() -> None:
    """The upper pixel is the ink, the lower the ground; marks are drawn over both."""
    small = Preview(1, 2, bytes((255, 0, 0, 0, 0, 255)), 10, 20)
    drawn = cell(small, 0, 0)
    assert drawn.style is not None and drawn.style.color is not None and drawn.style.bgcolor is not None
    assert (drawn.style.color.name, drawn.style.bgcolor.name) == ("#ff0000", "#0000ff")
    marked = cell(small, 0, 0, {(0, 1): (255, 255, 255)})
    assert marked.style is not None and marked.style.bgcolor is not None
    assert marked.style.bgcolor.name == "#ffffff"


def test_outlines_leave_the_middle_free_and_small_shapes_alone() -> None:
    """A square of 8 small pixels gets a rim; of 3, a dot; of 1, nothing; a shape at no place is left out."""

    def square(side: float) -> list[tuple[float, float]]:
        return [(10, 10), (10 + side, 10), (10 + side, 10 + side), (10, 10 + side)]

    dark = Preview(30, 30, bytes(3 * 30 * 30), 30, 30)
    rim = outlines(dark, [square(8)])
    assert len(rim) == 32 and (14, 14) not in rim and set(rim.values()) == {(255, 255, 255)}
    assert set(outlines(dark, [square(3)])) == {(11, 11)}
    assert outlines(dark, [square(1)]) == {}
    assert outlines(dark, [[(float("nan"), 0.0)] * 4]) == {}


def test_a_pair_of_colours_says_both_lines() -> None:
    """Two touching blocks carry the figure and the words of the difference."""
    prose = Prose().pair(Lab(30, 5, 8), Lab(50, -20, 5), "ΔE00 24.0 ± 3.0", "greener, lighter", sure=True)
    assert [line.plain.strip() for line in prose.lines(80)] == ["ΔE00 24.0 ± 3.0", "greener, lighter"]
