"""The five places by keys alone, at the two sizes people use."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Running

from patina.bench.studio import Studio, open_studio
from patina.errors import Refused
from tui import actions
from tui.dialogs.help import Help
from tui.widgets.bars import KeyBar

Start = Callable[..., Running]
SIZES = [(80, 24), (120, 36)]


@pytest.mark.parametrize("size", SIZES)
async def test_one_key_goes_to_each_place(running: Start, size: tuple[int, int]) -> None:
    """1 to 5 go to the five places, and each shows its records."""
    async with running(size) as person:
        for key, place, words in (
            ("2", "bench", "Slipway brown"),
            ("3", "tiles", "QT-2"),
            ("4", "casts", "Cormorant 1/3"),
            ("5", "shelf", "liver of sulphur"),
            ("1", "finishes", "Quay green"),
        ):
            await person.press(key)
            await person.until_text(words)
            assert person.app.current_mode == place


async def test_at_80_columns_list_or_sheet(running: Start) -> None:
    """On a narrow terminal Enter opens the sheet in place of the list, Escape goes back."""
    async with running((80, 24)) as person:
        left, right = person.app.screen.query_one("#left"), person.app.screen.query_one("#right")
        assert left.display and not right.display
        await person.press("enter")
        await person.until(lambda: right.display and not left.display)
        await person.until_text("thin green")
        await person.press("escape")
        await person.until(lambda: left.display and not right.display)


async def test_at_120_columns_list_and_sheet(running: Start) -> None:
    """On a wide terminal list and sheet stand side by side; Enter and Escape move between them."""
    async with running((120, 36)) as person:
        screen = person.app.screen
        assert screen.query_one("#left").display and screen.query_one("#right").display
        await person.press("enter")
        await person.until(lambda: person.app.focused is screen.query_one("#sheet"))
        await person.press("escape")
        await person.until(lambda: person.app.focused is screen.query_one("#list"))


@pytest.mark.parametrize("where", sorted({w for a in actions.ACTIONS for w in a.where} - {"everywhere"}))
def test_the_key_bar_fits_80_columns(where: str) -> None:
    """The key bar never runs over the edge, and help is always on it."""
    bar = KeyBar(where)
    shown = bar.shown(80)
    assert sum(bar._length(a) for a in shown) <= 80
    assert "help" in [a.name for a in shown]
    assert len(shown) >= 4


def test_no_two_actions_of_a_screen_share_a_key() -> None:
    """On any screen a key means one thing."""
    for where in {w for a in actions.ACTIONS for w in a.where} - {actions.EVERYWHERE}:
        keys = [k for a in actions.of_screen(where) for k in a.keys]
        assert len(keys) == len(set(keys)), where


@pytest.mark.parametrize("key", ["question_mark", "f1"])
@pytest.mark.parametrize("place", ["1", "2", "3", "4", "5"])
async def test_help_lists_every_action_of_the_place(running: Start, place: str, key: str) -> None:
    """? and F1 show every action of the screen with its sentence, from the one table."""
    async with running() as person:
        await person.press(place)
        await person.until(lambda: actions.PLACES[int(place) - 1] == person.app.screen.WHERE)
        where = person.app.screen.WHERE
        await person.press(key)
        await person.until(lambda: isinstance(person.app.screen, Help))
        told = person.app.screen.prose().plain
        for action in actions.of_screen(where):
            assert action.tooltip in told
            assert actions.key_name(action.keys[0]) in told
        await person.press("escape")
        await person.until(lambda: where == person.app.screen.WHERE)


async def test_every_action_of_the_table_is_there(running: Start) -> None:
    """Each action of a place has its method, so that no key of the table is dead."""
    async with running() as person:
        for place in actions.PLACES:
            person.app.go(place)
            await person.until(lambda place=place: place == person.app.screen.WHERE)
            for action in actions.of_screen(place):
                owner: Any = person.app if actions.EVERYWHERE in action.where else person.app.screen
                assert callable(getattr(owner, f"action_{action.name.partition('(')[0]}")), action


async def test_search_narrows_the_list(running: Start) -> None:
    """/ searches; words that nothing bears say so, and Escape clears them."""
    async with running() as person:
        await person.press("slash")
        await person.write("quay")
        rows = person.app.screen.record_list
        await person.until(lambda: len(rows.rows) == 1)
        await person.write("xyz")
        await person.until_text("Nothing is found by these words")
        await person.press("escape")
        await person.until(lambda: len(rows.rows) == 2)


async def test_the_palette_finds_records_by_name(running: Start) -> None:
    """Ctrl+P finds a tile by what is engraved on it and opens its sheet."""
    async with running() as person:
        await person.press("ctrl+p")
        await person.until(lambda: type(person.app.screen).__name__ == "CommandPalette")
        await person.write("QT-1")
        await person.until_text("T1  QT-1")
        await person.press("down", "enter")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        await person.until(lambda: person.app.screen.sheet.row.id == "T1")


async def test_an_empty_studio_says_what_to_do(tmp_path: Path) -> None:
    """No dead end: every empty list names the key that fills it."""
    with open_studio(tmp_path / "empty") as studio:
        async with Running(studio, (80, 24)) as person:
            await person.until_text("Start a first recipe")
            await person.press("escape")
            for key, words in (
                ("1", "n to write the first one"),
                ("2", "Go to Finishes"),
                ("3", "Press n to start a test tile"),
                ("4", "No casts yet"),
                ("5", "Press n to put a lot on it"),
            ):
                await person.press(key)
                await person.until(lambda words=words: words in " ".join(person.text().split()))


async def test_starters_come_in_by_one_key(tmp_path: Path) -> None:
    """In an empty studio a takes in the recipes that come with the program, and their sheets can be read."""
    with open_studio(tmp_path / "empty") as studio:
        async with Running(studio, (120, 36)) as person:
            await person.until_text("Start a first recipe")
            await person.press("escape", "a")
            await person.until(lambda: len(person.app.screen.record_list.rows) >= 12)
            await person.until(lambda: "Why:" in person.sheet())


async def test_light_and_dark(running: Start) -> None:
    """F8 changes between the two looks of the program's own theme."""
    async with running() as person:
        await person.press("f8")
        await person.until(lambda: person.app.theme == "patina light")
        await person.press("f8")
        await person.until(lambda: person.app.theme == "patina dark")


async def test_a_trouble_is_told_and_the_screen_lives_on(running: Start, studio: Studio) -> None:
    """An error with a name is shown with what happened and what to do; the next key works."""

    def refuse() -> None:
        raise Refused("The kiln is hot.", "Wait.")

    async with running() as person:
        person.app.screen.call_later(refuse)
        await person.until_text("The kiln is hot.")
        await person.until_text("Wait.")
        await person.press("escape")
        await person.press("3")
        await person.until_text("QT-2")


async def test_a_fault_is_written_down_and_owned_up_to(studio: Studio) -> None:
    """An error without a name is logged in the studio's folder and told politely, without a traceback."""
    running = Running(studio, (120, 36))

    def stumble() -> None:
        raise ZeroDivisionError("a fault made by the test")

    async with running as person:
        person.app.screen.call_later(stumble)
        await person.until_text("That should not have happened")
        assert "Traceback" not in person.text()
        assert "a fault made by the test" in (Path(studio.where) / "troubles.log").read_text("utf-8")
        await person.press("escape", "3")
        await person.until_text("QT-2")
        assert [type(f) for f in person.app.faults] == [ZeroDivisionError]
        person.app.faults.clear()


async def test_a_fault_in_a_thread_comes_through_the_same_door(studio: Studio) -> None:
    """Slow work that breaks is told like any other fault, and the screen does not wait for it."""
    async with Running(studio, (120, 36)) as person:
        person.app.jobs.start("Breaking", lambda _ticket: 1 // 0, lambda _: None)
        await person.until_text("That should not have happened")
        assert not person.app.jobs.running
        person.app.faults.clear()


async def test_slow_work_is_shown_and_can_be_stopped(running: Start) -> None:
    """While work goes on the keys work, the bar says what it is, and Ctrl+T drops its result."""
    import threading

    let_go = threading.Event()
    came: list[str] = []

    def slow(_ticket: Any) -> str:
        let_go.wait(5)
        return "late"

    async with running() as person:
        person.app.jobs.start("Boiling the kettle", slow, came.append)
        await person.until_text("Boiling the kettle")
        await person.press("3")
        await person.until_text("QT-2")
        await person.press("ctrl+t")
        await person.until(lambda: not person.app.jobs.running)
        let_go.set()
        await person.pilot.pause(0.1)
        assert came == []


async def test_the_mouse_works_the_bars(running: Start) -> None:
    """A click on a place goes there; a click on a key of the bar does what the key does."""
    async with running((120, 36)) as person:
        bar = person.app.screen.query_one("PlaceBar")
        at = person.text().splitlines()[0].index("3 Tiles")
        await person.pilot.click(bar, offset=(at + 2, 0))
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        keys = person.app.screen.query_one("KeyBar")
        at = person.text().splitlines()[-1].index("New")
        await person.pilot.click(keys, offset=(at + 1, 0))
        await person.until_text("Start a test tile")


async def test_a_terminal_made_narrow_and_wide_again(running: Start) -> None:
    """A window that is made narrow keeps the list, and shows both again when it is widened."""
    async with running((120, 36)) as person:
        screen = person.app.screen
        await person.pilot.resize_terminal(80, 24)
        await person.until(lambda: screen.query_one("#left").display and not screen.query_one("#right").display)
        await person.press("enter")
        await person.until(lambda: screen.query_one("#right").display and not screen.query_one("#left").display)
        await person.pilot.resize_terminal(120, 36)
        await person.until(lambda: screen.query_one("#left").display and screen.query_one("#right").display)
