"""Tiles, casts and shelf by keys: forms that say all at once, readings, comparisons, verdicts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Driver, Running

from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.entries import NewTile

Start = Callable[..., Running]


async def _to(person: Driver, key: str, place: str) -> None:
    await person.press(key)
    await person.until(lambda: person.app.current_mode == place and person.app.screen.sheet is not None)


def _dialog(person: Driver, name: str = "Form") -> bool:
    return type(person.app.screen).__name__ == name


async def test_a_tile_form_says_all_that_is_wrong_at_once(running: Start, studio: Studio) -> None:
    """Three mistakes are told in one go, each under its field; put right, the tile is on record."""
    async with running((80, 24)) as person:
        await _to(person, "3", "tiles")
        await person.press("n")
        await person.until(lambda: _dialog(person))
        await person.fill(wall="5", made_on="soon")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 4)
        wrong = {field.id for field in person.app.screen.query(".-wrong")}
        assert wrong == {"field-engraved", "field-alloy", "field-wall", "field-made_on"}
        assert len(tiles.list_tiles(studio)) == 2
        await person.fill(engraved="QT-3", alloy="C87300", wall="5 mm", made_on="today", recipe="slipway brown")
        await person.press("ctrl+s")
        await person.until(lambda: len(tiles.list_tiles(studio)) == 3)
        sheet = tiles.tile_sheet(studio, "QT-3")
        assert (sheet.wall_mm, sheet.row.recipe_id, sheet.row.revision) == (5.0, "R1", 1)


async def test_a_reading_is_typed_in(running: Start, studio: Studio) -> None:
    """r types in a reading; L* over 100 is refused beside its field."""
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("r")
        await person.until(lambda: _dialog(person))
        await person.fill(L="127.4", a="6.3", b="9,2", uncertainty="0.8")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-L").has_class("-wrong"))
        await person.fill(L="27.4")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.current_mode == "tiles" and not _dialog(person))
        reading = tiles.tile_sheet(studio, "T2").readings[0]
        assert (reading.lab.L, reading.lab.a, reading.lab.b) == (27.4, 6.3, 9.2)
        await person.until(lambda: "L* 27.4  a* 6.3  b* 9.2" in person.sheet())


async def test_two_tiles_side_by_side(running: Start) -> None:
    """Two marked tiles are compared: figures as worked by hand from the two readings, words, both colours."""
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("down", "space", "up", "space", "c")
        await person.until(lambda: _dialog(person, "Comparing") and person.app.screen.sheet is not None)
        difference = person.app.screen.sheet.difference
        assert (round(difference.dL, 6), round(difference.da, 6), round(difference.db, 6)) == (4.0, 1.0, 2.5)
        await person.until_text("yellower")
        shown = person.text()
        assert "+4.00" in shown and "+1.00" in shown and "+2.50" in shown
        assert "lighter" in shown and "redder" in shown and "yellower" in shown
        await person.press("f")
        await person.until_text("CIE94")
        await person.press("v")
        await person.until_text("−4.00")


async def test_comparing_with_a_colour_that_is_none(running: Start) -> None:
    """What cannot be compared with is told beside the field, not after it."""
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("c")
        await person.until(lambda: _dialog(person))
        await person.fill(reference="200,0,0")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-reference").has_class("-wrong"))
        await person.fill(reference="27,6.5,9")
        await person.press("ctrl+s")
        await person.until(lambda: _dialog(person, "Comparing") and person.app.screen.sheet is not None)


async def test_a_verdict_by_word_and_sign(running: Start) -> None:
    """j judges a tile against an agreed finish; the verdict is a word and a sign, with its reason."""
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("down")
        await person.until(lambda: person.app.screen.sheet.row.id == "T1")
        await person.press("j")
        await person.until(lambda: _dialog(person, "Choose"))
        await person.press("enter")
        await person.until_text("✓ PASS")
        assert "Cormorant brown" in person.app.screen.prose.plain


async def test_readings_from_a_csv(running: Start, studio: Studio, tmp_path: Path) -> None:
    """i takes in an instrument's file whole; a bad row refuses it whole and names row and column."""
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text("L,a,b\n28,6,9\n29,6,9\n", "utf-8")
    bad.write_text("L,a,b\n28,6,9\n29,six,9\n", "utf-8")
    async with running() as person:
        await _to(person, "3", "tiles")
        for path in (bad, good):
            await person.press("i")
            await person.until(lambda: _dialog(person, "AskPath"))
            person.app.screen.query_one("#path-input").value = str(path)
            await person.press("enter")
            if path is bad:
                await person.until(lambda: _dialog(person, "Trouble"))
                await person.until(lambda: "row" in person.text() and "six" in person.text())
                await person.press("escape")
                await person.until(lambda: not _dialog(person, "Trouble"))
                assert len(tiles.tile_sheet(studio, "T2").readings) == 1
        await person.until(lambda: len(tiles.tile_sheet(studio, "T2").readings) == 3)
        await person.until(lambda: "L* 29.0" in person.sheet())


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("note.jpg", b"not a picture at all", "cannot be measured"),
        ("", b"", "Go on typing the name"),
        ("gone.jpg", None, "There is no file"),
    ],
)
async def test_a_file_that_is_no_photograph(
    running: Start, studio: Studio, tmp_path: Path, name: str, content: bytes | None, words: str
) -> None:
    """What is no photograph is refused in words, and nothing is stored."""
    path = tmp_path / name
    if name and content is not None:
        path.write_bytes(content)
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("f")
        await person.until(lambda: _dialog(person, "AskPath"))
        person.app.screen.query_one("#path-input").value = str(path)
        await person.press("enter")
        await person.until(lambda: words in " ".join(person.text().split()))
        assert tiles.tile_sheet(studio, "T2").photographs == ()


async def test_casts_pieces_and_agreed_finishes(running: Start, studio: Studio) -> None:
    """v changes the list; n adds to the one shown; t writes down a treatment."""
    async with running() as person:
        await _to(person, "4", "casts")
        await person.press("t")
        await person.until(lambda: _dialog(person))
        await person.fill(did="waxed", as_done="clear paste wax, cold; buffed")
        await person.press("ctrl+s")
        await person.until(lambda: casts.cast_sheet(studio, "C1").treatments)
        assert casts.cast_sheet(studio, "C1").treatments[0].as_done == ("clear paste wax, cold", "buffed")
        await person.until(lambda: person.app.current_mode == "casts" and not _dialog(person))
        await person.press("escape", "v", "n")
        await person.until(lambda: _dialog(person))
        await person.fill(title="Gannet", edition="many")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-edition").has_class("-wrong"))
        await person.fill(edition="5")
        await person.press("ctrl+s")
        await person.until(lambda: len(casts.list_pieces(studio)) == 2)
        await person.until_text("Gannet")
        await person.press("escape", "v")
        await person.until_text("limit 3")


async def test_the_shelf_tells_expired_and_hazards(running: Start, studio: Studio) -> None:
    """An expired lot says so in words; hazards of the substance stand on its sheet; t takes from it."""
    async with running() as person:
        await _to(person, "5", "shelf")
        await person.until_text("EXPIRED")
        await person.until(lambda: "H314" in person.sheet() or "H302" in person.sheet())
        chosen = person.app.screen.record_list.chosen
        await person.press("t")
        await person.until(lambda: _dialog(person))
        await person.fill(amount="1 kg", why="a trial")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#form-trouble").has_class("-said"))
        await person.fill(amount="10 g")
        await person.press("ctrl+s")
        await person.until(lambda: not _dialog(person))
        before = {"L1": 100.0, "L2": 250.0}[chosen]
        assert shelf.lot_row(studio, chosen).left == before - 10.0
        await person.press("escape", "n")
        await person.until(lambda: _dialog(person))
        await person.fill(substance="unobtainium", amount="5")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-amount").has_class("-wrong"))


async def test_a_stock_take_keeps_the_difference(running: Start, studio: Studio) -> None:
    """k writes what the lot really holds; the difference stands in its history with the remark."""
    async with running() as person:
        await _to(person, "5", "shelf")
        await person.until(lambda: person.app.screen.record_list.chosen)
        chosen = person.app.screen.record_list.chosen
        before = shelf.lot_row(studio, chosen).left
        await person.press("k")
        await person.until(lambda: _dialog(person))
        await person.fill(amount="41 g", why="counted in March")
        await person.press("ctrl+s")
        await person.until(lambda: not _dialog(person))
        assert shelf.lot_row(studio, chosen).left == 41.0
        moved = [m for m in shelf.lot_movements(studio, chosen) if m.why == "counted in March"]
        assert [m.amount for m in moved] == [41.0 - before]


async def test_a_recipe_edited_is_a_new_revision(running: Start, studio: Studio) -> None:
    """e edits the text; what is wrong is said while it is written, with its line; saving asks why."""
    async with running() as person:
        await person.press("e")
        await person.until(lambda: _dialog(person, "RecipeText"))
        await person.until_text("The text can be read")
        area = person.app.screen.query_one("#recipe-text")
        whole = area.text
        area.text = whole.replace('"5 g/L"', '"1:20"')
        await person.until(lambda: "▲!" in person.text())
        area.text = whole.replace("passes = 6", "passes = 7")
        await person.until_text("The text can be read")
        await person.press("ctrl+s")
        await person.until(lambda: _dialog(person))
        await person.fill(reason="the first coats were thin")
        await person.press("ctrl+s")
        await person.until(lambda: finishes.recipe_sheet(studio, "Quay green").revision == 2)
        await person.until(lambda: person.app.screen.WHERE == "finishes" and "7 passes" in person.sheet())
        await person.until(lambda: "the first coats were thin" in person.sheet())
        await person.press("l")
        await person.until(lambda: _dialog(person, "Choose"))
        await person.press("down", "enter")
        await person.until(lambda: "revision 1 of 2" in person.sheet())


async def test_the_tiles_most_like_it(running: Start) -> None:
    """l finds the tiles nearest to a colour, and opens the one chosen; a colour that is none is told."""
    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("l")
        await person.until(lambda: _dialog(person))
        await person.fill(colour="27 6.5 9")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#field-colour").has_class("-wrong"))
        await person.fill(colour="27,6.5,9")
        await person.press("ctrl+s")
        await person.until(lambda: _dialog(person, "Choose"))
        assert [id for id, _ in person.app.screen.options] == ["T1", "T2"]
        await person.press("enter")
        await person.until(lambda: not _dialog(person, "Choose") and person.app.screen.sheet.row.id == "T1")


async def test_who_works_here(running: Start, studio: Studio) -> None:
    """F9 says who works here; it stands beside what is put on record next."""
    async with running() as person:
        await person.press("f9")
        await person.until(lambda: _dialog(person))
        await person.fill(who="Petra Holm")
        await person.press("ctrl+s")
        await person.until(lambda: studio.setting("who") == "Petra Holm")


async def test_a_cast_is_corrected(running: Start, studio: Studio) -> None:
    """e corrects a cast; weights come back as they were written down, with their unit."""
    async with running() as person:
        await _to(person, "4", "casts")
        await person.press("e")
        await person.until(lambda: _dialog(person))
        await person.fill(mass="14.2 kg", owner="Harbour Board (invented)")
        await person.press("ctrl+s")
        await person.until(lambda: casts.cast_sheet(studio, "C1").mass_g == 14200.0)
        await person.until(lambda: not _dialog(person) and "14.2 kg" in person.sheet())


async def test_the_rack_in_other_orders(running: Start, studio: Studio) -> None:
    """o orders the rack; by lightness the darkest stands first and an unmeasured tile last."""
    tiles.start_tile(studio, NewTile("QT-0", "C83600"))
    async with running() as person:
        await _to(person, "3", "tiles")
        rows = person.app.screen.record_list
        await person.until(lambda: [r.engraved for r in rows.rows] == ["QT-0", "QT-2", "QT-1"])
        await person.press("o")
        await person.until(lambda: [r.engraved for r in rows.rows] == ["QT-1", "QT-2", "QT-0"])
        await person.press("o", "o")
        await person.until(lambda: rows.rows[-1].engraved == "QT-0" and rows.rows[0].recipe == "Slipway brown")


async def test_the_rack_is_asked_for_once_before_anybody_goes_there(
    running: Start, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While nobody waits, one tile is asked for from the first place: what is slow about the first question of a list
    is over when somebody goes to the rack."""
    asked: list[dict[str, Any]] = []
    real = tiles.list_tiles

    def heard(studio: Studio, *words: Any, **options: Any) -> Any:
        asked.append(options)
        return real(studio, *words, **options)

    monkeypatch.setattr(tiles, "list_tiles", heard)
    async with running() as person:
        await person.until(lambda: {"limit": 1} in asked)
        assert person.app.current_mode == "finishes"
        await person.until(lambda: not person.app.jobs.running)
