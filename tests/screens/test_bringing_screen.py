"""An old table is brought in by keys alone: its columns, its questions, a preview, and what came of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from screens_driver import Driver, Running

from patina.bench.bringing.bring_in import ENCODINGS
from patina.bench.bringing.bring_mapping import save_mapping, saved_mappings
from patina.bench.readings.tiles import tile_sheet
from patina.bench.shelves.shelf import list_lots
from patina.bench.studio import Studio
from patina.sheets.bringing import MappedColumn, TableMapping
from tui.dialogs.path import AskPath
from tui.screens.bringing import Bringing
from tui.screens.brought import Came

TABLE = (
    "Shelf list 2019\n"
    "Chemical,Qty,Lot no.,Opened,Remarks\n"
    "ferric nitrate,500,FN-1,3/4/2019,lumps\n"
    "silver nitrate,2 oz,AG-1,25/4/2019,\n"
    "green salt,100,,,who knows\n"
    "Total,600,,,\n"
)


async def _open(keys: Driver, path: Path) -> None:
    await keys.press("ctrl+o")
    await keys.until_text("A table: CSV or XLSX")
    await keys.press("enter")
    await keys.until(lambda: isinstance(keys.app.screen, AskPath))
    field = keys.app.screen.query_one("#path-input")
    field.focus()
    await keys.press("end", "ctrl+u")
    await keys.write(str(path))
    await keys.press("enter")
    await keys.until(lambda: isinstance(keys.app.screen, Bringing) and keys.app.screen.plan is not None)


async def _answer_all(keys: Driver, answers: dict[str, str]) -> None:
    """Answer what is open, one after another, by the option that begins so; typed where no option does."""
    for _ in range(len(answers)):
        screen = keys.app.screen
        assert isinstance(screen, Bringing)
        assert screen.plan is not None
        before = len(screen.plan.open)
        question = screen.plan.open[0]
        answer = answers[question.about]
        await keys.press("a")
        if question.free:
            await keys.until(lambda: bool(keys.app.screen.query("#field-answer")))
            await keys.fill(answer=answer)
            await keys.press("enter")
        else:
            await keys.until(lambda: bool(keys.app.screen.query("#choices")))
            await keys.press(*["down"] * [o for o, _ in question.options].index(answer), "enter")
        await keys.until(
            lambda b=before: isinstance(keys.app.screen, Bringing) and len(keys.app.screen.plan.open) < b  # type: ignore[union-attr,misc]
        )


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_a_shelf_list_is_brought_in_by_keys(
    running: Callable[..., Running], studio: Studio, tmp_path: Path, size: tuple[int, int]
) -> None:
    """Every question is asked once; the preview keeps nothing; then each row is in, or shown with its reason."""
    path = tmp_path / "shelf list.csv"
    path.write_text(TABLE, encoding="utf-8")
    before = len(list_lots(studio))
    async with running(size) as keys:
        await _open(keys, path)
        await keys.until_text("4 rows of lots")
        await keys.until_text("open")
        await _answer_all(keys, {"unit": "g", "word oz": "oz t", "dates": "day-month", "value green salt": "refuse"})
        await keys.until_text("nothing is open")
        await keys.press("w")
        await keys.fill(name="shelf list")
        await keys.press("enter")
        await keys.until(lambda: saved_mappings(studio) == ("shelf list",))
        await keys.until(lambda: isinstance(keys.app.screen, Bringing))
        await keys.press("t")
        await keys.until(lambda: isinstance(keys.app.screen, Came))
        await keys.until_text("2 of 4 rows would be brought in")
        await keys.until(lambda: "a row of totals" in keys.sheet())
        assert len(list_lots(studio)) == before, "a preview keeps nothing"
        await keys.press("b")
        await keys.until_text("2 of 4 rows brought in")
        await keys.press("E")
        await keys.until(lambda: isinstance(keys.app.screen, AskPath))
        keys.app.screen.query_one("#path-input").value = str(tmp_path / "refused.csv")  # type: ignore[attr-defined]
        await keys.press("enter")
        await keys.until(lambda: (tmp_path / "refused.csv").is_file())
    assert "green salt" in (tmp_path / "refused.csv").read_text("utf-8-sig")
    lots = {lot.lot_number: lot for lot in list_lots(studio)}
    assert (lots["FN-1"].amount, lots["FN-1"].unit) == (500.0, "g")
    assert lots["FN-1"].opened_on is not None
    assert lots["FN-1"].opened_on.isoformat() == "2019-04-03"
    assert lots["AG-1"].amount == pytest.approx(2 * 31.1034768)  # the troy ounce, NIST Handbook 44


async def test_what_a_column_means_can_be_changed(
    running: Callable[..., Running], studio: Studio, tmp_path: Path
) -> None:
    """Enter on a column offers the fields; leaving it out, nothing of it is kept."""
    path = tmp_path / "tiles.csv"
    path.write_text("Mark,Alloy,Remarks\nOLD-1,C87300,private words\n", encoding="utf-8")
    async with running((80, 24)) as keys:
        await _open(keys, path)
        await keys.press("down", "down", "enter")
        await keys.until(lambda: bool(keys.app.screen.query("#choices")))
        await keys.press("home", "enter")
        await keys.until_text("left out")
        await keys.press("t")
        await keys.until(lambda: isinstance(keys.app.screen, Came))
        await keys.press("b")
        await keys.until_text("1 of 1 rows brought in")
        await keys.press("escape", "escape")
    sheet = tile_sheet(studio, "OLD-1")
    assert sheet.row.alloy == "C87300"
    assert sheet.note == ""


async def test_headings_encoding_kind_and_a_kept_mapping_by_keys(
    running: Callable[..., Running], studio: Studio, tmp_path: Path
) -> None:
    """What was found wrongly is said by a key each; a mapping that was kept is taken again."""
    path = tmp_path / "mac.csv"
    path.write_bytes("alloy,metal\nNr.,Legierung,Bemerkung\nG-1,C87300,grün\n".encode("mac-roman"))
    save_mapping(studio, TableMapping("tiles", (MappedColumn("Nr.", "engraved"),), {"alloy": "C83600"}, "only marks"))
    async with running((120, 36)) as keys:
        await _open(keys, path)
        screen = keys.app.screen
        assert isinstance(screen, Bringing)
        await keys.press("f")
        await keys.until(lambda: bool(keys.app.screen.query("#choices")))
        await keys.press(*["down"] * (1 + ENCODINGS.index("mac-roman")), "enter")
        await keys.until_text("grün")
        await keys.press("h")
        await keys.until(lambda: bool(keys.app.screen.query("#field-row")))
        await keys.fill(row="2")
        await keys.press("enter")
        await keys.until_text("headings in row 2")
        await keys.press("k")
        await keys.until(lambda: bool(keys.app.screen.query("#choices")))
        await keys.press("home", "down", "enter")
        await keys.until_text("rows of tiles")
        await keys.press("m")
        await keys.until_text("only marks")
        await keys.press("enter")
        await keys.until(lambda: screen.plan is not None and screen.plan.mapping.every == {"alloy": "C83600"})
        assert screen.plan is not None
        assert [c.field for c in screen.plan.mapping.columns] == ["engraved", "", ""]
        await keys.press("escape")


async def test_a_file_that_is_no_table_is_told_on_the_screen(running: Callable[..., Running], tmp_path: Path) -> None:
    """A workbook that is none says so in words, and Escape leads back."""
    path = tmp_path / "no.xlsx"
    path.write_bytes(b"PK\x03\x04 no workbook")
    async with running((80, 24)) as keys:
        await keys.press("ctrl+o")
        await keys.until_text("A table: CSV or XLSX")
        await keys.press("enter")
        await keys.until(lambda: isinstance(keys.app.screen, AskPath))
        keys.app.screen.query_one("#path-input").value = str(path)  # type: ignore[attr-defined]
        await keys.press("enter")
        await keys.until_text("no workbook that can be read")
        await keys.press("escape")
        await keys.until(lambda: not isinstance(keys.app.screen, Bringing))


async def test_old_photographs_are_put_with_their_tiles_by_keys(
    running: Callable[..., Running], studio: Studio, tmp_path: Path
) -> None:
    """The pattern of file names is asked for; each photograph is shown with where it goes before it is kept."""
    from PIL import Image

    folder = tmp_path / "old"
    folder.mkdir()
    Image.new("RGB", (640, 480), (120, 80, 40)).save(folder / "QT-1_before.jpg")
    Image.new("RGB", (640, 480), (10, 80, 40)).save(folder / "elsewhere.jpg")
    (folder / "broken_x.jpg").write_bytes(b"\xff\xd8\xff no picture")
    async with running((120, 36)) as keys:
        await keys.press("ctrl+o")
        await keys.until_text("A folder of old photographs")
        await keys.press("down", "enter")
        await keys.until_text("File names")
        await keys.fill(folder=str(folder), pattern="{mark}_{state}")
        await keys.press("ctrl+s")
        await keys.until(lambda: isinstance(keys.app.screen, Came))
        await keys.until_text("1 of 3 photographs would be put")
        await keys.press("b")
        await keys.until_text("1 of 3 photographs put with their records")
    kept = tile_sheet(studio, "QT-1").photographs
    assert [(p.state, "not to be measured" in p.note) for p in kept] == [("before", True)]
