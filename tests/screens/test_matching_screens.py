"""Series, map of the rack, predictions, plans, agreed finishes and approvals by keys."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from screens_driver import Driver, Running

from patina.bench.matched import agreed, making
from patina.bench.paper import approving
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.entries import NewCast, NewReading, NewTile, NewTreatment

Start = Callable[..., Running]


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name


async def _to(person: Driver, key: str, where: str) -> None:
    await person.press(key)
    await person.until(lambda: where == person.app.screen.WHERE and person.app.screen.sheet is not None)


async def _more(person: Driver, words: str) -> None:
    """Choose one of the doings of the chosen record."""
    await person.press("x")
    await person.until(lambda: _on(person, "Choose"))
    options = [str(text) for _, text in person.app.screen.options]
    at = next(n for n, text in enumerate(options) if words in text)
    await person.press(*["down"] * at, "enter")


@pytest.fixture
def edition(studio: Studio) -> Studio:
    """Three casts of an edition, each darker than the one before, by two hands."""
    for n, L in ((1, 27.0), (2, 25.8), (3, 21.0)):
        if n > 1:
            casts.add_cast(studio, NewCast("W1", number=f"{n}/3", alloy="C87300", master="M1"))
        casts.add_treatment(studio, NewTreatment(f"C{n}", "patinated", done_by="Ada" if n < 3 else "Bo", recipe="R1"))
        tiles.add_reading(
            studio,
            f"C{n}",
            NewReading(L, 6.5, 9.0, n=5, sd=(0.3, 0.2, 0.2), uncertainty_de00=0.5, wax_state="unwaxed", warmth="cold"),
        )
    return studio


async def test_a_series_with_charts_and_what_changed(running: Start, edition: Studio) -> None:
    """z on a cast shows its edition: charts, register with verdicts, where the hand changed; o orders by date."""
    async with running(on=edition) as person:
        await _to(person, "4", "casts")
        await person.press("z")
        await person.until(lambda: _on(person, "Series") and person.app.screen.sheet is not None)
        await person.until_text("L*")
        charts = person.app.screen.query_one("#series-charts")
        drawn = charts.render().plain
        assert drawn.count("●") + drawn.count("✖") + drawn.count("◆") >= 9 and "┄" in drawn
        await person.until(lambda: "prove nothing" in person.sheet())
        words = person.sheet()
        assert "3/3 C3" in words and "✗ fail" in words and "hand: Ada → Bo" in words
        assert "prove nothing" in words
        await person.press("o")
        await person.until(lambda: person.app.screen.sheet.order == "date")
        await person.press("escape")
        await person.until(lambda: person.app.screen.WHERE == "casts")


@pytest.mark.parametrize("size", [(80, 24), (140, 40)])
async def test_the_rack_as_a_map(running: Start, size: tuple[int, int]) -> None:
    """v shows tiles at their a*, b* in their own colour; arrows go from tile to tile, Enter opens its sheet."""
    async with running(size) as person:
        await _to(person, "3", "tiles")
        await person.press("v")
        await person.until(lambda: _on(person, "RackPlace") and person.app.screen.map.dots)
        here = person.app.screen.map
        ids = {d.id for d in here.dots}
        assert ids == {"T1", "T2", "M1"}
        assert here.chosen is not None and here.chosen.id == "T2"
        await person.until_text("✚ T2")
        await person.press("left")
        await person.until(lambda: here.chosen.id in ("T1", "M1"))
        await person.until_text("b*")
        text = person.text()
        assert "a*" in text and "b*" in text
        await person.press("v")
        await person.until_text("C*")
        await person.press("right")
        await person.until(lambda: here.chosen.id == "T2")
        await person.press("enter")
        await person.until(lambda: person.app.screen.WHERE == "tiles" and person.app.screen.sheet.row.id == "T2")


async def test_the_map_paints_tiles_in_their_own_colour(running: Start) -> None:
    """The cell of a tile has the screen colour of its reading behind a sign that can be read without colour."""
    from patina.bench.readings.showing import screen_colour

    async with running() as person:
        await _to(person, "3", "tiles")
        await person.press("v")
        await person.until(lambda: _on(person, "RackPlace") and person.app.screen.map.dots)
        here = person.app.screen.map
        styles = [str(span.style) for span in here.render().spans]
        for dot in here.dots[:2]:
            assert any(screen_colour(dot.lab) in style for style in styles)


async def test_a_finish_agreed_in_full_by_keys(running: Start, studio: Studio) -> None:
    """From the agreed finishes: a zone with limit tiles, a holder; both stand in the finish in full."""
    async with running(on=studio) as person:
        await _to(person, "4", "casts")
        await person.press("v", "v")
        await person.until(lambda: person.app.screen.at == 2 and person.app.screen.record_list.chosen == "M1")
        await _more(person, "Agree the colour of a zone")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(zone="face", readings="T9", light="T2")
        await person.press("ctrl+s")
        await person.until_text("▲")
        await person.fill(readings="T1")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"))
        assert "face" in person.app.screen.prose.plain and "light limit" in person.app.screen.prose.plain
        await person.press("escape")
        await _more(person, "Who holds one")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(tile="T1", holder="the foundry")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.WHERE == "casts" if hasattr(person.app.screen, "WHERE") else False)
    sheet = agreed.agreed_sheet(studio, "M1")
    assert {z.zone for z in sheet.zones} == {"whole", "face"}
    assert sheet.holdings[0].holder == "the foundry"


async def test_prediction_plan_and_causes_are_told(running: Start, edition: Studio) -> None:
    """x offers what a cast becomes, how its finish is got again and why it missed; each is told in words."""
    for n, L in ((3, 31.0), (4, 29.0)):
        tiles.start_tile(edition, NewTile(f"QT-{n}", "C87300", recipe="R1", revision=1))
        for wax, away in (("unwaxed", 0.0), ("waxed", -3.0)):
            reading = NewReading(L + away, 6.5, 9.0, wax_state=wax, warmth="cold", area="middle", uncertainty_de00=0.5)
            tiles.add_reading(edition, f"T{n}", reading)
    async with running(on=edition) as person:
        await _to(person, "4", "casts")
        await person.press("down", "down")
        await person.until(lambda: person.app.screen.sheet.row.id == "C3")
        await _more(person, "What it becomes")
        await person.until(lambda: _on(person, "Notes"))
        assert "wax" in person.app.screen.prose.plain or "unwaxed" in person.app.screen.prose.plain
        await person.press("escape")
        await _more(person, "Get this finish again")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(now="blast=used bead", area="0.2 m2")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"))
        told = person.app.screen.prose.plain
        assert "One tile exactly as it was then" in told and "liver of sulphur" in told.casefold()
        await person.press("escape")
        await _more(person, "Why it came out")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(reference="C1")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"))
        assert "hand Ada → Bo" in person.app.screen.prose.plain


async def test_from_a_card_and_how_it_was_made(running: Start, studio: Studio) -> None:
    """A tile's circumstances are written down; a card is turned into settings and tiles to make."""
    async with running(on=studio) as person:
        await _to(person, "3", "tiles")
        chosen = person.app.screen.record_list.chosen
        await _more(person, "Write down how it was made")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(blast="glass bead, new", surface_c="88")
        await person.press("ctrl+s")
        await person.until(lambda: not _on(person, "Form"))
        assert making.known_facts(studio, chosen)["blast"] == "glass bead, new"
        await _more(person, "From an old card")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(card="2 spoons medium, few coats, hot", target="28,7,10")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"), 8.0)
        told = person.app.screen.prose.plain
        assert "Tiles to make, one at a time" in told and "2 spoons" in told


async def test_an_approval_and_its_page(running: Start, edition: Studio, tmp_path: Path) -> None:
    """Who looked and what they said is kept; the page is written where it was asked for."""
    async with running(on=edition) as person:
        await _to(person, "4", "casts")
        await person.press("down")
        await person.until(lambda: person.app.screen.sheet.row.id == "C2")
        await _more(person, "Approval: write down")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(who="Ida Thorne", answer="maybe")
        await person.press("ctrl+s")
        await person.until_text("'maybe' is not known here")
        await person.fill(answer="approved")
        await person.press("ctrl+s")
        await person.until(lambda: not _on(person, "Form"))
        await _more(person, "a page for the client")
        await person.until(lambda: _on(person, "Form"))
        await person.fill(file=str(tmp_path / "page.html"))
        await person.press("ctrl+s")
        await person.until(lambda: (tmp_path / "page.html").is_file())
    assert approving.approvals_of(edition, "C2")[0].who == "Ida Thorne"
    assert "Ida Thorne" in (tmp_path / "page.html").read_text("utf-8")


async def test_a_verdict_tells_what_it_rests_on(running: Start, edition: Studio) -> None:
    """j on a cast: word and sign, each component with its doubt, what would decide."""
    async with running(on=edition) as person:
        await _to(person, "4", "casts")
        await person.press("down", "down")
        await person.until(lambda: person.app.screen.sheet.row.id == "C3")
        await person.press("j")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        await person.until_text("✗ FAIL")
        told = person.app.screen.prose.plain
        assert "Zone by zone" in told and "5 readings" in told and "between identical pieces" in told


async def test_both_finishes_are_written_side_by_side(running: Start, studio: Studio, tmp_path: Path) -> None:
    """p on the comparing screen asks for a file, writes the picture and tells where; a wrong ending is told."""
    from tui.screens.comparing import Comparing

    async with running(on=studio) as person:
        person.app.push_screen(Comparing("30,7,10", "41,9,17"))
        await person.until(lambda: _on(person, "Comparing") and person.app.screen.sheet is not None)
        await person.press("p")
        await person.until(lambda: _on(person, "AskPath"))
        person.app.screen.query_one("#path-input").value = str(tmp_path / "both.svg")
        await person.press("enter")
        await person.until(lambda: (tmp_path / "both.svg").exists())
        await person.until(lambda: any("Written to" in n.message for n in person.app._notifications))
    assert "earth mover" in (tmp_path / "both.svg").read_text("utf-8")
