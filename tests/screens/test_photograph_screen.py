"""Measuring in a photograph by keys and mouse: frames, chart points, editions, what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from screens_driver import Driver, Running

from patina.bench.readings import tiles
from patina.bench.readings.showing import preview
from patina.bench.settings import chart_edition
from patina.bench.studio import Studio
from tui.screens.photograph import Photograph

Start = Callable[..., Running]
SWATCHES = Path(__file__).parents[2] / "swatches"


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


def _words(person: Driver) -> str:
    """All that is said beside the picture, whatever line it stands on."""
    return " ".join(person.app.screen.query_one("#picture-words").prose.plain.split())


async def _open(person: Driver, studio: Studio, path: Path) -> None:
    """The tile T2 is given the photograph, and it is opened for measuring."""
    photo = tiles.add_photograph(studio, "T2", path)
    person.app.go("tiles")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
    person.app.push_screen(Photograph("T2", photo.sha256))
    await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames)


@pytest.fixture
def plain(tmp_path: Path) -> Path:
    """A photograph without a chart: one brown, 400 × 300 px."""
    path = tmp_path / "plain.png"
    Image.new("RGB", (400, 300), (96, 64, 40)).save(path)
    return path


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_arrows_move_and_shift_sizes(
    running: Start, studio: Studio, plain: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    """Arrows move the frame by a cell, Shift and arrows change its size; it never leaves the picture."""
    async with running(size) as person:
        await _open(person, studio, plain)
        await person.until_text("No chart in the photograph", 6.0)
        await person.until(lambda: not person.app.jobs.running)
        picture = person.app.screen.picture
        before, step = picture.frames[0], picture.px_per_cell
        await person.press("right", "down")
        await person.until(lambda: picture.frames[0].x == pytest.approx(before.x + step))
        await person.until(lambda: picture.frames[0].y == pytest.approx(before.y + 2 * step))
        await person.press("shift+right", "shift+down")
        await person.until(lambda: picture.frames[0].w == pytest.approx(before.w + step))
        await person.until(lambda: picture.frames[0].h == pytest.approx(before.h + 2 * step))
        await person.hold("left", 90)
        await person.until(lambda: picture.frames[0].x == 0.0)
        await person.hold("shift+left", 90)
        await person.until(lambda: picture.frames[0].w == 8.0)


async def test_areas_are_added_chosen_and_dropped(running: Start, studio: Studio, plain: Path) -> None:
    """n adds an area, Tab chooses the next, d takes one away; one always stays."""
    async with running() as person:
        await _open(person, studio, plain)
        picture = person.app.screen.picture
        await person.press("n")
        await person.until(lambda: [f.name for f in picture.frames] == ["middle", "area 2"])
        await person.until(lambda: picture.chosen == 1)
        await person.press("tab")
        await person.until(lambda: picture.chosen == 0)
        await person.press("d", "d", "d")
        await person.until(lambda: [f.name for f in picture.frames] == ["area 2"])


async def test_the_mouse_drags_the_frame(running: Start, studio: Studio, plain: Path) -> None:
    """A frame is taken hold of and dragged; the picture says where it is."""
    async with running() as person:
        await _open(person, studio, plain)
        picture = person.app.screen.picture
        before = picture.frames[0]
        column, line = picture.cell_of(before.x + before.w / 2, before.y + before.h / 2)
        await person.pilot.mouse_down(picture, offset=(column, line))
        await person.pilot.hover(picture, offset=(column + 4, line + 2))
        await person.pilot.mouse_up(picture, offset=(column + 4, line + 2))
        moved = picture.frames[0]
        assert moved.x == pytest.approx(before.x + 4 * picture.px_per_cell)
        assert moved.y == pytest.approx(before.y + 4 * picture.px_per_cell)


async def test_a_picture_without_a_chart_says_what_can_be_done(running: Start, studio: Studio, plain: Path) -> None:
    """No chart: said in plain sight with the two ways on; read without one, it is called a rough figure."""
    async with running() as person:
        await _open(person, studio, plain)
        await person.until_text("No chart in the photograph", 6.0)
        assert "f places" in person.app.screen.query_one("#picture-words").prose.plain
        await person.press("w", "enter")
        await person.until(lambda: _on(person, "Reading") and person.app.screen.query("#reading-words"), 8.0)
        assert "rough idea only" in person.app.screen.query_one("#reading-words").prose.plain
        await person.press("escape")
        await person.until(lambda: _on(person, "Photograph"))
        assert len(tiles.tile_sheet(studio, "T2").readings) == 1


async def test_the_edition_is_asked_once_and_points_can_be_placed(
    running: Start, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before the first reading the edition is asked, and the studio remembers it; points typed for the chart's
    corner patches are used."""
    import swatches

    monkeypatch.setattr(Photograph, "edition", "")
    name = "ferric-and-olive.jpg"
    truth = swatches.truth()[name]
    corners = ";".join(f"{x},{y}" for x, y in truth["chart"]["corners"])
    rect = ",".join(str(v) for v in truth["tiles"][0]["rect"])
    async with running() as person:
        await _open(person, studio, SWATCHES / name)
        await person.until_text("The chart was found", 6.0)
        await person.press("t")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(area0="1,2,3", corners="1,2;3")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 2)
        await person.fill(area0=rect, corners=corners)
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Photograph"))
        assert person.app.screen.placed
        await person.press("enter")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("down", "enter")
        await person.until(lambda: _on(person, "Reading") and person.app.screen.query("#reading-words"), 8.0)
        told = person.app.screen.query_one("#reading-words").prose.plain
        assert "edition before November 2014" in told and "±" in told
        assert chart_edition(studio) == "before-2014"
        lab = person.app.screen.result.areas[0].lab
        true = truth["tiles"][0]["lab"]
        assert max(abs(lab.L - true[0]), abs(lab.a - true[1]), abs(lab.b - true[2])) < 4.0


async def test_an_edition_once_said_is_no_longer_asked_about(
    running: Start, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While nobody has said the edition the screen warns; once it is said with e the warning goes."""
    monkeypatch.setattr(Photograph, "edition", "")
    async with running() as person:
        await _open(person, studio, SWATCHES / "ferric-and-olive.jpg")
        await person.until_text("It is not known whether the chart", 8.0)
        await person.press("k")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("home", "down", "enter")
        await person.until(lambda: _on(person, "Photograph") and "edition before November 2014" in _words(person))
        await person.until(lambda: "It is not known whether" not in person.text(), 8.0)
        await person.until_text("The chart was found")


def test_the_preview_keeps_shape_and_colour(plain: Path) -> None:
    """A preview fits into what it is given, keeps the picture's shape, and its colours."""
    small = preview(plain, 40, 40)
    assert (small.columns, small.rows, small.width_px, small.height_px) == (40, 30, 400, 300)
    assert small.at(0, 0) == (96, 64, 40)
    assert small.at(39, 29) == (96, 64, 40)
