"""Placards, whole shoots, before and after, and the corrected picture, by keys."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from screens_driver import Driver, Running

import swatches
from patina.bench.readings import tiles
from patina.bench.readings.change import change
from patina.bench.readings.showing import corrected, difference_preview, patch_outlines, preview, screen_colour
from patina.bench.settings import change_setting
from patina.bench.studio import Studio
from patina.colour.difference import compare
from patina.colour.values import Caution, Lab
from patina.errors import Refused
from patina.sheets import FiledPhotograph, ShootSheet, UnfiledPhotograph
from patina.sheets.change import ChangeSheet, PatchRow
from swatches.render import jpeg_bytes, render_scene
from swatches.scenes import demo_scenes
from tui.dialogs import shoot as shoot_dialog
from tui.dialogs.shoot import TakingIn, shoot_words
from tui.screens.change import change_words
from tui.screens.photograph import Photograph

Start = Callable[..., Running]
PICTURES = Path(swatches.__file__).parent


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _to_tiles(person: Driver) -> None:
    await person.press("3")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)


# -- placards and shoots ---------------------------------------------------------------------------


async def test_a_placard_is_printed_on_the_paper_that_was_asked_for(
    running: Start, studio: Studio, tmp_path: Path
) -> None:
    """P asks for file and paper; a wrong paper is said beside its field; the sheet has the shape of letter."""
    path = tmp_path / "qt.png"
    async with running((80, 24)) as person:
        await _to_tiles(person)
        await person.press("P")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(file=str(path), paper="b5")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(paper="letter")
        await person.press("ctrl+s")
        await person.until(lambda: path.is_file(), 10.0)
    with Image.open(path) as page:
        # US letter is 8.5 × 11 in. Source: ANSI/ASME Y14.1, size A.
        assert max(page.size) / min(page.size) == pytest.approx(11 / 8.5, rel=0.005)


async def test_a_shoot_is_filed_with_a_bar_and_its_result(running: Start, studio: Studio, tmp_path: Path) -> None:
    """F takes a folder: the placard's photograph is filed and read, the other is listed with its reason; the
    bar has counted both; a second time the first is known already and nothing changes."""
    change_setting(studio, "chart-edition", "before-2014")
    with studio.store.view() as session:
        uid = tiles.target_of(session, "T2").uid
    scene = next(scene for scene in demo_scenes() if scene.placard)
    scene = dataclasses.replace(scene, size_px=(1200, 900), placard=f"T2:{uid}")
    folder = tmp_path / "shoot"
    folder.mkdir()
    (folder / "tile.jpg").write_bytes(jpeg_bytes(render_scene(scene)[0], scene))
    Image.new("RGB", (400, 300), (96, 64, 40)).save(folder / "wall.png")
    async with running((80, 24)) as person:
        await _to_tiles(person)
        for known in (False, True):
            await person.press("F")
            await person.until(lambda: _on(person, "AskFolder"))
            field = person.app.screen.query_one("#path-input")
            await person.press("end", "ctrl+u")
            await person.write(f"{folder}/no")
            await person.press("enter")
            await person.until_text("There is no folder")
            field.value = str(folder)  # type: ignore[attr-defined]
            await person.press("enter")
            await person.until(lambda: _on(person, "Notes"), 40.0)
            said = person.app.screen.prose.plain
            assert "wall.png" in said and "No placard was seen: 1" in said
            assert ("✓" in said or "tile.jpg to T2" in said) is not known
            assert ("Filed before: 1" in said) is known
            await person.press("escape")
    sheet = tiles.tile_sheet(studio, "T2")
    assert [p.name for p in sheet.photographs] == ["tile.jpg"]
    true = Lab(*render_scene(scene)[1]["tiles"][0]["lab"])
    assert compare(true, sheet.readings[0].lab).delta_e < 4.5


async def test_a_shoot_that_is_stopped_files_nothing(
    running: Start, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bar shows how many are read; Escape stops at the next photograph; afterwards nothing is filed."""
    from threading import Event

    go_on, ended = Event(), []

    def slow(studio: Studio, folder: Path, *, progress: Callable[[int, int, str], None]) -> ShootSheet:
        progress(3, 40, "third.jpg")
        assert go_on.wait(20)
        try:
            progress(4, 40, "fourth.jpg")
        except Refused:
            ended.append("stopped")
            raise
        raise AssertionError("it went on")

    monkeypatch.setattr(shoot_dialog, "file_shoot", slow)
    answers: list[Any] = []
    try:
        async with running((80, 24)) as person:
            await _to_tiles(person)
            person.app.push_screen(TakingIn(studio, tmp_path), answers.append)
            await person.until_text("3 of 40 read")
            bar = person.app.screen.query_one("#shoot-bar")
            assert (bar.progress, bar.total) == (3, 40)  # type: ignore[attr-defined]
            await person.press("escape")
            await person.until(lambda: answers == [None])
            go_on.set()
            await person.until(lambda: ended == ["stopped"])
            assert _on(person, "Tiles")
    finally:
        go_on.set()


async def test_once_all_is_read_it_cannot_be_stopped(
    running: Start, studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While photographs are being filed, Escape says that it is too late, and the result is still shown."""
    from threading import Event

    go_on = Event()

    def filing(studio: Studio, folder: Path, *, progress: Callable[[int, int, str], None]) -> ShootSheet:
        progress(2, 2, "last.jpg")
        assert go_on.wait(20)
        return ShootSheet((), ())

    monkeypatch.setattr(shoot_dialog, "file_shoot", filing)
    answers: list[Any] = []
    try:
        async with running((80, 24)) as person:
            person.app.push_screen(TakingIn(studio, tmp_path), answers.append)
            await person.until_text("being filed")
            await person.press("escape", "ctrl+t")
            assert _on(person, "TakingIn") and not answers
            go_on.set()
            await person.until(lambda: answers == [ShootSheet((), ())])
    finally:
        go_on.set()


def test_the_result_lists_every_file_with_its_reason() -> None:
    """What was filed without a reading, what was not seen, what troubled and what is known stand under headings."""
    caution = Caution("glare", "Stray light.", None, "Move the lamp.")
    sheet = ShootSheet(
        (FiledPhotograph("a.jpg", "C1", (), (caution,)),),
        (
            UnfiledPhotograph("b.jpg", "no-placard", "No placard", "No corner mark is in the picture.", "Retake it."),
            UnfiledPhotograph("c.jpg", "trouble", "Broken", "The file is cut off.", "Copy it again."),
            UnfiledPhotograph("d.jpg", "known", "Filed already", "It is filed.", "Nothing."),
        ),
    )
    said = shoot_words(sheet).plain
    assert "1 photograph filed, 3 not." in said
    assert "a.jpg to C1, without a reading" in said and "Stray light. Move the lamp." in said
    assert "c.jpg: The file is cut off. Copy it again." in said
    assert "b.jpg: No corner mark is in the picture. Retake it." in said
    assert "Filed before: 1" in said
    assert "no photograph in that folder" in shoot_words(ShootSheet((), ())).plain


# -- before and after ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def measured() -> ChangeSheet:
    """The rendered relief, before and after, measured once."""
    return change(None, str(PICTURES / "relief-before.jpg"), str(PICTURES / "relief-after.jpg"), edition="before-2014")


async def test_two_photographs_are_compared_and_the_picture_saved(
    running: Start, studio: Studio, tmp_path: Path
) -> None:
    """b offers the earlier photograph first; the pairs, their figures and the picture are shown; s saves it."""
    change_setting(studio, "chart-edition", "before-2014")
    for name in ("relief-after.jpg", "relief-before.jpg"):
        tiles.add_photograph(studio, "T2", PICTURES / name)
    path = tmp_path / "change.png"
    async with running((80, 24)) as person:
        await _to_tiles(person)
        await person.press("b")
        await person.until(lambda: _on(person, "Choose"))
        assert ["relief-before" in words for _, words in person.app.screen.options] == [True, False]
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet is not None, 40.0)
        panels = person.app.screen.query_one("#panels")
        await person.until(lambda: panels.preview is not None)  # type: ignore[attr-defined]
        said = person.app.screen.query_one("#change-words").prose.plain  # type: ignore[attr-defined]
        assert "of 6 patches changed" in said and "± " in said
        await person.until_text("after, laid over it")
        await person.press("s")
        await person.until(lambda: _on(person, "AskPath"))
        person.app.screen.query_one("#path-input").value = str(path)  # type: ignore[attr-defined]
        await person.press("enter")
        await person.until(lambda: path.is_file())
        await person.press("l")
        await person.until(lambda: _on(person, "Look"))
        await person.press("escape", "escape")
        await person.until(lambda: _on(person, "Tiles"))
    with Image.open(path) as picture:
        assert picture.format == "PNG" and picture.width > 3 * 700


async def test_one_photograph_is_not_enough(running: Start, studio: Studio) -> None:
    """Without two photographs it is said how many there are and what gives another."""
    async with running() as person:
        await _to_tiles(person)
        await person.press("b")
        await person.until(lambda: any("two are needed" in n.message for n in person.app._notifications))
        assert _on(person, "Tiles")


async def test_photographs_that_cannot_be_compared_are_said_so(running: Start, studio: Studio, tmp_path: Path) -> None:
    """Two pictures without a chart: the trouble and its remedy stand on the screen, and nothing can be saved."""
    for n in range(2):
        Image.new("RGB", (400, 300), (96 + n, 64, 40)).save(tmp_path / f"p{n}.png")
        tiles.add_photograph(studio, "T2", tmp_path / f"p{n}.png")
    async with running() as person:
        await _to_tiles(person)
        await person.press("b", "enter")
        await person.until(lambda: _on(person, "Change"))
        await person.until_text("No chart in the photograph", 15.0)
        await person.press("s")
        await person.until(lambda: any("no picture yet" in n.message for n in person.app._notifications))


def test_what_is_smaller_than_its_doubt_is_not_told_apart(measured: ChangeSheet) -> None:
    """A patch within its uncertainty is said not to be told apart; cautions stand before the first pair."""
    patch = measured.patches[0]
    still = dataclasses.replace(patch, uncertainty_de00=patch.difference.delta_e + 1.0)
    caution = Caution("light", "The light is not the same.", None, "Take them again.")
    said = change_words(dataclasses.replace(measured, patches=(still,), warnings=(caution,))).plain
    assert "No change is told apart in 1 patch." in said
    assert "not told apart: smaller than its uncertainty" in said
    assert said.index("The light is not the same. Take them again.") < said.index("ΔE00")


def test_patches_lie_where_the_picture_shows_them(measured: ChangeSheet) -> None:
    """Each patch bears its outline in the earlier photograph, and the picture without captions is three views wide."""
    with Image.open(PICTURES / "relief-before.jpg") as photo:
        wide, high = photo.size
    assert all(isinstance(p, PatchRow) and len(p.polygon) == 4 for p in measured.patches)
    assert all(0 <= x <= wide and 0 <= y <= high for p in measured.patches for x, y in p.polygon)
    small = difference_preview(measured.picture_png, 300, 300)
    whole = difference_preview(measured.picture_png, 300, 300, captions=True)
    assert small.columns == 300 and small.rows < whole.rows
    assert small.columns / small.rows == pytest.approx(3 * wide / high, rel=0.03)


# -- the corrected picture -------------------------------------------------------------------------


def test_the_corrected_preview_comes_near_the_truth() -> None:
    """Under lamplight a tile's colour is off by far as taken, and near its true colour when corrected: the truth
    is the rendered scene's own, which the chart does not hold."""
    name = "amber-by-lamplight.jpg"
    truth = swatches.truth()[name]
    tile = truth["tiles"][0]
    x, y, w, h = tile["rect"]
    wanted = screen_colour(Lab(*tile["lab"]))
    aim = [int(wanted[k : k + 2], 16) for k in (1, 3, 5)]
    off = []
    for small in (
        preview(PICTURES / name, 160, 120),
        corrected(PICTURES / name, 160, 120, edition="before-2014"),
    ):
        assert (small.columns, small.rows) == (160, 120)
        at = small.at(int((x + w / 2) * 160 / small.width_px), int((y + h / 2) * 120 / small.height_px))
        off.append(max(abs(one - other) for one, other in zip(at, aim, strict=True)))
    assert off[1] <= 8 < off[0]


def test_outlines_of_patches_lie_around_their_centres() -> None:
    """24 squares; the mean of the first is the first corner given, of the last the third."""
    corners = ((100.0, 100.0), (600.0, 100.0), (600.0, 400.0), (100.0, 400.0))
    squares = patch_outlines(corners)
    assert len(squares) == 24
    for n, corner in ((0, corners[0]), (5, corners[1]), (23, corners[2]), (18, corners[3])):
        middle = [sum(p[k] for p in squares[n]) / 4 for k in (0, 1)]
        assert middle == pytest.approx(corner, abs=0.01)
    assert squares[0][1][0] - squares[0][0][0] == pytest.approx(80.0)


async def test_c_shows_the_picture_corrected_and_as_taken(running: Start, studio: Studio) -> None:
    """c changes between the two pictures and says which is shown; frames stay where they are."""
    change_setting(studio, "chart-edition", "before-2014")
    photo = tiles.add_photograph(studio, "T2", PICTURES / "amber-by-lamplight.jpg")
    async with running() as person:
        await _to_tiles(person)
        person.app.push_screen(Photograph("T2", photo.sha256))
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.preview)
        picture = person.app.screen.picture
        await person.until(lambda: picture.patches, 10.0)
        taken, frames = picture.preview, list(picture.frames)
        await person.press("c")
        await person.until(lambda: picture.preview.rgb != taken.rgb, 10.0)
        assert "corrected by the chart" in person.app.screen.query_one("#picture-words").prose.plain
        assert (picture.preview.columns, picture.preview.rows) == (taken.columns, taken.rows)
        assert picture.frames == frames
        await person.press("c")
        await person.until(lambda: picture.preview.rgb == taken.rgb, 10.0)


async def test_a_point_that_is_moved_takes_the_correction_back(running: Start, studio: Studio) -> None:
    """While corrected, another edition corrects anew; once a chart point is moved the picture is as taken again."""
    change_setting(studio, "chart-edition", "before-2014")
    photo = tiles.add_photograph(studio, "T2", PICTURES / "amber-by-lamplight.jpg")
    async with running() as person:
        await _to_tiles(person)
        person.app.push_screen(Photograph("T2", photo.sha256))
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.patches, 10.0)
        picture, taken = person.app.screen.picture, person.app.screen.picture.preview
        await person.press("c")
        await person.until(lambda: picture.preview.rgb != taken.rgb, 10.0)
        before_2014 = picture.preview.rgb
        await person.press("k")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("home", "enter")
        await person.until(lambda: picture.preview.rgb not in (taken.rgb, before_2014), 10.0)
        await person.press("tab", "right")
        await person.until(lambda: picture.preview.rgb == taken.rgb, 10.0)
        assert not person.app.screen.as_corrected and person.app.screen.placed


async def test_without_a_chart_nothing_is_corrected(running: Start, studio: Studio, tmp_path: Path) -> None:
    """Where no chart was found, c says so and the picture stays as it was taken."""
    Image.new("RGB", (400, 300), (96, 64, 40)).save(tmp_path / "plain.png")
    photo = tiles.add_photograph(studio, "T2", tmp_path / "plain.png")
    async with running() as person:
        await _to_tiles(person)
        person.app.push_screen(Photograph("T2", photo.sha256))
        await person.until_text("No chart in the photograph", 8.0)
        await person.press("c")
        await person.until(lambda: any("nothing to correct" in n.message for n in person.app._notifications))
        assert not person.app.screen.as_corrected
