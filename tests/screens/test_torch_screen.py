"""The torch screen, by keys alone."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from screens_driver import Driver, Running

from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work, work_forms
from patina.entries import NewBatch
from tui.screens import torch
from tui.widgets.figures import drawn, largest

Start = Callable[..., Running]
SIZES = [(80, 24), (120, 36)]


@pytest.fixture(autouse=True)
def no_held_keys(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests press faster than a hand."""
    monkeypatch.setattr(torch, "HELD_KEY_S", 0.0)


@pytest.fixture
def job(studio: Studio) -> str:
    """A work at the step with passes, on three zones, with a pot of 600 mL."""
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 600))
    form = {"target": "C1", "recipe": "R1", "batch": "B1", "zones": "front 0.5 m2; back 0.3 m2; base 0.2 m2"}
    form |= {"thermometer": "infrared 0.95 °C", "air": "20 °C"}
    sheet = work.start_work(studio, work_forms.work_form(form))
    return work.move_to(studio, sheet.row.id, step=2).row.id


async def to_torch(person: Driver) -> torch.Torch:
    """From the first screen to the open work: 2, w, Enter."""
    await person.press("2")
    await person.until(lambda: person.app.screen.WHERE == "bench")
    await person.press("w")
    await person.until(lambda: type(person.app.screen).__name__ == "Choose")
    await person.press("enter")
    return await person.until(lambda: isinstance(person.app.screen, torch.Torch) and person.app.screen)


def on_disk(studio: Studio) -> list[tuple[str, int | None]]:
    """Kind and pass of each event, read without the program."""
    with closing(sqlite3.connect(Path(studio.where) / "studio.db")) as database:
        return database.execute("SELECT kind, pass_number FROM work_event ORDER BY seq").fetchall()


@pytest.mark.parametrize("size", SIZES)
async def test_space_writes_a_pass_and_answers(running: Start, studio: Studio, job: str, size: tuple[int, int]) -> None:
    """Each Space is on disk when its answer stands on the screen; the figure grows with it."""
    async with running(size) as person:
        await to_torch(person)
        for n in range(1, 4):
            await person.press("space")
            await person.until_text(f"pass {n} front")
            assert on_disk(studio)[-1] == ("pass", n)
        await person.until_text("front ●●●○○○")
        text = person.text()
        assert "STEP 2 of" in text and "sulphide wash" in text and "3 to go" in text and "On disk" in text
        for line in drawn("3/6", 2 if size[0] == 80 else 3):
            assert any(line.rstrip() in row for row in text.splitlines())
        assert "front ●●●○○○" in text


@pytest.mark.parametrize("size", SIZES)
async def test_what_to_fear_is_always_in_sight(running: Start, job: str, size: tuple[int, int]) -> None:
    """The strip shows the gas of this pot and stays while keys are pressed and a figure is asked for."""
    async with running(size) as person:
        await to_torch(person)
        await person.until_text("Gives off hydrogen sulphide", 15)
        await person.press("space", "t")
        await person.until(lambda: person.app.screen.query_one("#torch-prompt").display)
        await person.until_text("Gives off hydrogen sulphide")


async def test_what_must_not_meet_stands_first(running: Start, studio: Studio) -> None:
    """In a recipe whose two washes make hydrogen sulphide the first line says so."""
    from patina.bench.recipes import finishes
    from patina.bench.recipes.drafts import recipe_of_text

    text = finishes.export_recipe(studio, "R1").replace("Slipway brown", "Two washes")
    acid = '\n[[solution]]\nname = "acid dip"\nsolvent = "distilled water"\nvolume_is = "made up to"\n'
    acid += '[[solution.ingredient]]\nsubstance = "nitric acid"\nstrength = "20 g/L"\n'
    step = '\n[[step]]\ndo = "apply"\nsolution = "acid dip"\nmethod = "cold brush"\ncoverage = "40 mL/m2"\n'
    at = text.index("[[step]]")
    finishes.save_recipe(studio, recipe_of_text(studio, text[:at] + acid.strip() + "\n\n" + text[at:] + step))
    sheet = work.start_work(studio, work_forms.work_form({"target": "C1", "recipe": "Two washes"}))
    work.move_to(studio, sheet.row.id, step=2)
    async with running((80, 24)) as person:
        screen = await to_torch(person)
        await person.until_text("MUST NOT MEET", 15)
        strip = screen.query_one("#torch-safety")
        assert "MUST NOT MEET" in strip.prose.plain.splitlines()[0]


async def test_a_reading_of_the_metal_is_made_true(running: Start, studio: Studio, job: str) -> None:
    """t, a figure, Enter: 68 shown on blasted bronze is 95 °C; too hot and too cold are said in words."""
    async with running() as person:
        screen = await to_torch(person)
        await person.press("t")
        await person.write("68 bare_blasted")
        await person.press("enter")
        await person.until(lambda: screen.sheet.last_temperature is not None)
        assert round(screen.sheet.last_temperature.true_c) in (94, 95, 96)
        await person.press("t")
        await person.write("80")
        await person.press("enter")
        await person.until_text("K TOO HOT")
        await person.press("t")
        await person.write("50")
        await person.press("enter")
        await person.until_text("K TOO COLD")


@pytest.mark.parametrize("typed", ["900 patinated", "hot", "80", "80 bare"])
async def test_a_reading_that_cannot_be_stays_in_the_line(running: Start, studio: Studio, job: str, typed: str) -> None:
    """What is refused is said where the answer stands, what was typed stays, and Escape leaves the line."""
    async with running((80, 24)) as person:
        screen = await to_torch(person)
        before = on_disk(studio)
        await person.press("t")
        await person.write(typed)
        await person.press("enter")
        await person.until_text("NOT WRITTEN")
        assert screen.query_one("#torch-typed").value == typed and on_disk(studio) == before
        await person.press("escape")
        await person.until(lambda: not screen.query_one("#torch-prompt").display)
        await person.press("space")
        await person.until_text("pass 1 front")


async def test_notes_levels_zones_steps_and_back(running: Start, studio: Studio, job: str) -> None:
    """n, v, z, s and b: each one key, each on disk; going back shows what was taken back."""
    async with running() as person:
        screen = await to_torch(person)
        await person.press("space", "v")
        await person.write("550")
        await person.press("enter", "n")
        await person.write("dries fast")
        await person.press("enter")
        await person.until_text("note: dries fast")
        assert batches.batch_sheet(studio, "B1").left_ml == 550
        await person.press("b")
        await person.until_text("taken back: note: dries fast")
        await person.press("b")
        await person.until(lambda: batches.batch_sheet(studio, "B1").left_ml == 600)
        await person.press("z")
        await person.until(lambda: screen.sheet.zone == "back")
        await person.press("s")
        await person.until(lambda: screen.sheet.step == 3 or "last step" in person.text())
        assert [k for k, _ in on_disk(studio)].count("back") == 2


async def test_the_outlook_follows_what_is_used(running: Start, job: str) -> None:
    """Two figures of the pot tell whether it lasts, and at which seam to stop."""
    async with running() as person:
        screen = await to_torch(person)
        for left in ("500", "400"):
            await person.press("space", "v")
            await person.write(left)
            await person.press("enter")
        await person.until(lambda: screen.outlook is not None and screen.outlook.outlook == "runs out", 15)
        await person.until(lambda: "It will not last" in person.text().replace("\n", " "))


async def test_a_key_that_is_held_counts_once(
    running: Start, studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wet glove that leans on the bar writes one pass, not twenty."""
    monkeypatch.setattr(torch, "HELD_KEY_S", 5.0)
    async with running() as person:
        await to_torch(person)
        await person.press(*["space"] * 8)
        await person.until_text("pass 1 front")
        assert [k for k, _ in on_disk(studio)].count("pass") == 1


async def test_a_second_screen_on_the_work_is_told(running: Start, studio: Studio, job: str) -> None:
    """What another program wrote is shown before this one counts; the next press is then on top of it."""
    async with running() as person:
        screen = await to_torch(person)
        screen._look = lambda: None  # type: ignore[method-assign]
        with open_studio(studio.where) as other:
            work.pass_done(other, job, by="Jory")
        await person.press("space")
        await person.until_text("open a second time")
        assert screen.sheet.passes_done == 1 and [k for k, _ in on_disk(studio)].count("pass") == 1
        await person.press("space")
        await person.until_text("pass 2 front")


async def test_what_another_screen_writes_is_seen(running: Start, studio: Studio, job: str) -> None:
    """Without a key the screen notices what was written elsewhere."""
    async with running() as person:
        screen = await to_torch(person)
        with open_studio(studio.where) as other:
            work.write_note(other, job, "second torch lit")
        await person.until(lambda: screen.sheet.events[-1].kind == "note", 8)
        await person.until_text("Written on another screen")


async def test_what_cannot_be_written_is_not_answered_as_done(
    running: Start, studio: Studio, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk: the answer says NOT WRITTEN, and the figure stays."""
    from patina.errors import StudioTrouble

    async with running() as person:
        screen = await to_torch(person)

        def full(*_: object, **__: object) -> None:
            raise StudioTrouble("The studio could not be written: the disk is full.", "Make room and do it again.")

        monkeypatch.setattr(work, "pass_done", full)
        await person.press("space")
        await person.until_text("NOT WRITTEN: The studio could not be written")
        assert screen.sheet.passes_done == 0
        monkeypatch.undo()
        monkeypatch.setattr(torch, "HELD_KEY_S", 0.0)
        await person.press("space")
        await person.until_text("pass 1 front")


async def test_begun_from_the_bench_by_keys(running: Start, studio: Studio) -> None:
    """w on a pot asks on what and how; what is wrong is said beside its field; then the screen stands."""
    batches.mix_batch(studio, NewBatch("R1", 1, "sulphide wash", 600))
    async with running() as person:
        await person.press("2")
        await person.until(lambda: person.app.screen.WHERE == "bench")
        await person.press("v")
        await person.until(lambda: person.app.screen.sheet is not None and person.app.screen.sheet.id == "B1")
        await person.press("w")
        await person.until(lambda: person.app.screen.query("#field-target"))
        assert person.app.screen.query_one("#field-batch").value.startswith("B1 ")
        await person.fill(zones="front 0.5 m2; back 0.3 m2", thermometer="gun")
        await person.press("ctrl+s")
        await person.until_text("Write contact or")
        await person.fill(target="C1", thermometer="contact °C", air="20 °C")
        await person.press("ctrl+s")
        screen = await person.until(lambda: isinstance(person.app.screen, torch.Torch) and person.app.screen)
        assert [z.name for z in screen.sheet.zones] == ["front", "back"] and screen.sheet.pot is None
        await person.press("space", "s")
        await person.until(lambda: screen.sheet.pot is not None and screen.sheet.pot.batch == "B1")
        await person.press("escape")
        await person.until(lambda: person.app.screen.WHERE == "bench")
    assert work.list_works(studio)[0].passes == 1


async def test_taken_up_where_it_was(running: Start, studio: Studio, job: str) -> None:
    """After the program was left, in the middle of a zone, the work goes on there."""
    async with running() as person:
        await to_torch(person)
        await person.press("z", "space", "space")
        await person.until_text("pass 2 back")
    async with running((80, 24)) as person:
        screen = await to_torch(person)
        assert (screen.sheet.step, screen.sheet.zone, screen.sheet.passes_done) == (2, "back", 2)


async def test_heat_release_log_and_the_end(running: Start, studio: Studio, job: str) -> None:
    """h asks for the wall and tells the drop; r names what is missing; l shows all; x ends the work."""
    async with running() as person:
        await to_torch(person)
        await person.press("space", "h")
        await person.until(lambda: person.app.screen.query("#field-wall"))
        await person.fill(wall="5 mm")
        await person.press("ctrl+s")
        await person.until_text("6.6 K")
        await person.press("escape", "r")
        await person.until_text("Release before wax: 7 readings missing")
        await person.press("down", "down", "enter")
        await person.until_text("conductivity of the supply water")
        await person.until_text("Not released")
        await person.press("escape", "l")
        await person.until_text("All that happened")
        await person.press("escape", "x")
        await person.until_text("End the work")
        await person.press("end", "enter")
        await person.until_text("Is the work done?")
        await person.press("down", "enter")
        await person.until(lambda: person.app.screen.WHERE == "bench")
    assert work.list_works(studio) == ()
    assert casts.cast_sheet(studio, "C1").treatments[-1].as_done[0].startswith("2. apply sulphide wash: front 1 pass")


async def test_figures_as_large_as_there_is_room() -> None:
    """Figures are drawn from blocks; where they do not fit they are drawn smaller, at last as plain text."""
    assert drawn("1", 2) == [" ".join(["  ██  "]), "████  ", "  ██  ", "  ██  ", "██████"]
    assert len(drawn("8", 3)) == 8 and len(drawn("8", 3)[0]) == 9
    assert len(largest("12/12", 40, 9)) < len(largest("2", 40, 9))
    assert largest("1234567890", 12, 9) == ["1234567890"]
