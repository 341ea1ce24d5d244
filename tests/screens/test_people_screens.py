"""People, withheld recipes, owners and two at one recipe, by keys."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Driver, Running
from textual.widgets import TextArea

from patina.bench import access, people
from patina.bench.paper import owner
from patina.bench.pieces import casts
from patina.bench.recipes import conflicts, finishes
from patina.bench.studio import Studio
from patina.entries import NewTreatment
from tui.dialogs.conflict import Conflict
from tui.dialogs.form import Form


@pytest.fixture(autouse=True)
def own_config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What this machine is told of who works here stays in the test."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


async def _choose(driver: Driver, words: str) -> None:
    """The choice of a list that holds these words."""
    await driver.until_text(words)
    choices = driver.app.screen.query_one("#choices")
    for n in range(choices.option_count):  # type: ignore[attr-defined]
        if words in str(choices.get_option_at_index(n).prompt):  # type: ignore[attr-defined]
            choices.highlighted = n  # type: ignore[attr-defined]
            break
    else:
        raise AssertionError(words)
    choices.focus()
    await driver.press("enter")


def _somebody_else(studio: Studio, **changed: Any) -> None:
    """Another bench revises the first recipe."""
    sheet = finishes.recipe_sheet(studio, "R1")
    finishes.revise_recipe(
        studio,
        "R1",
        replace(sheet.recipe, **changed),
        reason="tried on a seal",
        by="Jory Penhale",
        version=sheet.version,
    )


async def _edit_and_save(driver: Driver, old: str, new: str) -> None:
    await driver.press("e")
    area = await driver.until(lambda: next(iter(driver.app.screen.query(TextArea)), None))
    area.text = area.text.replace(old, new)
    await driver.until_text("can be read")
    _somebody_else(driver.app.studio, finish="darker than before, satin")
    await driver.press("ctrl+s")
    await driver.until(lambda: isinstance(driver.app.screen, Form))
    await driver.fill(reason="a pass more")
    await driver.press("ctrl+s")
    await driver.until(lambda: isinstance(driver.app.screen, Conflict))


async def test_the_second_to_save_sees_both_and_merges(studio: Studio, running: Callable[..., Running]) -> None:
    """Who saves second is told and shown the difference; both changes together become the next revision."""
    text = finishes.recipe_sheet(studio, "R1").recipe
    more = text.steps.index(next(s for s in text.steps if s.do == "apply"))
    passes = text.steps[more].passes
    async with running((120, 36)) as driver:
        await _open(driver, "R1")
        await _edit_and_save(driver, f"passes = {passes}", f"passes = {passes + 5}")
        await driver.until_text("Jory Penhale")
        assert "darker than before" in driver.app.screen.query_one("#dialog-body ProseView").prose.plain  # type: ignore[attr-defined]
        await _choose(driver, "Both changes together")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.press("ctrl+s")
        await driver.until(lambda: finishes.recipe_sheet(studio, "R1").revision == 3)
    made = finishes.recipe_sheet(studio, "R1")
    assert made.recipe.finish == "darker than before, satin"
    assert made.recipe.steps[more].passes == passes + 5
    assert made.reason == "a pass more"
    assert conflicts.list_drafts(studio) == ()


async def test_left_for_later_the_text_waits(studio: Studio, running: Callable[..., Running]) -> None:
    """Escape loses nothing: the text waits, and is taken up again from the list of finishes."""
    async with running((80, 24)) as driver:
        await _open(driver, "R1")
        await _edit_and_save(driver, 'finish = "', 'finish = "mine: ')
        await driver.press("escape")
        (draft,) = await driver.until(lambda: conflicts.list_drafts(studio))
        assert draft.reason == "a pass more"
        await driver.until(lambda: not isinstance(driver.app.screen, Conflict))
        for _ in range(3):  # the first one leaves the text, the next the screen, without a question
            if driver.app.screen.query(TextArea):
                await driver.press("escape")
                await driver.pilot.pause(0.2)
        await driver.until(lambda: not driver.app.screen.query(TextArea))
        await driver.press("c")
        await _choose(driver, draft.id)
        await driver.until(lambda: isinstance(driver.app.screen, Conflict))
        assert "Both changes together" not in driver.text()  # both changed the look
        await _choose(driver, "My text on top")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.press("ctrl+s")
        await driver.until(lambda: finishes.recipe_sheet(studio, "R1").revision == 3)
    assert finishes.recipe_sheet(studio, "R1").recipe.finish.startswith("mine: ")
    assert finishes.recipe_sheet(studio, "R1", 2).recipe.finish.startswith("darker")


async def _open(driver: Driver, id: str) -> None:
    driver.app.open_record(id)
    await driver.until(lambda: getattr(driver.app.screen, "sheet", None) and driver.app.screen.sheet[0].id == id)  # type: ignore[attr-defined]


async def test_a_recipe_is_withheld_and_a_client_sees_tiles_and_safety(
    studio: Studio, running: Callable[..., Running]
) -> None:
    """The head registers people, withholds a recipe; a client at the same screen sees no strength and all safety."""
    async with running((120, 36)) as driver:
        await driver.press("f10")
        await _choose(driver, "Register somebody")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.fill(name="Ansel Brook", role="head")
        await driver.press("ctrl+s")
        await driver.until_text("Ansel Brook: head")
        await driver.press("escape")
        await _open(driver, "R1")
        await driver.press("W")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.fill(why="the house's own")
        await driver.press("ctrl+s")
        await driver.until(lambda: access.list_withheld(studio))
    strength = finishes.recipe_sheet(studio, "R1").recipe.solutions[0].ingredients[0].strength.as_written
    people.add_person(studio, "Nia Coll", "client")
    studio.store.identity.name = "Nia Coll"
    async with running((120, 36)) as driver:
        await _open(driver, "R1")
        await driver.until(lambda: "Safety, as mixed" in driver.sheet())
        said = driver.sheet()
        assert strength not in said
        assert "held by the studio" in said
        assert "QT-1" in said
        await driver.press("e")
        await driver.until_text("Held by the studio")
        await driver.press("escape")


async def test_an_owners_sheet_is_handed_over_and_comes_up_in_the_list(
    studio: Studio, running: Callable[..., Running], tmp_path: Path
) -> None:
    """Care is written, the sheet printed and handed over: who was given what stands there with its hash."""
    casts.add_treatment(studio, NewTreatment("C1", "patinated", recipe="R1", revision=1))
    paper = tmp_path / "owner.html"
    async with running((80, 24)) as driver:
        await driver.press("4")
        await driver.until(lambda: getattr(driver.app.screen, "sheet", None))
        await driver.press("h")
        await _choose(driver, "Care, wax")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.fill(care="wax once a year", next_check="2027-05-01", ask="Ansel Brook")
        await driver.press("ctrl+s")
        await driver.until(lambda: owner.care_of(studio, "C1").care)
        await driver.press("h")
        await _choose(driver, "Hand the owner's sheet over")
        await driver.until(lambda: isinstance(driver.app.screen, Form))
        await driver.fill(to="Coast Museum", as_what="owner", terms="for upkeep only", file=str(paper))
        await driver.press("ctrl+s")
        await driver.until(lambda: owner.given(studio))
        await driver.press("h")
        await _choose(driver, "What was given")
        await driver.until_text("Coast Museum")
        await driver.press("escape")
    (row,) = owner.given(studio)
    assert row.sha256 == hashlib.sha256(paper.read_bytes()).hexdigest()
    assert "wax once a year" in paper.read_text("utf-8")
