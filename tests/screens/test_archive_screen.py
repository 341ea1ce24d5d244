"""Archive bundles by keys alone: written of the chosen record, proved, handed over, taken in elsewhere."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from screens_driver import Driver, Running

from patina.bench.paper import archive, owner
from patina.bench.readings.tiles import list_tiles, start_tile
from patina.bench.studio import Studio, open_studio
from patina.entries import NewTile
from tui.dialogs.message import Notes
from tui.dialogs.path import AskPath

Start = Callable[..., Running]


async def _choose(keys: Driver, begins: str) -> None:
    """Open the archive's choices and take the one that begins so."""
    await keys.press("B")
    await keys.until(lambda: bool(keys.app.screen.query("#choices")))
    options = [words for _, words in keys.app.screen.options]  # type: ignore[attr-defined]
    await keys.press(*["down"] * next(n for n, o in enumerate(options) if begins in o), "enter")


async def _path(keys: Driver, path: Path) -> None:
    await keys.until(lambda: isinstance(keys.app.screen, AskPath))
    field = keys.app.screen.query_one("#path-input")
    field.focus()
    await keys.press("end", "ctrl+u")
    await keys.write(str(path))
    await keys.press("enter")


async def _told(keys: Driver) -> str:
    await keys.until(lambda: isinstance(keys.app.screen, Notes))
    words = keys.app.screen.prose.plain  # type: ignore[attr-defined]
    await keys.press("escape")
    await keys.until(lambda: not isinstance(keys.app.screen, Notes))
    return str(words)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_a_bundle_is_written_proved_and_handed_over(
    studio: Studio, running: Start, tmp_path: Path, size: object
) -> None:
    """From a tile: the file is there and sound, the screen says what is in it, and who was given it is on record."""
    file = tmp_path / "tile.zip"

    async with running(size) as keys:
        await keys.press("3")
        await keys.until(lambda: keys.app.screen.query_one("#list").chosen is not None)  # type: ignore[attr-defined]
        await _choose(keys, "with all that belongs to it")
        await _path(keys, file)
        assert "SHA-256" in await _told(keys)
        await _choose(keys, "prove it")
        await _path(keys, file)
        assert "in full" in await _told(keys)
        await _choose(keys, "hand it over")
        await keys.until(lambda: bool(keys.app.screen.query("#field-file")))
        await keys.fill(file=str(file), to="Orla Wend", receipt=str(tmp_path / "receipt.pdf"))
        await keys.press("ctrl+s")
        await keys.until(lambda: not keys.app.screen.query("#field-file"))

    assert archive.verify(file).target.startswith("T")
    assert (tmp_path / "receipt.pdf").read_bytes().startswith(b"%PDF")
    assert [g.to for g in owner.given(studio) if g.kind == "archive bundle"] == ["Orla Wend"]


async def test_a_bundle_is_taken_in_from_the_import_key(studio: Studio, running: Start, tmp_path: Path) -> None:
    """The import key of Finishes knows a bundle; what came, and every other number, is told."""
    with open_studio(tmp_path / "elsewhere") as elsewhere:
        start_tile(elsewhere, NewTile("from elsewhere", "C87300"))
        archive.archive(elsewhere, "T1", tmp_path / "b.zip", printed=False)
    before = len(list_tiles(studio))

    async with running((120, 36)) as keys:
        await keys.press("1", "i")
        await _path(keys, tmp_path / "b.zip")
        assert "1 record" in await _told(keys)

    assert len(list_tiles(studio)) == before + 1
