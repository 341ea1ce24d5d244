"""A conservator's treatment by keys: begun, written, drawn on a photograph, corrected, and the care that is due."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from screens_driver import Driver, Running
from textual import events

from patina.bench import sealing
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.bench.treating.treat_drafts import draft_of
from patina.errors import Refused

Start = Callable[..., Running]


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


@pytest.fixture(autouse=True)
def _own_drafts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drafts of a test lie in a folder of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def treated(studio: Studio, tmp_path: Path) -> Studio:
    """The small studio with a treatment of C1, which has a photograph."""
    picture = tmp_path / "front.png"
    Image.new("RGB", (400, 300), (60, 80, 60)).save(picture)
    tiles.add_photograph(studio, "C1", picture)
    treat.begin_treatment(studio, {"cast": "C1", "name": "New wax", "owner": "Quay Trust"})
    return studio


async def _to_casts(person: Driver) -> None:
    await person.press("4")
    await person.until(lambda: person.app.current_mode == "casts" and person.app.screen.sheet is not None)


async def _to_treatment(person: Driver) -> Any:
    await _to_casts(person)
    await person.press("w")
    await person.until(lambda: _on(person, "Choose"))
    await person.press("enter")
    return await person.until(lambda: _on(person, "Treatment") and person.app.screen.sheet and person.app.screen)


async def _section(person: Driver, name: str) -> None:
    person.app.screen.go_to(name)
    await person.until(lambda: person.app.screen.section == name)


async def test_a_treatment_is_begun_from_the_cast(running: Start, studio: Studio) -> None:
    """w on a cast without one asks for the first fields, and opens the record."""
    async with running((80, 24)) as person:
        await _to_casts(person)
        await person.press("w")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(name="", purpose="stop it")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(name="Cleaning")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Treatment") and person.app.screen.sheet is not None)
        await person.until_text("Identification")
        await person.press("escape")
        await person.press("v", "v", "v")
        await person.until_text("Cleaning")
    (row,) = treat.list_treatments(studio)
    assert (row.name, row.documenter) == ("Cleaning", "Ansel Brook")


async def test_the_head_is_kept_field_by_field(running: Start, treated: Studio) -> None:
    """Leaving a field puts it on record at once; what cannot be is said beside it and not kept."""
    async with running() as person:
        await _to_treatment(person)
        await person.press("n")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        form = await person.until(lambda: _on(person, "GoingForm") and person.app.screen)
        await person.fill(accession="QT 1")
        await person.press("tab")
        await person.until(lambda: treat.treatment_sheet(treated, "CT1").record.head.accession == "QT 1")
        await person.until_text("kept as you go")
        await person.fill(started_on="14.3.2026")
        await person.press("tab")
        await person.until(lambda: form.query_one("#trouble-started_on").has_class("-said"))
        await person.press("escape")
        await person.until(lambda: _on(person, "Treatment"))
        await person.until(lambda: person.app.screen.sheet.record.head.accession == "QT 1")
    assert treat.treatment_sheet(treated, "CT1").record.head.started_on is None


async def test_a_part_that_is_left_half_written_is_found_again(running: Start, treated: Studio) -> None:
    """What was typed stands in the form when it is opened again; on record it comes whole, and the draft is gone."""
    async with running() as person:
        await _to_treatment(person)
        await _section(person, "examination")
        await person.press("n")
        await person.until(lambda: _on(person, "GoingForm"))
        await person.fill(sort="observation", text="pale green powder")
        await person.press("escape")
        await person.until(lambda: _on(person, "Treatment"))
        assert draft_of(treated, "CT1", "statement")["text"] == "pale green powder"
        assert treat.treatment_sheet(treated, "CT1").record.statements == ()
        await person.press("n")
        await person.until(lambda: _on(person, "GoingForm"))
        assert person.app.screen.values["text"] == "pale green powder"
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(topic="corrosion")
        await person.press("ctrl+s")
        await person.until_text("Observed")
        await person.pilot.pause(0.2)
    (statement,) = treat.treatment_sheet(treated, "CT1").record.statements
    assert (statement.value.by, statement.value.topic) == ("Ansel Brook", "corrosion")
    assert draft_of(treated, "CT1", "statement") == {}


async def test_a_part_is_corrected_and_taken_back_with_its_reason(running: Start, treated: Studio) -> None:
    """e and d ask why; history shows what it was."""
    treat.write_part(treated, "CT1", "person", {"name": "Ada", "role": "assistent"})
    async with running() as person:
        await _to_treatment(person)
        await person.press("e")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(role="assistant")
        await person.press("ctrl+s")
        await person.until_text("The reason is missing.")
        await person.fill(**{"why-corrected": "spelling"})
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Treatment") and "CP2" in person.sheet())
        await person.press("d")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(reason="not on this job")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Treatment") and "CP2" not in person.sheet())
        await person.press("l")
        await person.until(lambda: _on(person, "Notes"))
        assert "assistent" in person.app.screen.prose.plain and "not on this job" in person.app.screen.prose.plain


@pytest.mark.parametrize("size", [(120, 36), (80, 24)])
async def test_zones_are_drawn_by_keys(running: Start, treated: Studio, size: tuple[int, int]) -> None:
    """Corners with Space and arrows, Enter asks what it is; the outline makes shares of the object."""
    async with running(size) as person:
        await _to_treatment(person)
        await _section(person, "condition")
        await person.press("m")
        await person.until(lambda: _on(person, "GoingForm"))
        await person.fill(visit="before", view="front", photograph=treated_sha(treated))
        await person.press("ctrl+s")
        screen = await person.until(
            lambda: _on(person, "TreatmentMap") and person.app.screen.picture.preview and person.app.screen
        )
        step = screen.picture.step
        await person.press("enter")
        await person.until_told("Put three corners")
        assert _on(person, "TreatmentMap"), "nothing is drawn yet"
        await person.press("space", *["right"] * 8, "space", *["down"] * 4, "space", *["left"] * 8)
        await person.press("shift+left", "space")
        await person.press("backspace", "shift+right", "space", "enter")
        await person.until(lambda: _on(person, "GoingForm"))
        await person.fill(name="left foot", term="bloom", severity="2", activity="active")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap") and len(person.app.screen.zones) == 1)
        await person.until_text("of the picture")
        await person.press("tab")
        await person.until_text("left foot")
        await person.press("t")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(points="0,0 1,0 1,1 0.5,1 0.5,0.5 0,0.5")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap"))
        await person.press("o")
        await person.until(lambda: screen.map.value.outline != ())
        await person.until_text("of the object")
    sheet = treat.treatment_sheet(treated, "CT1")
    (zone,) = sheet.record.zones
    drawn = 100 * 8 * step[0] * 4 * step[1]
    assert (zone.value.map, zone.value.term) == (sheet.record.maps[0].id, "bloom")
    assert sheet.maps[0].of == "object"
    assert sheet.maps[0].zones[zone.id].pct == pytest.approx(drawn / 0.75, rel=1e-4), "three quarters are the object"
    assert len(sheet.record.earlier) == 1, "the map without its outline stays on record"


def treated_sha(studio: Studio) -> str:
    """How the form is told which photograph."""
    from patina.bench.pieces.casts import cast_sheet

    return cast_sheet(studio, "C1").photographs[0].sha256[:12]


async def test_a_zone_is_drawn_anew_corrected_and_taken_back(running: Start, treated: Studio) -> None:
    """R gives the chosen zone other corners, e other words, d takes it back; a click puts a corner too."""
    on = treat.write_part(treated, "CT1", "map", {"visit": "a", "view": "b", "photograph": treated_sha(treated)}).id
    said = {"map": on, "name": "knee", "term": "bloom", "polygons": "0.1,0.1 0.2,0.1 0.2,0.2"}
    treat.write_part(treated, "CT1", "zone", said)
    async with running() as person:
        await _to_treatment(person)
        await person.press("m")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        screen = await person.until(
            lambda: _on(person, "TreatmentMap") and person.app.screen.picture.preview and person.app.screen
        )
        await person.press("R")
        await person.until_told("Choose a zone")
        assert _on(person, "TreatmentMap"), "no zone is chosen"
        await person.press("tab")
        for x, y in ((2, 2), (20, 2), (20, 8)):
            screen.picture.on_mouse_down(
                events.MouseDown(screen.picture, x, y, 0, 0, 1, False, False, False, x, y, None)
            )
        await person.until(lambda: len(screen.picture.corners) == 3)
        await person.press("R")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(severity="3", **{"why-corrected": "seen better"})
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap") and screen.zones[0].value.severity == 3)
        assert screen.zones[0].value.polygons[0] != ((0.1, 0.1), (0.2, 0.1), (0.2, 0.2))
        await person.press("n")
        await person.until(lambda: _on(person, "GoingForm"))
        assert person.app.screen.values["spot"]
        await person.fill(place="heel", agent="white spirit")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap") and screen.patches)
        await person.until(lambda: "a CX1 white spirit" in person.sheet())
        await person.press("d")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(reason="on the wrong leg")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap") and not screen.zones)


async def test_the_overlay_is_written_from_the_map(running: Start, treated: Studio, tmp_path: Path) -> None:
    """s asks for a name; another ending is refused beside the field."""
    treat.write_part(treated, "CT1", "map", {"visit": "a", "view": "b", "photograph": treated_sha(treated)})
    async with running() as person:
        await _to_treatment(person)
        await person.press("m")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        await person.until(lambda: _on(person, "TreatmentMap") and person.app.screen.picture.preview)
        await person.press("s")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(to=str(tmp_path / "map.png"))
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 1)
        await person.fill(to=str(tmp_path / "map.svg"))
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "TreatmentMap"))
    assert (tmp_path / "map.svg").read_text("utf-8").startswith("<svg")


async def test_what_is_missing_names_who_asks(running: Start, treated: Studio) -> None:
    """c lists it by purpose with its code or standard."""
    async with running((80, 24)) as person:
        await _to_treatment(person)
        await person.press("c")
        await person.until(lambda: _on(person, "Notes"))
        words = person.app.screen.prose.plain
    assert "As a proposal" in words and "AIC commentary 25" in words and "ECCO II article 10" in words


async def test_care_that_is_due_is_said_at_the_start_of_casts(running: Start, treated: Studio) -> None:
    """One line over the place says how much and of whom, also on a narrow screen; k says all of it."""
    treat.write_part(treated, "CT1", "care", {"trigger": "months", "task": "wax it", "from_day": "2020-01-01"})
    async with running((80, 24)) as person:
        await _to_casts(person)
        await person.until_text("care due: 1, Quay Trust")
        await person.press("k")
        await person.until(lambda: _on(person, "Notes"))
        assert "wax it" in person.app.screen.prose.plain and "OVERDUE" in person.app.screen.prose.plain


async def test_without_due_care_nothing_is_said(running: Start, treated: Studio) -> None:
    """No empty line stands over the place."""
    async with running() as person:
        await _to_casts(person)
        assert not person.app.screen.query_one("#care-due").display


async def test_salts_are_plotted_against_the_root_of_time(running: Start, treated: Studio) -> None:
    """y shows what is out with the curve that fits; without baths it says so; the table stands in the section."""
    async with running() as person:
        await _to_treatment(person)
        await person.press("y")
        await person.until_told("No bath has been read")
        assert _on(person, "Treatment")
        said = {"name": "fragment", "measured": "chloride mg/L", "scheme": "baths changed", "supply": "0.4"}
        bath = treat.write_part(treated, "CT1", "bath", said).id
        for n, value in enumerate((32.7, 23.1, 22.8, 18.8, 16.3, 7.5, 4.8), 1):
            reading = {"bath": bath, "number": str(n), "hours": "48", "value": str(value), "volume_ml": "2 L"}
            treat.write_part(treated, "CT1", "bath-reading", reading)
        await person.press("f5")
        await _section(person, "salts")
        await person.until(lambda: "above supply" in person.sheet())
        await person.press("y")
        await person.until(lambda: _on(person, "Plots"))
        assert "√" in person.app.screen.plots[0].x_name
        assert next(c.name for c in person.app.screen.plots[0].curves) == "read"
        assert len(person.app.screen.plots[0].curves) == 2


async def test_the_picture_is_enlarged_around_the_cursor(running: Start, treated: Studio) -> None:
    """z makes cells smaller in the picture, so that corners can be put more finely; the cursor stays in sight."""
    treat.write_part(treated, "CT1", "map", {"visit": "a", "view": "b", "photograph": treated_sha(treated)})
    async with running((80, 24)) as person:
        await _to_treatment(person)
        await person.press("m")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        screen = await person.until(
            lambda: _on(person, "TreatmentMap") and person.app.screen.picture.preview and person.app.screen
        )
        whole = screen.picture.step
        for _ in range(2):
            before = screen.picture.step
            await person.press("z")
            await person.until(lambda before=before: screen.picture.step[0] < 0.6 * before[0])
        await person.press(*["down"] * 30, *["right"] * 40, "space")
        await person.until(lambda: screen.picture.step[0] < whole[0] / 3)
        await person.until_text("╋")
        await person.press("z")
        await person.until(lambda: screen.picture.step == whole)


async def test_maps_are_laid_over_each_other_from_the_screen(running: Start, treated: Studio, tmp_path: Path) -> None:
    """o finds how the photographs lie on each other, and says how well; without two maps it says so."""
    import swatches

    async with running() as person:
        await _to_treatment(person)
        await person.press("o")
        await person.until_told("no two maps of one view")
        assert _on(person, "Treatment")
        for n, name in enumerate(("relief-before.jpg", "relief-after.jpg")):
            sha256 = tiles.add_photograph(treated, "C1", swatches.photograph(name)).sha256
            said = {"visit": str(n), "view": "front", "photograph": sha256, "seen_on": f"2026-03-0{n + 1}"}
            on = treat.write_part(treated, "CT1", "map", said).id
            zone = {"map": on, "name": "a", "term": "bloom", "polygons": "0.4,0.6 0.6,0.6 0.6,0.8"}
            treat.write_part(treated, "CT1", "zone", zone)
        await person.press("f5")
        await person.until(lambda: len(person.app.screen.sheet.changes) == 1)
        await person.press("o")
        await person.until(lambda: _on(person, "Notes"))
        assert "the pictures lie on each other within" in person.app.screen.prose.plain


async def test_a_treatment_is_signed_off_amended_and_its_past_read_by_keys(running: Start, treated: Studio) -> None:
    """S signs the record, after which writing is refused; A adds to it; H tells the deeds; the seal stands on it."""
    async with running((80, 24)) as person:
        await _to_treatment(person)
        await person.press("S")
        await person.until(lambda: _on(person, "Form"))
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Treatment") and getattr(person.app.screen.signed, "sealed", False))
        await person.press("A")
        await person.until(lambda: _on(person, "Form"))
        await person.press(*"waxed again", "tab", *"owner asked", "ctrl+s")
        await person.until(lambda: _on(person, "Treatment") and person.app.screen.signed.amendments)
        words = person.app.screen.query_one("#words").prose.plain
        assert "Signed off" in words and "waxed again" in words and "owner asked" in words
        await person.press("H")
        await person.until(lambda: _on(person, "History") and person.app.screen.query("#deed-words"))
    assert sealing.seal_of(treated, "CT1").amendments[0].words == "waxed again"
    with pytest.raises(Refused, match="signed off"):
        treat.write_part(treated, "CT1", "person", {"name": "Ada", "role": "assistant"})
