"""Areas drawn by keys on the earlier of two photographs, and the chart or card that a photograph is corrected by."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from screens_driver import Driver, Running

import swatches
from patina.bench.readings import tiles
from patina.bench.readings.change import change
from patina.bench.readings.charts import list_charts
from patina.bench.readings.rereading import reread
from patina.bench.readings.same_shoot import same_shoot
from patina.bench.settings import change_setting
from patina.bench.studio import Studio
from patina.colour.difference import compare
from patina.colour.values import Lab
from tui.screens.photograph import Photograph

Start = Callable[..., Running]
PICTURES = Path(swatches.__file__).parent
NAME = "ferric-and-olive.jpg"
TRUTH = swatches.truth()[NAME]
OLIVE = next(tile for tile in TRUTH["tiles"] if tile["name"] == "olive")


@pytest.fixture(autouse=True)
def edition(studio: Studio, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The rendered charts are of the edition before November 2014; what a screen was told before is forgotten."""
    change_setting(studio, "chart-edition", "before-2014")
    monkeypatch.setattr(Photograph, "edition", "")
    yield


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _to_tiles(person: Driver) -> None:
    await person.press("3")
    await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)


async def _choose(person: Driver, id: str) -> None:
    """Go to an option by keys and take it."""
    await person.until(lambda: _on(person, "Choose"))
    ids = [one for one, _ in person.app.screen.options]
    for _ in range(len(ids)):
        if person.app.screen.query_one("#choices").highlighted == ids.index(id):
            break
        await person.press("down")
    await person.press("enter")


async def _typed_area(person: Driver, name: str, rect: tuple[int, ...], number: int = 0) -> None:
    """Type an area's name and pixels in the form that is open."""
    await person.fill(**{f"name{number}": name, f"area{number}": ",".join(map(str, rect))})


# -- before and after ------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_areas_of_ones_own_are_measured_in_both(running: Start, studio: Studio, size: tuple[int, int]) -> None:
    """m, then areas drawn by keys on the earlier photograph: the figures are those of the deed with the same areas;
    what was drawn stands there again; the grid comes back, and keeps to a part where one is drawn."""
    earlier, later = (
        tiles.add_photograph(studio, "T2", PICTURES / f"relief-{w}.jpg").sha256 for w in ("before", "after")
    )
    async with running(size) as person:
        await _to_tiles(person)
        await person.press("b")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet is not None, 60.0)
        assert len(person.app.screen.sheet.patches) == 6
        await person.press("m")
        await _choose(person, "areas")
        await person.until(lambda: _on(person, "ChangeAreas") and person.app.screen.picture.frames)
        await person.press("right", "down", "shift+right", "n", "shift+left", "up")
        frames = person.app.screen.picture.frames
        assert [f.name for f in frames] == ["middle", "area 2"]
        await person.press("t")
        await person.until(lambda: _on(person, "Form"))
        await _typed_area(person, "neck", (400, 640, 160, 120), 1)
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "ChangeAreas") and person.app.screen.picture.frames[1].name == "neck")
        areas = person.app.screen.areas
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet is not None, 60.0)
        sheet = person.app.screen.sheet
        wanted = change(studio, earlier, later, areas=areas, edition="before-2014")
        assert [p.name for p in sheet.patches] == [p.name for p in wanted.patches] == ["middle", "neck"]
        assert [p.difference.delta_e for p in sheet.patches] == [p.difference.delta_e for p in wanted.patches]
        await person.until_words("middle")
        await person.press("m")
        await _choose(person, "areas")
        await person.until(lambda: _on(person, "ChangeAreas"))
        await person.until(lambda: person.app.screen.areas == areas)
        await person.press("escape")
        await person.until(lambda: _on(person, "Change"))
        assert person.app.screen.sheet is sheet
        await person.press("m")
        await _choose(person, "part")
        await person.until(lambda: _on(person, "ChangeAreas") and person.app.screen.picture.frames)
        await person.press("n")
        await person.until(lambda: any("keeps to one part" in n.message for n in person.app._notifications))
        (part,) = person.app.screen.picture.frames
        await person.press("enter")
        await person.until(lambda: _on(person, "Change") and person.app.screen.sheet not in (None, sheet), 60.0)
        inside = person.app.screen.sheet.patches
        assert inside and all(
            part.x - 1 <= x <= part.x + part.w + 1 and part.y - 1 <= y <= part.y + part.h + 1
            for p in inside
            for x, y in p.polygon
        )


# -- what a photograph is corrected by -----------------------------------------------------------------


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    """The tile's own frame of a shoot: the chart is not in it, camera, settings and light are the same."""
    with Image.open(PICTURES / NAME) as opened:
        exif, profile = opened.getexif(), opened.info.get("icc_profile")
        picture = opened.convert("RGB")
    xs, ys = zip(*TRUTH["chart"]["corners"], strict=True)
    picture.paste((200, 200, 200), (int(min(xs)) - 60, int(min(ys)) - 60, int(max(xs)) + 60, int(max(ys)) + 60))
    path = tmp_path / "tile-alone.jpg"
    picture.save(path, quality=95, exif=exif, icc_profile=profile)
    return path


async def _measure(person: Driver, studio: Studio, path: Path) -> None:
    """T2's photograph, open for measuring, its area on the olive tile."""
    photo = tiles.add_photograph(studio, "T2", path)
    await _to_tiles(person)
    person.app.push_screen(Photograph("T2", photo.sha256))
    await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames)
    await person.until(lambda: not person.app.jobs.running, 30.0)
    await person.press("t")
    await person.until(lambda: _on(person, "Form"))
    await _typed_area(person, "olive", tuple(OLIVE["rect"]))
    await person.press("ctrl+s")
    await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames[0].name == "olive")


async def _keep(person: Driver, studio: Studio) -> Any:
    """Read, keep, and the reading that was kept."""
    await person.press("enter")
    await person.until(lambda: _on(person, "Reading"), 40.0)
    await person.press("enter")
    await person.until(lambda: _on(person, "Form"))
    await person.press("ctrl+s")
    await person.until(lambda: _on(person, "Tiles"))
    return max(tiles.tile_sheet(studio, "T2").readings, key=lambda r: int(r.id[1:]))


def _off(lab: Lab) -> float:
    """CIEDE2000 from the scene's own colour, which no photograph holds."""
    return compare(Lab(*OLIVE["lab"]), lab).delta_e


async def test_the_chart_of_another_photograph_of_the_shoot(running: Start, studio: Studio, bare: Path) -> None:
    """b offers photographs of the same day; by the chart of one the tile is read near its true colour; the corrected
    picture is shown; what is kept can be read again and comes out the same."""
    chart = tiles.add_photograph(studio, "T1", PICTURES / NAME)
    async with running((80, 24)) as person:
        await _measure(person, studio, bare)
        await person.until_text("No chart in the photograph", 10.0)
        await person.press("b")
        await _choose(person, "elsewhere")
        await person.until(lambda: _on(person, "Choose") and "another" not in person.app.screen._heading)
        await person.until_words(f"T1 {NAME}")
        await _choose(person, chart.sha256)
        await person.until(lambda: _on(person, "Photograph"))
        await person.until(lambda: f"the chart in {NAME} of T1" in person.app.screen.words().plain, 30.0)
        await person.until(lambda: "found in" in person.app.screen.words().plain, 30.0)
        taken = person.app.screen.picture.preview.rgb
        await person.press("c")
        await person.until(lambda: person.app.screen.picture.preview.rgb != taken, 30.0)
        await person.press("f")
        await person.until(lambda: _on(person, "ChartPoints") and person.app.screen.picture.preview is not None)
        begun = list(person.app.screen.picture.points)
        for (x, y), (true_x, true_y) in zip(begun, TRUTH["chart"]["corners"], strict=True):
            assert abs(x - true_x) < 6 and abs(y - true_y) < 6, "it begins where the chart was found"
        await person.press("shift+right", "tab", "shift+left", "enter")
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.by.corners)
        await person.until(lambda: "stands by your points in" in person.app.screen.words().plain, 30.0)
        kept = await _keep(person, studio)
    assert "in another photograph" in kept.instrument
    assert _off(kept.lab) < kept.uncertainty_de00
    again = reread(studio, workers=1, fresh=True)
    (row,) = [r for r in again.rows if r.reading == kept.id]
    assert row.outcome == "same"


def test_the_photographs_of_a_shoot(studio: Studio, bare: Path, tmp_path: Path) -> None:
    """Those of the same day as the camera says, the same camera first; without a date those added that day."""
    own = tiles.add_photograph(studio, "T2", bare).sha256
    same = tiles.add_photograph(studio, "T1", PICTURES / NAME).sha256
    found = same_shoot(studio, own)
    assert [(o.photograph.sha256, o.target, o.apart_min, o.same_camera) for o in found] == [(same, "T1", 0.0, True)]
    tiles.add_photograph(studio, "T1", PICTURES / "relief-before.jpg")  # of another day
    assert len(same_shoot(studio, own)) == 1
    for n in range(2):
        Image.new("RGB", (400, 300), (96 + n, 64, 40)).save(tmp_path / f"scan-{n}.png")
    silent = [tiles.add_photograph(studio, "T1", tmp_path / f"scan-{n}.png").sha256 for n in range(2)]
    (other,) = same_shoot(studio, silent[0])
    assert (other.photograph.sha256, other.apart_min, other.same_camera) == (silent[1], None, None)


async def test_without_another_photograph_it_is_said(running: Start, studio: Studio, bare: Path) -> None:
    """Where the studio holds no other photograph of that day, it is said what to do."""
    async with running() as person:
        await _measure(person, studio, bare)
        await person.press("b")
        await _choose(person, "elsewhere")
        await person.until(lambda: any("no other photograph" in n.message for n in person.app._notifications))


async def test_a_chart_of_ours_with_its_own_values_by_keys(running: Start, studio: Studio, tmp_path: Path) -> None:
    """A chart is named with its edition on the spot, is used, and is remembered; a wrong file is said beside its
    field."""
    async with running((80, 24)) as person:
        await _measure(person, studio, PICTURES / NAME)
        await person.press("b")
        await _choose(person, "own")
        await person.until(lambda: _on(person, "Form"))
        wrong = tmp_path / "values.csv"
        wrong.write_text("no,chart\n1,2\n")
        await person.fill(chart="pocket 1", edition="before-2014", values=str(wrong))
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(values="")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Photograph"))
        assert [(c.name, c.edition) for c in list_charts(studio)] == [("pocket 1", "before-2014")]
        await person.until(lambda: "our chart pocket 1" in person.app.screen.words().plain)
        await person.until(lambda: "chart was found" in person.app.screen.words().plain, 30.0)
        kept = await _keep(person, studio)
    assert _off(kept.lab) < kept.uncertainty_de00
    (row,) = [r for r in reread(studio, workers=1, fresh=True).rows if r.reading == kept.id]
    assert row.outcome == "same"


async def test_a_plain_card(running: Start, studio: Studio, tmp_path: Path) -> None:
    """A white card in the picture: what it reflects is asked, with its unit; its corners are placed by keys; the
    reading says that a card was used, with more doubt. A plain grey field under even light is read as grey: by
    definition a neutral has a* = b* = 0 (CIE 15)."""
    picture = Image.new("RGB", (800, 600), (40, 34, 30))
    picture.paste((230, 214, 190), (80, 80, 320, 320))  # a white card under warm light
    picture.paste((115, 107, 95), (480, 200, 640, 360))  # a grey under the same light
    path = tmp_path / "card.png"
    picture.save(path)
    async with running((80, 24)) as person:
        photo = tiles.add_photograph(studio, "T2", path)
        await _to_tiles(person)
        person.app.push_screen(Photograph("T2", photo.sha256))
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames)
        await person.until(lambda: not person.app.jobs.running, 30.0)
        await person.press("b")
        await _choose(person, "white-card")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(card="90")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(card="90 %")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Photograph") and not person.app.jobs.running, 30.0)
        await person.press("t")
        await person.until(lambda: _on(person, "Form"))
        await _typed_area(person, "grey", (500, 220, 120, 120))
        await person.fill(corners="85,85;315,85;315,315;85,315")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Photograph") and person.app.screen.picture.frames[0].name == "grey")
        kept = await _keep(person, studio)
    assert "white card" in kept.instrument
    assert abs(kept.lab.a) < 1.5 and abs(kept.lab.b) < 1.5
    assert kept.uncertainty_de00 >= 14.0
    (row,) = [r for r in reread(studio, workers=1, fresh=True).rows if r.reading == kept.id]
    assert row.outcome == "same"
