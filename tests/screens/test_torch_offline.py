"""The torch screen while the database is stopped and started again, by keys alone."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from postgres_server import Databases
from screens_driver import Driver, Running
from screens_recipes import BROWN

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.recipes import finishes
from patina.bench.recipes.drafts import recipe_of_text
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import offline, work, work_forms
from patina.entries import NewBatch, NewCast, NewPiece
from patina.errors import Unreachable
from patina.records.studio import server as server_words
from tui.screens import torch


@pytest.fixture
def on_server(databases: Databases, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Studio]:
    """A studio on a server with a work at the step with passes."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(server_words, "LOOKS_S", (0.0,))
    monkeypatch.setattr(torch, "HELD_KEY_S", 0.0)
    monkeypatch.setattr(torch, "LOOK_S", 0.3)
    name = databases.new()
    with open_studio(databases.server.url(name)) as studio:
        studio.set_setting("who", "Ansel Brook")
        finishes.save_recipe(studio, recipe_of_text(studio, BROWN))
        casts.add_piece(studio, NewPiece("Cormorant", edition=3))
        casts.add_cast(studio, NewCast("W1", number="1/3", alloy="C87300"))
        batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 600))
        form = {"target": "C1", "recipe": "R1", "batch": "B1", "zones": "front 0.5 m2; back 0.3 m2"}
        sheet = work.start_work(studio, work_forms.work_form({**form, "thermometer": "contact °C"}))
        work.move_to(studio, sheet.row.id, step=2)
        yield studio
    databases.server.drop(name)


async def to_torch(person: Driver) -> torch.Torch:
    """From the first screen to the open work: 2, w, Enter."""
    await person.press("2")
    await person.until(lambda: person.app.screen.WHERE == "bench")
    await person.press("w")
    await person.until(lambda: type(person.app.screen).__name__ == "Choose")
    await person.press("enter")
    return await person.until(lambda: isinstance(person.app.screen, torch.Torch) and person.app.screen)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_the_database_goes_and_comes_back(on_server: Studio, databases: Databases, size: tuple[int, int]) -> None:
    """Keys are answered from the journal, the screen says plainly that nothing else works, other deeds say so,
    and when the database is back the keys are on record and the person is told."""
    stopped = False
    try:
        async with Running(on_server, size) as person:
            screen = await to_torch(person)
            await person.press("space")
            await person.until_text("On disk")
            databases.server.stop("immediate")
            stopped = True
            await person.press("space")
            await person.until_text("NO DATABASE", 20)
            await person.until(lambda: screen.sheet.passes_done == 2)
            await person.press("space", "z")
            await person.until(lambda: screen.sheet.zone == "back")
            for words in ("3 keys wait", "nothing else works", "In the journal"):
                await person.until_words(words)
            if shots := os.environ.get("PATINA_SHOTS"):
                (Path(shots) / f"offline{size[0]}.svg").write_text(person.app.export_screenshot())
            await person.press("x")
            await person.until_text("needs the database")
            await person.press("n")
            await person.until(lambda: screen.query_one("#torch-prompt").display)
            await person.write("a darker rim")
            await person.press("enter")
            await person.until(lambda: screen.tally is not None and screen.tally.waiting == 4)
            databases.server.start()
            stopped = False
            await person.until_text("The database is back", 20)
            await person.until(
                lambda: "of the journal on record" in person.text() and "NO DATABASE" not in person.text()
            )
            await person.press("space")
            await person.until_text("On disk")
    finally:
        if stopped:
            databases.server.start()
    sheet = work.work_sheet(on_server, "J1")
    assert [e.kind for e in sheet.events][-6:] == ["pass", "pass", "pass", "move", "note", "pass"]
    assert sheet.steps[1].done == (3, 1) and offline.waiting(on_server) == ()


async def test_a_waiting_journal_is_offered(on_server: Studio, databases: Databases) -> None:
    """A screen that was left without the database, and the program started again: taking the work up offers
    what waits, and puts it on record when it is said."""
    stopped = False
    try:
        async with Running(on_server, (120, 36)) as person:
            screen = await to_torch(person)
            databases.server.stop("immediate")
            stopped = True
            await person.press("space")
            await person.until_text("NO DATABASE", 20)
            await person.press("escape")
            await person.until(lambda: "other screens show nothing" in person.text())
            assert person.app.screen is screen
    finally:
        if stopped:
            databases.server.start()
    assert offline.waiting(on_server)[0].keys == 1
    async with Running(on_server, (120, 36)) as person:
        await person.press("2")
        await person.until(lambda: "takes the work up" in " ".join(n.message for n in person.app._notifications))
        await person.press("w")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        await person.press("enter")
        await person.until_text("Put them on record now")
        await person.press("enter")
        await person.until_text("1 key of the journal on record")
    assert work.work_sheet(on_server, "J1").steps[1].done == (1, 0) and offline.waiting(on_server) == ()


async def test_a_list_below_does_not_cover_the_torch(on_server: Studio) -> None:
    """A list that could not be read while something else lies on top says nothing there; on top it is said."""
    async with Running(on_server, (120, 36)) as person:
        screen = await to_torch(person)
        below = person.app.screen_stack[-2]

        def away() -> None:
            raise Unreachable("The database does not answer.", "Do it again when it is back.")

        below.work("Reading", away, lambda _none: None, quiet=True)  # type: ignore[attr-defined]
        await person.until(lambda: not any(t.words == "Reading" for t in person.app.jobs.running))
        assert person.app.screen is screen
        screen.work("Reading", away, lambda _none: None, quiet=True)
        await person.until_text("The database does not answer")
