"""By keys: plain card evens out the light of a photograph; of two photographs the chart's points are placed by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from screens_driver import Driver, Running

import swatches
from patina.bench.readings import tiles
from patina.bench.readings.change import change
from patina.bench.readings.reading import read
from patina.bench.settings import change_setting
from patina.bench.studio import Studio
from tui.screens.photograph import Photograph

Start = Callable[..., Running]
PICTURES = Path(swatches.__file__).parent
NAME = "ferric-and-olive.jpg"
TRUTH = swatches.truth()
LARGE = "brown-large-chart.jpg"


@pytest.fixture(autouse=True)
def edition(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The rendered charts are of the edition before November 2014; what a screen was told before is forgotten."""
    change_setting(studio, "chart-edition", "before-2014")
    monkeypatch.setattr(Photograph, "edition", "")
    yield


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


def _card(path: Path, size: tuple[int, int]) -> Path:
    """Plain card whose light falls off from left to right by a fifth."""
    wide, high = size
    row = Image.linear_gradient("L").rotate(90).resize((wide, 1)).point(lambda v: 175 + v * 35 // 255)
    row.resize((wide, high)).convert("RGB").save(path)
    return path


async def _choose(person: Driver, id: str) -> None:
    """Go to an option by keys and take it."""
    await person.until(lambda: _on(person, "Choose"))
    ids = [one for one, _ in person.app.screen.options]
    for _ in range(len(ids)):
        if person.app.screen.query_one("#choices").highlighted == ids.index(id):
            break
        await person.press("down")
    await person.press("enter")


async def _give_card(person: Driver, path: Path) -> None:
    """b, plain card, its file."""
    await person.press("b")
    await _choose(person, "flat")
    await person.until(lambda: _on(person, "AskPath"))
    person.app.screen.query_one("Input").value = str(path)
    await person.press("enter")
    await person.until(lambda: _on(person, "Photograph"))


async def _open(person: Driver, studio: Studio, name: str) -> None:
    """T2's photograph, open for measuring, its chart found."""
    photo = tiles.add_photograph(studio, "T2", PICTURES / name)
    person.app.go("tiles")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
    person.app.push_screen(Photograph("T2", photo.sha256))
    await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames)
    await person.until(lambda: "The chart was found" in person.app.screen.words().plain, 40.0)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_plain_card_evens_out_the_light(
    running: Start, studio: Studio, tmp_path: Path, size: tuple[int, int]
) -> None:
    """b takes a photograph of plain card: it is said by which file the light is evened out, and the reading is that of
    the deed with the same card; a card of another size is refused; b takes it away again."""
    pixels = TRUTH[NAME]["width_px"], TRUTH[NAME]["height_px"]
    card, wrong = _card(tmp_path / "card.png", pixels), _card(tmp_path / "small.png", (640, 480))
    async with running(size) as person:
        await _open(person, studio, NAME)
        await _give_card(person, wrong)
        await person.until(lambda: "The flat frame has 640" in person.app.screen.words().plain, 30.0)
        await _give_card(person, card)
        await person.until(lambda: "The chart was found" in person.app.screen.words().plain, 30.0)
        assert "evened out by card.png" in person.app.screen.words().plain
        taken = person.app.screen.picture.preview.rgb
        await person.press("c")
        await person.until(lambda: person.app.screen.picture.preview.rgb != taken, 30.0)
        areas = person.app.screen.areas
        await person.press("enter")
        await person.until(lambda: _on(person, "Reading") and person.app.screen.query("#reading-words"), 40.0)
        result, how = person.app.screen.result, person.app.screen.how
        wanted = read(PICTURES / NAME, edition="before-2014", areas=areas, flat=card)
        assert result.chart.flat_field == wanted.chart.flat_field == "flat frame"
        assert result.areas[0].lab == wanted.areas[0].lab
        assert [one.flat for one in how] == [True]
        await person.press("escape")
        await person.until(lambda: _on(person, "Photograph"))
        await person.press("b")
        await _choose(person, "uneven")
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.by.flat is None)
        await person.until(lambda: "evened out" not in person.app.screen.words().plain)


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_the_first_area_lies_beside_a_chart_in_the_middle(
    running: Start, studio: Studio, size: tuple[int, int]
) -> None:
    """The chart fills the middle: the area that is proposed stands beside it and is read as it stands; one that was
    moved stays where it was put."""
    async with running(size) as person:
        await _open(person, studio, LARGE)
        (frame,) = person.app.screen.picture.frames
        right = max(x for x, _ in person.app.screen.picture.points)
        assert frame.x > right, "the largest field is free on the right"
        await person.press("enter")
        await person.until(lambda: _on(person, "Reading") and person.app.screen.query("#reading-words"), 40.0)
        assert person.app.screen.result.areas[0].pixels > 0
        await person.press("escape")
        await person.until(lambda: _on(person, "Photograph"))
        await person.press("left")
        await person.until(lambda: person.app.screen.picture.frames[0].x < frame.x)
        moved = person.app.screen.picture.frames[0]
        await person.press("k")
        await _choose(person, "after-2014")
        await person.until(lambda: "edition from November 2014 on" in person.app.screen.words().plain)
        await person.until(lambda: not person.app.jobs.running, 40.0)
        assert person.app.screen.picture.frames == [moved]


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_points_and_card_of_two_photographs(
    running: Start, studio: Studio, tmp_path: Path, size: tuple[int, int]
) -> None:
    """b places the chart's points in the later photograph, and takes plain card for the earlier one: the figures are
    those of the deed with the same; both are taken away again."""
    earlier, later = (
        tiles.add_photograph(studio, "T2", PICTURES / f"relief-{w}.jpg").sha256 for w in ("before", "after")
    )
    truth = TRUTH["relief-after.jpg"]
    corners = ";".join(f"{x + 2:.1f},{y + 1:.1f}" for x, y in truth["chart"]["corners"])
    card = _card(tmp_path / "card.png", (TRUTH["relief-before.jpg"]["width_px"], truth["height_px"]))
    async with running(size) as person:
        await person.press("3")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        await person.press("b")
        await _choose(person, earlier)
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet is not None, 60.0)
        found = person.app.screen.sheet
        await person.press("b")
        await _choose(person, "points1")
        await person.until(lambda: _on(person, "ChartPoints") and person.app.screen.picture.preview is not None)
        await person.until_words("relief-after.jpg")
        await person.press("t")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(corners="1,2;3")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(corners=corners)
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "ChartPoints"))
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet not in (None, found), 60.0)
        placed = person.app.screen.sheet
        wanted = change(studio, earlier, later, edition="before-2014", corners_after=corners)
        assert [p.after for p in placed.patches] == [p.after for p in wanted.patches]
        assert [p.after for p in placed.patches] != [p.after for p in found.patches]
        await person.press("b")
        await _choose(person, "flat0")
        await person.until(lambda: _on(person, "AskPath"))
        person.app.screen.query_one("Input").value = str(card)
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet not in (None, placed), 60.0)
        evened = person.app.screen.sheet
        wanted = change(studio, earlier, later, edition="before-2014", corners_after=corners, flat_before=card)
        assert [p.before for p in evened.patches] == [p.before for p in wanted.patches]
        await person.press("b")
        await _choose(person, "found")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet not in (None, evened), 60.0)
        assert [p.after for p in person.app.screen.sheet.patches] == [p.after for p in found.patches]


async def test_a_photograph_without_a_chart_says_how_points_are_placed(
    running: Start, studio: Studio, tmp_path: Path
) -> None:
    """Where one of the two shows no chart that is found, the way on stands there."""
    tiles.add_photograph(studio, "T2", PICTURES / "relief-before.jpg")
    plain = tmp_path / "plain.png"
    Image.new("RGB", (400, 300), (96, 64, 40)).save(plain)
    tiles.add_photograph(studio, "T2", plain)
    async with running((80, 24)) as person:
        await person.press("3")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        await person.press("b")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        await person.until_words("b places the chart's four points yourself", 40.0)
