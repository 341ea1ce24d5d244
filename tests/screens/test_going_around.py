"""From a record to those that hang together with it and back again, by keys."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from screens_driver import Driver, Running

from patina.bench.finding.related import related
from patina.bench.pieces import casts
from patina.bench.pots import batches
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.entries import NewBatch, NewCast, NewMaster, NewTile, NewTreatment, Weighed
from patina.errors import NotFound
from tui.screens.place import FIRST_PAGE

Start = Callable[..., Running]


def _shown(person: Driver) -> str:
    sheet = getattr(person.app.screen, "sheet", None)
    sheet = sheet[0] if isinstance(sheet, tuple) else sheet
    return str(getattr(getattr(sheet, "row", sheet), "id", ""))


async def _take(person: Driver, id: str) -> None:
    """g, then the record of that id in the list that is offered."""
    await person.press("g")
    await person.until(lambda: type(person.app.screen).__name__ == "Choose")
    offered = [option for option, _ in person.app.screen.options]
    await person.press(*["down"] * offered.index(id), "enter")
    await person.until(lambda: type(person.app.screen).__name__ != "Choose")


@pytest.fixture
def pot(studio: Studio) -> str:
    """A pot of R1 weighed from the lot L1, a tile T3 made from it, a finish M2 agreed on that tile, a cast C1 with the
    finish M1 that was treated with the pot, a cast C2 with the finish M2, and a conservator's treatment of C1."""
    solution = finishes.recipe_sheet(studio, "R1").recipe.solutions[0].name
    weighed = (Weighed("liver of sulphur", 10.0, 10.0, "g", "L1"),)
    made = batches.mix_batch(studio, NewBatch("R1", 1, solution, 500.0, weighed))
    tiles.start_tile(studio, NewTile("QT-3", "C87300", recipe="R1", revision=1, batch=made.id))
    casts.change_cast(studio, "C1", NewCast("W1", number="1/3", alloy="C87300", master="M1"))
    casts.add_treatment(
        studio, NewTreatment("C1", "coloured", recipe="R1", revision=1, batch=made.id, done_on=date(2026, 3, 2))
    )
    casts.agree_master(studio, NewMaster("Dark", (27.0, 6.5, 9.0), 3.0, tile="T3", wax_state="unwaxed", warmth="cold"))
    casts.add_cast(studio, NewCast("W1", number="2/3", alloy="C87300", master="M2"))
    treat.begin_treatment(studio, {"cast": "C1", "name": "New wax"})
    return made.id


def test_what_hangs_together(studio: Studio, pot: str) -> None:
    """Each record names its neighbours, both ways; an id of another kind is refused in words."""
    of = {id: {f.id for f in related(studio, id)} for id in ("T3", "T1", "R1", pot, "C1", "M1", "W1")}
    assert of["T3"] == {"R1", pot, "C1", "C2", "M2", "L1", "CT1"}
    assert of["T1"] == {"R1"}
    assert {"T3", "T2", "T1", pot, "C1", "M2", "L1", "L2", "CT1"} <= of["R1"]
    assert of[pot] == {"R1", "T3", "C1", "L1", "M1", "M2", "CT1"}
    assert of["C1"] == {"M1", "R1", pot, "W1", "T3", "L1", "CT1"}
    assert "C1" in of["M1"] and of["W1"] == {"C1", "C2", "M1", "M2", "CT1"}
    with pytest.raises(NotFound):
        related(studio, "D1")
    with pytest.raises(NotFound):
        related(studio, "T99")
    with pytest.raises(NotFound):
        related(studio, "CT99")


def test_every_pair_goes_both_ways(studio: Studio, pot: str) -> None:
    """Recipe, tile, pot, cast, agreed finish, lot and treatment lead to each other, and whatever leads to a record
    is led to by it."""
    kinds = {"R": "R1", "T": "T3", "B": pot, "C": "C1", "M": "M2", "L": "L1", "CT": "CT1"}
    others = ("M1", "C2", "W1", "T1", "R2", "L2")
    of = {id: {f.id for f in related(studio, id)} for id in (*kinds.values(), *others)}
    letters = {id: {other.rstrip("0123456789") for other in of[id]} for id in kinds.values()}
    apart = {(a, b) for a, id in kinds.items() for b in kinds if b != a and b not in letters[id]}
    assert apart == {("M", "CT")}, "M2 is the finish of C2, which nobody treats"
    assert "CT1" in of["M1"] and "M1" in of["CT1"]
    one_way = {(a, b) for a in of for b in of[a] & of.keys() if a not in of[b]}
    assert not one_way


async def test_from_a_tile_to_its_recipe_to_its_pot_and_all_the_way_back(
    running: Start, studio: Studio, pot: str
) -> None:
    """g goes on three times, Backspace comes back the same way; at the start it says so and stays."""
    async with running() as person:
        await person.press("3")
        await person.until(lambda: _shown(person) == "T3")
        await _take(person, "R1")
        await person.until(lambda: person.app.current_mode == "finishes" and _shown(person) == "R1")
        await _take(person, pot)
        await person.until(lambda: person.app.current_mode == "bench" and _shown(person) == pot)
        await _take(person, "C1")
        await person.until(lambda: person.app.current_mode == "casts" and _shown(person) == "C1")
        for key, place, id in (
            ("backspace", "bench", pot),
            ("alt+left", "finishes", "R1"),
            ("backspace", "tiles", "T3"),
        ):
            await person.press(key)
            await person.until(lambda place=place, id=id: person.app.current_mode == place and _shown(person) == id)
        await person.press("backspace")
        await person.until(lambda: any("no way back" in n.message for n in person.app._notifications))
        assert _shown(person) == "T3"


async def test_through_every_kind_of_record_and_back(running: Start, studio: Studio, pot: str) -> None:
    """From the lot to its recipe, tile, finish, cast; to the treatment, opened; from there to the pot and the lot;
    Backspace leads all the way back, also over the treatment."""
    way = (("R1", "finishes"), ("T3", "tiles"), ("M2", "casts"), ("C2", "casts"), ("W1", "casts"), ("C1", "casts"))
    async with running() as person:
        await person.press("5")
        await person.until(lambda: person.app.current_mode == "shelf" and person.app.screen.sheet is not None)
        person.app.open_record("L1")
        await person.until(lambda: person.app.screen.standing_on == "L1")
        person.app.trail.clear()
        for id, place in way:
            await _take(person, id)
            await person.until(lambda place=place, id=id: person.app.current_mode == place and _shown(person) == id)
        await person.press("w")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        await person.press("enter")
        await person.until(lambda: type(person.app.screen).__name__ == "Treatment")
        await person.until(lambda: not person.app.jobs.running)
        await _take(person, pot)
        await person.until(lambda: person.app.current_mode == "bench" and _shown(person) == pot)
        await _take(person, "L1")
        await person.until(lambda: person.app.current_mode == "shelf" and person.app.screen.standing_on == "L1")
        back = [("bench", pot), ("casts", "CT1"), *[(place, id) for id, place in reversed(way[:-1])], ("shelf", "L1")]
        for place, id in back:
            await person.press("backspace")
            await person.until(
                lambda place=place, id=id: person.app.current_mode == place and person.app.screen.standing_on == id
            )


async def test_from_a_cast_to_its_piece_and_its_finish(running: Start, studio: Studio, pot: str) -> None:
    """Within Casts the list changes to the one that holds the record, and back again."""
    async with running((80, 24)) as person:
        await person.press("4")
        await person.until(lambda: _shown(person) == "C1")
        await _take(person, "W1")
        await person.until(lambda: _shown(person) == "W1" and person.app.screen.at == 1)
        await person.press("backspace")
        await person.until(lambda: _shown(person) == "C1" and person.app.screen.at == 0)
        await _take(person, "M1")
        await person.until(lambda: _shown(person) == "M1" and person.app.screen.at == 2)


async def test_a_pot_that_is_used_up_is_told_where_one_stands(running: Start, studio: Studio, pot: str) -> None:
    """A pot with nothing left stands in no list: its sheet is shown, and one stays with the tile."""
    batches.discard_batch(studio, pot, "drum 1")
    assert pot in {f.id for f in related(studio, "T3")}
    async with running() as person:
        await person.press("3")
        await person.until(lambda: _shown(person) == "T3")
        await _take(person, pot)
        await person.until(lambda: type(person.app.screen).__name__ == "Notes")
        await person.until_text("used up")
        await person.press("escape")
        await person.until(lambda: _shown(person) == "T3")


async def test_backspace_while_searching_only_deletes(running: Start, studio: Studio) -> None:
    """In the search field Backspace and g are letters of the search and lead nowhere."""
    async with running() as person:
        await person.press("3")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        await person.press("slash")
        await person.write("qg")
        await person.press("backspace")
        await person.until(lambda: person.app.screen.query_one("#search").value == "q")
        assert person.app.current_mode == "tiles"


async def test_a_search_shows_its_first_page_and_then_the_rest(running: Start, studio: Studio) -> None:
    """Of a search that finds many, what fits on a screen stands there first, counted as going on; then all."""
    for n in range(FIRST_PAGE + 3):
        tiles.start_tile(studio, NewTile(f"rest {n}", "C87300"))
    first: list[int] = []
    async with running() as person:
        await person.press("3")
        await person.until(lambda: person.app.current_mode == "tiles" and person.app.screen.sheet is not None)
        screen = person.app.screen
        shown = screen.record_list.show
        screen.record_list.show = lambda rows, *a, **k: (first.append(len(rows)), shown(rows, *a, **k))  # type: ignore[method-assign]
        await person.press("slash")
        await person.write("rest")
        await person.until(lambda: len(screen.record_list.rows) == FIRST_PAGE + 3 and FIRST_PAGE in first)
        assert first[first.index(FIRST_PAGE) :] == [FIRST_PAGE, FIRST_PAGE + 3]
