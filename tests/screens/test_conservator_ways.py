"""A conservator at the keys: reading in full, what an empty section wants, forms that know the last entry, a map that
measures while it is drawn, signing off and what is refused since, the treatment as one file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from screens_driver import Driver, Running
from stories import Walk

from patina.bench import sealing
from patina.bench.paper import archive
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.bench.treating import treat

Start = Callable[..., Running]
SEEN = {"sort": "observation", "topic": "corrosion", "text": "green powder", "method": "loupe 10x", "place": "heel"}


@pytest.fixture(autouse=True)
def _own_drafts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drafts of a test lie in a folder of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def treated(studio: Studio, tmp_path: Path) -> Studio:
    """The small studio with a treatment of C1, which has a photograph, and one observation."""
    picture = tmp_path / "front.png"
    Image.new("RGB", (400, 300), (60, 80, 60)).save(picture)
    tiles.add_photograph(studio, "C1", picture)
    treat.begin_treatment(studio, {"cast": "C1", "name": "New wax", "owner": "Quay Trust"})
    treat.write_part(studio, "CT1", "statement", SEEN)
    return studio


async def _at(person: Driver, section: str) -> Walk:
    """On the treatment, at a section."""
    me = Walk(person)
    await me.place("4", "casts")
    await me.press("v", "v", "v")
    await me.step_to("CT1")
    await me.press("w")
    screen = await me.on("Treatment")
    await me.until(lambda: screen.sheet is not None)
    screen.go_to(section)
    await me.until(lambda: screen.section == section)
    return me


def _map(studio: Studio) -> str:
    photograph = casts.cast_sheet(studio, "C1").photographs[0].sha256
    said = {"visit": "before", "view": "front", "photograph": photograph, "seen_on": "2026-03-02"}
    return treat.write_part(studio, "CT1", "map", said).id


async def test_a_part_is_read_in_full(running: Start, treated: Studio) -> None:
    """r shows every field with its label, also those the list leaves out; Enter among the words does the same."""
    async with running((80, 24)) as person:
        me = await _at(person, "examination")
        await me.press("r")
        told = await me.notes("Method", "loupe 10x", "Where", "heel")
        assert "written" in told and "Ansel Brook" in told
        await me.press("enter", "enter")
        await me.notes("loupe 10x")


async def test_a_proposal_is_shown_whole_and_who_signed_it(running: Start, treated: Studio) -> None:
    """The newest version stands in full with what speaks against the others; a new version begins as the last was."""
    said = {"aim": "a sound coat", "alternatives": "leave it: it would go on", "hours_low": "3", "cost": "EUR 300"}
    treat.write_part(treated, "CT1", "proposal", said)
    async with running((80, 24)) as person:
        me = await _at(person, "proposal")
        await me.see("Version 1", "leave it: it would go on", "3 h", "EUR 300", "proposal, version 1: signed by nobody")
        await me.press("n")
        await me.choose("version of the proposal")
        await me.see("Some of it stands here as in CV1.")
        await me.form(cost="EUR 350", why="scaffold")
        await me.see("Version 2", "EUR 350", "Earlier versions")
        await me.press("n")
        await me.choose("signature under a version")
        await me.form(version="2", who="Edda Quill", dated="2026-03-08")
        await me.see("proposal, version 2: signed by Edda Quill on 2026-03-08")
    record = treat.treatment_sheet(treated, "CT1").record
    assert [p.value.alternatives for p in record.proposals] == [("leave it: it would go on",)] * 2


async def test_an_empty_section_says_what_would_fill_it(running: Start, treated: Studio) -> None:
    """No section is a blank page."""
    from tui.screens.treatment_choices import CALLED, EMPTY
    from tui.screens.treatment_sections import SECTIONS

    assert set(EMPTY) == set(SECTIONS)
    assert set(CALLED) == {kind.name for kind in treat.kinds()}
    async with running((80, 24)) as person:
        me = await _at(person, "salts")
        await me.see("Press n to write the first part", "the curve says when it is at its end")
        await me.press("r")
        await me.told("Nothing of this section can be chosen")


async def test_a_form_says_what_an_id_stands_for(running: Start, treated: Studio) -> None:
    """The arrows walk through ids with their meaning beneath; after a semicolon, through further ones."""
    treat.write_part(treated, "CT1", "statement", {**SEEN, "text": "water stands in the fold"})
    async with running((80, 24)) as person:
        me = await _at(person, "examination")
        await me.press("n")
        await me.until(lambda: me.screen.query("#field-rests_on"))
        field = me.screen.query_one("#field-rests_on")
        await me.fill(rests_on="")
        await me.press("down")
        await me.until(lambda: field.value == "CO1")
        await me.see("green powder")
        await me.write(";")
        await me.press("down", "down")
        await me.until(lambda: field.value == "CO1; CO2")
        await me.see("water stands in the fold")


async def test_a_second_patch_begins_like_the_first(running: Start, treated: Studio) -> None:
    """Where, tool and unit of strength stand there already; what was measured does not. A strength has a unit."""
    said = {"place": "back of the base", "agent": "white spirit", "strength": "5", "strength_unit": "% v/v"}
    treat.write_part(treated, "CT1", "patch", {**said, "tool": "swab", "effect": "none"})
    async with running((80, 24)) as person:
        me = await _at(person, "tests")
        await me.press("n")
        await me.see("Some of it stands here as in CX1.")
        values = me.screen.values
        assert (values["place"], values["tool"], values["strength_unit"]) == ("back of the base", "swab", "% v/v")
        assert (values["agent"], values["strength"], values["effect"]) == ("", "", "")
        await me.fill(agent="isopropanol", strength="50", strength_unit="")
        await me.press("ctrl+s")
        await me.see("The strength has no unit.")
        await me.form(strength_unit="% v/v")
        await me.see("isopropanol · 50 % v/v")


async def test_a_zone_is_measured_while_it_is_drawn(running: Start, treated: Studio) -> None:
    """From the third corner on it says what the corners enclose; Escape asks before it puts corners away."""
    _map(treated)
    async with running((80, 24)) as person:
        me = await _at(person, "condition")
        await me.press("m")
        await me.choose("CM1")
        screen = await me.on("TreatmentMap")
        await me.until(lambda: screen.picture.preview)
        await me.see("No zone yet")
        whole = screen.picture.cursor
        await me.press("ctrl+left")
        moved = (whole[0] - screen.picture.cursor[0]) / screen.picture.step[0]
        assert moved == pytest.approx(6.0), "six cells at once"
        await me.press("space", "right", "space", "down", "space")
        await me.see("3 corners", "encloses", "of the picture")
        await me.press("escape")
        await me.told("Escape again puts them away")
        assert len(screen.picture.corners) == 3
        await me.press("escape")
        await me.until(lambda: screen.picture.corners == [])
        await me.press("escape")
        await me.on("Treatment")
    assert treat.treatment_sheet(treated, "CT1").record.zones == ()


async def test_words_beside_the_map_are_scrolled_and_number_the_zones(running: Start, treated: Studio) -> None:
    """Every number on the picture has its line; on a low screen the words go on with Page Down."""
    on = _map(treated)
    for n in range(1, 9):
        corners = f"0.{n},0.1 0.{n}5,0.1 0.{n}5,0.3"
        treat.write_part(treated, "CT1", "zone", {"map": on, "name": f"fold {n}", "term": "bloom", "polygons": corners})
    async with running((80, 24)) as person:
        me = await _at(person, "condition")
        await me.press("m")
        await me.choose("CM1")
        screen = await me.on("TreatmentMap")
        await me.see("1. fold 1, bloom", "8. fold 8, bloom", "By term")
        said = screen.query_one("#map-said")
        await me.until(lambda: said.max_scroll_y > 0)
        await me.press("pagedown")
        await me.until(lambda: said.scroll_y > 0)
        await me.press("pageup")
        await me.until(lambda: said.scroll_y == 0)


async def test_signing_off_says_what_is_missing_and_what_is_refused_since(running: Start, treated: Studio) -> None:
    """Before: an amendment is refused at once, the form for the name says what is missing. After: only signatures,
    visits and copies are written; the rest is refused before anything is typed."""
    _map(treated)
    async with running((80, 24)) as person:
        me = await _at(person, "examination")
        await me.press("A")
        await me.told("CT1 is not signed off and may still be written in.")
        await me.press("S")
        await me.see("things that are asked of a report are missing")
        await me.form()
        await me.until(lambda: getattr(me.screen, "signed_already", False))
        for key in ("n", "e", "d"):
            await me.press(key)
            await me.until(lambda: sum("signed off: A adds" in n.message for n in person.app._notifications) >= 1)
            assert type(me.screen).__name__ == "Treatment", key
        await me.press("S")
        await me.told("CT1 was signed off by Ansel Brook: A adds to it.")
        await me.press("m")
        await me.choose("CM1")
        screen = await me.on("TreatmentMap")
        await me.until(lambda: screen.picture.preview)
        await me.press("space", "right", "space", "down", "space", "enter")
        await me.told("nothing more is drawn on its maps")
        await me.press("escape", "escape", "escape")
        await me.on("Treatment")
        me.screen.go_to("report")
        await me.until(lambda: me.screen.section == "report")
        await me.see("record as a whole: signed by Ansel Brook")
        await me.press("n")
        await me.on("Choose")
        assert [id for id, _ in me.screen.options] == ["copy", "signed"]
        await me.choose("copy")
        await me.form(to="Quay Trust", what="report")
        await me.see("to Quay Trust")
    assert len(treat.treatment_sheet(treated, "CT1").record.copies) == 1
    assert sealing.seal_of(treated, "CT1").sound


async def test_a_treatment_is_begun_from_their_list(running: Start, treated: Studio) -> None:
    """n among the treatments asks of which cast; Enter twice opens the chosen one to work on it."""
    async with running((80, 24)) as person:
        me = Walk(person)
        await me.place("4", "casts")
        await me.press("v", "v", "v", "n")
        await me.choose("Cormorant 1/3")
        await me.form(name="Inspection")
        screen = await me.on("Treatment")
        await me.until(lambda: screen.sheet is not None and screen.sheet.id == "CT2")
        await me.press("escape")
        await me.on("Casts")
        await me.step_to("CT1")
        await me.press("enter")
        await me.see("opens it to work on it")
        await me.press("enter")
        screen = await me.on("Treatment")
        await me.until(lambda: screen.sheet is not None and screen.sheet.id == "CT1")


async def test_a_treatment_is_one_file_by_keys(running: Start, treated: Studio, tmp_path: Path) -> None:
    """B on the treatment writes it with all that belongs to it; the file proves itself."""
    _map(treated)
    file = tmp_path / "wax.zip"
    async with running((80, 24)) as person:
        me = await _at(person, "report")
        await me.press("B")
        await me.choose("CT1 with all that belongs to it")
        await me.file(file)
        await me.notes("Written: wax.zip", "CT1 New wax", "1 photograph")
    assert (archive.verify(file).target, archive.verify(file).photographs) == ("CT1", 1)


async def _click(person: Driver, words: str) -> None:
    """Click on these words where they stand on the screen."""
    await person.until_text(words)
    lines = person.text().splitlines()
    row = next(n for n, line in enumerate(lines) if words in line)
    await person.pilot.click(offset=(lines[row].index(words) + 1, row))


async def test_a_zone_by_mouse(running: Start, treated: Studio) -> None:
    """A section, the key bar, an option, three corners, the zone and its form: every step a click, only words typed."""
    _map(treated)
    async with running((80, 24)) as person:
        me = await _at(person, "examination")
        await _click(person, "Condition")
        await me.until(lambda: me.screen.section == "condition")
        await _click(person, " Map ")
        await me.on("Choose")
        await _click(person, "CM1  before")
        screen = await me.on("TreatmentMap")
        await me.until(lambda: screen.picture.preview)
        for n, spot in enumerate(((4, 3), (20, 3), (20, 9)), 1):
            await person.pilot.click("#map-picture", offset=spot)
            await me.until(lambda n=n: len(screen.picture.corners) == n)
        await me.see("encloses")
        await _click(person, " Zone ")
        await me.until(lambda: me.screen.query("#field-name"))
        await person.pilot.click("#field-name")
        await me.write("shoulder")
        await person.pilot.click("#field-term")
        await me.write("bloom")
        await _click(person, "Save (Ctrl+S)")
        await me.on("TreatmentMap")
        await me.see("1. shoulder, bloom")
    (zone,) = treat.treatment_sheet(treated, "CT1").record.zones
    assert (zone.value.name, zone.value.term) == ("shoulder", "bloom")


async def test_keys_mean_the_treatment_in_its_list(running: Start, treated: Studio, tmp_path: Path) -> None:
    """Among the treatments p prints the report of the chosen one, y plots its salts or says how to get them, and what
    is of casts alone says so."""
    async with running((80, 24)) as person:
        me = Walk(person)
        await me.place("4", "casts")
        await me.press("v", "v", "v")
        await me.step_to("CT1")
        await me.press("y")
        await me.told("No bath has been read")
        await me.press("z")
        await me.told("Choose a cast or a piece first")
        told = await me.printed("on paper", tmp_path / "report.pdf")
    assert "New wax" in told and "What was signed, and what was not" in told
