"""Printing by keys: what and in which form is asked, then where to; the pages are set behind the screen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from screens_driver import Driver, Running
from textual.widgets import Input, OptionList

from patina.bench.matched import agreed
from patina.bench.studio import Studio
from patina.entries import NewHolding
from tui.jobs import Ticket

Start = Callable[..., Running]


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _to(person: Driver, key: str, place: str) -> None:
    await person.press(key)
    await person.until(lambda: person.app.current_mode == place and person.app.screen.sheet is not None)


async def _choose(person: Driver, words: str) -> list[str]:
    """Choose the option that begins so; gives all options."""
    await person.until(lambda: _on(person, "Choose"))
    options = person.app.screen.query_one(OptionList)
    listed = [str(option.prompt) for option in options.options]
    at = next(n for n, text in enumerate(listed) if text.startswith(words))
    for _ in range(at):
        await person.press("down")
    await person.press("enter")
    return listed


async def _write_to(person: Driver, path: Path) -> None:
    await person.until(lambda: _on(person, "AskPath"))
    field = person.app.screen.query_one(Input)
    assert field.value.endswith(path.suffix), "the place offered has the ending of the form chosen"
    field.value = str(path)
    await person.press("enter")
    await person.until(lambda: path.is_file(), 20.0)


@pytest.mark.parametrize(
    ("what", "name", "said"),
    [
        ("Finish record, on paper", "cast.pdf", "Cormorant"),
        ("Finish record, as a page", "cast.html", "Cormorant"),
        ("Owner's sheet, as a page", "owner.html", "received by the owner"),
        ("Series report, on paper", "series.pdf", "Register"),
    ],
)
async def test_a_cast_is_printed_as_asked(
    what: str, name: str, said: str, running: Start, studio: Studio, tmp_path: Path
) -> None:
    """p asks which sheet and which form, offers a place with its ending, and writes it."""
    path = tmp_path / name
    async with running((80, 24)) as person:
        await _to(person, "4", "casts")
        await person.press("p")
        listed = await _choose(person, what)
        await _write_to(person, path)
    assert len(listed) == 6 and all("paper" in t or "page" in t for t in listed)
    text = path.read_text("utf-8") if path.suffix == ".html" else pypdf.PdfReader(path).pages[0].extract_text()
    assert said in text


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_an_agreed_finish_is_printed(
    running: Start, studio: Studio, tmp_path: Path, size: tuple[int, int]
) -> None:
    """From the agreed finishes p writes the one that is chosen: its name, its limit, who holds a tile of it."""
    agreed.hold_tile(studio, NewHolding("T1", "the Saltgate Rooms", "master", "M1"))
    path = tmp_path / "agreed.html"
    async with running(size) as person:
        await _to(person, "4", "casts")
        await person.press("v", "v")
        await person.until(lambda: getattr(person.app.screen.sheet, "name", "") == "Cormorant brown")
        await person.press("p")
        listed = await _choose(person, "Agreed finish, as a page")
        await _write_to(person, path)
    assert len(listed) == 2
    text = path.read_text("utf-8").replace("\N{NO-BREAK SPACE}", " ")
    for said in ("Agreed finish", "Cormorant brown", "L* 27.0", "limit ΔE", "T1", "QT-1", "the Saltgate Rooms"):
        assert said in text, said


async def test_a_piece_is_printed_as_its_series(running: Start, studio: Studio, tmp_path: Path) -> None:
    """From the pieces p writes the report of the edition."""
    path = tmp_path / "series.html"
    async with running((80, 24)) as person:
        await _to(person, "4", "casts")
        await person.press("v")
        await person.until(lambda: getattr(person.app.screen.sheet, "title", "") == "Cormorant")
        await person.press("p")
        await _choose(person, "Series report, as a page")
        await _write_to(person, path)
    assert "Series report" in path.read_text("utf-8")


async def test_a_tile_as_a_page(running: Start, studio: Studio, tmp_path: Path) -> None:
    """The tile's record as a page says its reading and runs no script."""
    path = tmp_path / "tile.html"
    async with running((120, 36)) as person:
        await _to(person, "3", "tiles")
        await person.press("p")
        await _choose(person, "Tile record, as a page")
        await _write_to(person, path)
    text = path.read_text("utf-8")
    assert "QT-" in text and "<script" not in text


async def test_the_series_screen_prints_itself(running: Start, studio: Studio, tmp_path: Path) -> None:
    """From the series, p writes the report of this series."""
    path = tmp_path / "series.html"
    async with running((120, 36)) as person:
        await _to(person, "4", "casts")
        await person.press("z")
        await person.until(lambda: _on(person, "Series") and person.app.screen.sheet is not None, 10.0)
        await person.press("p")
        await _choose(person, "Series report, as a page")
        await _write_to(person, path)
    assert "Cormorant" in path.read_text("utf-8")


async def test_the_safety_page_prints_itself(running: Start, studio: Studio, tmp_path: Path) -> None:
    """From a recipe's safety, F7 writes its safety sheet, with the revision that is looked at."""
    path = tmp_path / "safety.html"
    async with running((120, 36)) as person:
        await _to(person, "1", "finishes")
        await person.press("s")
        await person.until(lambda: _on(person, "SafetyPage") and person.app.screen.notes is not None, 10.0)
        await person.press("f7")
        await _choose(person, "Safety sheet, as a page")
        await _write_to(person, path)
    assert "revision 1" in path.read_text("utf-8")


async def test_how_far_it_is_stands_in_the_bar(
    running: Start, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The deed's steps are told to the work that is shown, in order."""
    told: list[str] = []
    monkeypatch.setattr(Ticket, "say", lambda self, step: told.append(step))
    path = tmp_path / "cast.html"
    async with running((80, 24)) as person:
        await _to(person, "4", "casts")
        await person.press("p")
        await _choose(person, "Finish record, as a page")
        await _write_to(person, path)
        await person.until(lambda: "Finish record written" in told)
    assert told.index("setting finish record") < told.index("Finish record written")


async def test_leaving_the_question_writes_nothing(running: Start, studio: Studio, tmp_path: Path) -> None:
    """Escape at each step leaves everything as it was."""
    before = sorted(p.name for p in Path(studio.where).iterdir())
    async with running((80, 24)) as person:
        await _to(person, "4", "casts")
        await person.press("p")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("escape")
        await person.until(lambda: not _on(person, "Choose"))
        await person.press("p")
        await _choose(person, "Finish record, on paper")
        await person.until(lambda: _on(person, "AskPath"))
        await person.press("escape")
        await person.until(lambda: not _on(person, "AskPath"))
    assert sorted(p.name for p in Path(studio.where).iterdir() if not p.name.endswith(("-wal", "-shm"))) == [
        n for n in before if not n.endswith(("-wal", "-shm"))
    ]
