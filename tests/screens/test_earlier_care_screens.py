"""Care of an earlier treatment by keys: offered when the later one ends or is signed, taken over, ended or left."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Driver, Running

from patina.bench.studio import Studio
from patina.bench.treating import treat

Start = Callable[..., Running]


@pytest.fixture(autouse=True)
def _own_drafts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drafts of a test lie in a folder of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def twice(studio: Studio) -> Studio:
    """The small studio with two treatments of C1; the first has a point of care that is overdue."""
    for name, day in (("New wax", "2019-03-01"), ("Rewaxed", "2026-03-01")):
        treat.begin_treatment(studio, {"cast": "C1", "name": name, "owner": "Quay Trust", "started_on": day})
    treat.write_part(studio, "CT1", "care", {"trigger": "months", "task": "wax it", "from_day": "2020-01-01"})
    return studio


async def _to_later(person: Driver) -> Any:
    await person.press("4")
    await person.until(lambda: person.app.current_mode == "casts" and person.app.screen.sheet is not None)
    await person.press("w")
    await person.until(lambda: person.app.screen.query("#choices"))
    await person.press("enter")  # the newest stands first
    return await person.until(
        lambda: type(person.app.screen).__name__ == "Treatment" and person.app.screen.sheet and person.app.screen
    )


async def _form(person: Driver) -> None:
    await person.until(lambda: person.app.screen.query("#field-CI1"))
    assert person.app.screen.fields[0].label == "CI1 · by months · wax it · CT1 New wax"
    assert "goes on reminding" in dict(person.app.screen.fields[0].meanings)["leave"]


async def test_the_end_of_a_treatment_offers_earlier_care(running: Start, twice: Studio) -> None:
    """Once the day it was finished is said, the earlier point is asked about; taken over, it stands in the schedule."""
    async with running((80, 24)) as person:
        screen = await _to_later(person)
        await person.press("e")
        await person.until(lambda: person.app.screen.query("#field-finished_on"))
        await person.fill(finished_on="2026-04-20")
        await person.press("ctrl+s")
        await _form(person)
        await person.fill(CI1="burn it")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(CI1="take over", by="Ida")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen is screen and screen.sheet.record.care)
        assert screen.sheet.earlier_care == ()
        screen.go_to("care")
        await person.until(lambda: "wax it" in person.sheet())
    assert "taken over from CT1 New wax by CT2 Rewaxed" in treat.treatment_sheet(twice, "CT1").care[0].why


async def test_signing_asks_for_earlier_care_first(running: Start, twice: Studio) -> None:
    """S asks what becomes of it before the form of the signature; left as it is, the signature follows all the same."""
    async with running((120, 36)) as person:
        screen = await _to_later(person)
        await person.press("S")
        await _form(person)
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query("#field-statement"))
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen is screen and getattr(screen.signed, "sealed", False))
        assert len(screen.sheet.earlier_care) == 1, "left as it was"
        screen.go_to("care")
        await person.until(lambda: "Care of earlier treatments" in person.sheet())
        await person.press("n")
        await person.until(lambda: person.app.screen.query("#choices"))
        await person.press("end", "enter")
        await _form(person)
        await person.fill(CI1="end", why="the wax is off", by="Ida")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen is screen and not screen.sheet.earlier_care)
    assert "the wax is off" in treat.treatment_sheet(twice, "CT1").care[0].why


async def test_the_list_of_care_says_where_each_point_stems_from(running: Start, twice: Studio) -> None:
    """k in Casts names the treatment of each point and the one that came later."""
    async with running((80, 24)) as person:
        await person.press("4")
        await person.until_text("care due: 1, Quay Trust")
        await person.press("k")
        await person.until(lambda: type(person.app.screen).__name__ == "Notes")
        assert "From CT1 New wax; CT2 Rewaxed came later." in person.app.screen.prose.plain
