"""The whole job by keys alone: recipe, mix, tile, photograph, reading, comparison."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from screens_driver import Driver, Running
from screens_recipes import BROWN

from patina.bench.readings import tiles
from patina.bench.readings.comparing import compare
from patina.bench.studio import open_studio
from tui.screens.photograph import Photograph

SWATCHES = Path(__file__).parents[2] / "swatches"
PICTURE = "brown-and-chestnut.jpg"


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _take_in(person: Driver, path: Path) -> None:
    await person.until(lambda: _on(person, "AskPath"))
    await person.press("end", "ctrl+u")
    await person.write(str(path))
    await person.press("enter")


async def _frame(person: Driver, rect: list[int]) -> None:
    """Set the only area by typing its pixels."""
    await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames)
    await person.until(lambda: "The chart was found" in person.text().replace("\n", " "), 6.0)
    await person.press("t")
    await person.until(lambda: _on(person, "Form"))
    await person.fill(area0=",".join(str(v) for v in rect))
    await person.press("ctrl+s")
    await person.until(lambda: _on(person, "Photograph"))


async def _tile(person: Driver, engraved: str, rect: list[int], edition_downs: int | None) -> None:
    """From the recipe: a tile, its photograph, a reading that is kept."""
    await person.press("1")
    await person.until(lambda: person.app.screen.WHERE == "finishes" and person.app.screen.sheet is not None)
    await person.press("t")
    await person.until(lambda: _on(person, "Form"))
    await person.write(engraved)
    await person.press("ctrl+s")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
    await person.until(lambda: person.app.screen.sheet.row.engraved == engraved)
    await person.press("f")
    await _take_in(person, SWATCHES / PICTURE)
    await _frame(person, rect)
    await person.press("enter")
    if edition_downs is not None:
        await person.until(lambda: _on(person, "Choose"))
        await person.press(*["down"] * edition_downs, "enter")
    await person.until(lambda: _on(person, "Reading") and person.app.screen.query("#reading-words"), 8.0)
    await person.press("enter")
    await person.until(lambda: _on(person, "Form"))
    await person.press("ctrl+s")
    await person.until(lambda: _on(person, "Tiles"))


async def test_the_whole_job_by_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An empty studio, a recipe file and a photograph, keys only: at the end the difference of two tiles
    stands on the screen, within the uncertainty of what the picture was rendered from."""
    monkeypatch.setattr(Photograph, "edition", "")
    truth = {t["name"]: t for t in json.loads((SWATCHES / "truth.json").read_text("utf-8"))[PICTURE]["tiles"]}
    recipe = tmp_path / "slipway.toml"
    recipe.write_text(BROWN, "utf-8")
    with open_studio(tmp_path / "studio") as studio:
        async with Running(studio, (120, 36)) as person:
            await person.until_text("Start a first recipe")
            await person.press("escape", "i")
            await _take_in(person, recipe)
            await person.until(
                lambda: _on(person, "Finishes") and "1768" not in person.text() and person.app.screen.sheet
            )
            await person.press("m")
            await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
            await person.write("2.3 m2")
            await person.until(lambda: "1768 mL" in person.sheet())
            await person.press("escape")
            await _tile(person, "SB-1", truth["dark brown"]["rect"], 1)
            await _tile(person, "SB-2", truth["chestnut"]["rect"], None)
            await person.press("escape")
            await person.press("space", "down", "space", "c")
            await person.until(lambda: _on(person, "Comparing") and person.app.screen.sheet is not None)
            shown = person.app.screen.sheet
            await person.until_text("CIEDE2000")
        for engraved, name in (("SB-1", "dark brown"), ("SB-2", "chestnut")):
            sheet = tiles.tile_sheet(studio, engraved)
            reading = sheet.readings[0]
            assert reading.photograph == sheet.photographs[0].sha256
            assert reading.uncertainty_de00 is not None
            ours = f"{reading.lab.L},{reading.lab.a},{reading.lab.b}"
            true = ",".join(str(v) for v in truth[name]["lab"])
            assert compare(None, true, ours).difference.delta_e < max(reading.uncertainty_de00, 3.0)
        assert shown.difference.delta_e > 5.0
