"""Bench by keys: amounts as typed, what to weigh, pots kept and used."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from screens_driver import Driver, Running

from patina.bench.pots import batches
from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.entries import NewLot

Start = Callable[..., Running]


async def _to_slipway(person: Driver) -> None:
    """To the bench, onto the brown recipe, into the field for the area."""
    await person.press("2")
    await person.until(lambda: len(person.app.screen.record_list.rows) == 2)
    await person.press("down")
    await person.until(lambda: person.app.screen.sheet and person.app.screen.sheet.id == "R1")
    await person.press("enter")


async def test_what_to_weigh_follows_as_one_types(running: Start) -> None:
    """2.3 m2 at texture 1.1, 40 mL/m2, 6 passes, 50 % transfer, 25 % reserve, 250 mL dead volume make
    1768 mL (the check line of the recipe file's description, worked by hand: 2.3 × 1.1 × 40 × 6 / 0.5
    × 1.25 + 250); 5 g/L of it are 8.84 g."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("2.3 m2")
        await person.until(lambda: "1768 mL" in person.sheet())
        await person.until(lambda: "8.8 g" in person.sheet())
        await person.until(lambda: "hydrogen sulphide" in person.sheet())
        await person.until(lambda: person.sheet().index("May give off") < person.sheet().index("8.8 g"))
        await person.press("tab")
        await person.write("1.0")
        await person.until(lambda: "1630 mL" in person.sheet())


async def test_a_bad_amount_is_said_beside_its_field(running: Start) -> None:
    """An area without a unit, of zero, with two units, in words: told by the form, and nothing to weigh is left."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("2.3 m2")
        await person.until(lambda: "1768 mL" in person.sheet())
        screen = person.app.screen
        for typed in ("2.3", "0 m2", "2 m2 kg", "-1 m2", "big", "1 kg"):
            await person.press("end", "ctrl+u")
            await person.write(typed)
            await person.until(lambda: screen.query_one("#mix-area").has_class("-wrong") and "▲ Area:" in person.text())
            await person.until(lambda: screen.mix is None and "1768 mL" not in person.sheet())
        await person.press("end", "ctrl+u")
        await person.write("2.3 m2")
        await person.until(lambda: "1768 mL" in person.sheet())
        assert not screen.query_one("#mix-area").has_class("-wrong")


async def test_passes_must_be_a_whole_number(running: Start) -> None:
    """Passes as '2.5' are refused beside their own field."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("1 m2")
        person.app.screen.query_one("#mix-passes").focus()
        await person.write("2.5")
        await person.until(lambda: person.app.screen.query_one("#mix-passes").has_class("-wrong"))
        await person.until_text("no whole number")


async def test_a_pot_is_kept_and_taken_off_the_shelf(running: Start, studio: Studio) -> None:
    """Ctrl+S keeps the pot with the lot it was weighed from (never the expired one of its own accord); the
    open pot shows the hours it may still be used."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("2.3 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        assert person.app.screen.values["lot0"] == "L2"
        await person.fill(ph="11.2")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.at == 1)
        await person.until_text("B1  sulphide wash")
        await person.until(lambda: "h" in person.text() and "left" in person.text())
        batch = batches.batch_sheet(studio, "B1")
        assert batch.ph == 11.2
        assert batch.weighed[0][4] == "L2"
        left = next(row.left for row in shelf.list_lots(studio) if row.id == "L2")
        assert abs(left - (250.0 - batch.weighed[0][2])) < 1e-9


async def test_a_short_lot_is_refused_before_anything_is_taken(running: Start, studio: Studio) -> None:
    """More than a lot holds is refused in the form; no pot is kept and the lots are as before."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("100 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(lot0="L2")
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.query_one("#form-trouble").has_class("-said"))
        assert batches.list_batches(studio) == ()
        assert sorted(row.left for row in shelf.list_lots(studio)) == [100.0, 250.0]


async def test_every_mistake_of_the_pot_is_said_at_once(running: Start) -> None:
    """A weight without a unit and a pH that is no number are both told, each beside its field."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("1 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        await person.fill(weighed0="12", ph="sour")
        await person.press("ctrl+s")
        await person.until(lambda: len(person.app.screen.query(".-wrong")) == 2)
        assert {f.id for f in person.app.screen.query(".-wrong")} == {"field-weighed0", "field-ph"}


async def test_the_batch_sheet_is_written(running: Start, studio: Studio) -> None:
    """F7 writes the batch sheet as a PDF where it is said to."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("2.3 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await person.press("f7")
        await person.until(lambda: type(person.app.screen).__name__ == "Choose")
        await person.press("enter")
        await person.until(lambda: type(person.app.screen).__name__ == "AskPath")
        await person.press("enter")
        pdf = Path(studio.where) / "batch-slipway-brown.pdf"
        await person.until(lambda: pdf.is_file() and pdf.read_bytes()[:5] == b"%PDF-", 8.0)


async def test_from_a_finish_to_the_bench_by_m(running: Start) -> None:
    """m takes the chosen recipe to the bench, with the field for the area ready."""
    async with running() as person:
        await person.press("m")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
        await person.until(lambda: person.app.screen.sheet.recipe.name == "Quay green")
        await person.until(lambda: person.app.focused is person.app.screen.query_one("#mix-area"))


async def test_another_hydrate_on_the_shelf(running: Start, studio: Studio) -> None:
    """F6 weighs what stands on the shelf: 5 g/L of the trihydrate are 4.81 g/L of the 2.5-hydrate (molar masses
    241.60 and 232.59 g/mol of IUPAC 2021 weights, from memory: 5 × 232.59 / 241.60)."""
    shelf.add_lot(studio, NewLot("cupric nitrate hemipentahydrate", 500.0, "g"))
    async with running() as person:
        await person.press("m")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
        await person.press("tab", "tab", "tab")
        await person.write("1 L")
        await person.until(lambda: "5 g" in person.sheet() and "trihydrate" in person.sheet())
        await person.press("f6")
        await person.until(lambda: "from the shelf" in person.sheet())
        line = person.app.screen.mix.solutions[0].weigh[0]
        assert line.substance == "cupric nitrate hemipentahydrate"
        assert abs(line.amount - 5 * 232.59 / 241.60) < 0.01


async def test_nothing_is_kept_by_what_stood_there_before(running: Start) -> None:
    """As soon as the area is changed the old mix cannot be kept or printed any more."""
    async with running() as person:
        await _to_slipway(person)
        await person.write("2.3 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await person.write("x")
        await person.until(lambda: person.app.screen.mix is None)
