"""What hands in wet gloves meet: hints that are no values, keys that work while one types, an area as one knows it."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from screens_driver import Driver, Running

from patina.bench.readings.tiles import tile_sheet
from patina.bench.recipes.finishes import list_recipes, recipe_sheet
from patina.bench.studio import Studio
from patina.language import read_as
from tui.widgets.bars import KeyBar

Start = Callable[..., Running]


@pytest.fixture
def in_german(studio: Studio, running: Start) -> Iterator[Start]:
    """The screens of a studio whose language is German; English again afterwards."""
    studio.set_setting("language", "de")
    yield running
    read_as()


def _on(person: Driver, name: str) -> bool:
    return type(person.app.screen).__name__ == name and person.app.screen.is_mounted


async def _form(person: Driver, *keys: str, name: str = "Form") -> Any:
    await person.press(*keys)
    await person.until(lambda: _on(person, name) and person.app.screen.query("FieldInput"))
    return person.app.screen


async def _at_list(person: Driver, key: str) -> None:
    await person.press(key)
    await person.until(lambda: getattr(person.app.screen, "sheet", None) is not None)


async def test_a_hint_is_no_value(running: Start) -> None:
    """An empty field shows its example in brackets; what stands in a field is shown without."""
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await _form(person, "n")
        await person.until_text("(C87300)")
        await person.fill(alloy="C87300")
        await person.until(lambda: "(C87300)" not in person.text() and " C87300" in person.text())


async def test_offered_words_are_the_readers_own(in_german: Start, studio: Studio) -> None:
    """In German the state of the metal is offered as "kalt" and "warm" and the wax as "gewachst"; English is kept."""
    async with in_german((80, 24)) as person:
        await _at_list(person, "3")
        id = person.app.screen.sheet.row.id
        form = await _form(person, "r")
        await person.until_text("kalt")
        await person.fill(L="27,4", a="6,3", b="9,2", area="nape", wax_state="")
        form.query_one("#field-wax_state").focus()
        await person.press("down", "down")
        await person.until_text("gewachst")
        assert form.values["warmth"] == "cold" and form.values["wax_state"] == "waxed"
        await person.press("ctrl+s")
        await person.until(lambda: any(r.area == "nape" for r in tile_sheet(studio, id).readings))
    reading = next(r for r in tile_sheet(studio, id).readings if r.area == "nape")
    assert (reading.warmth, reading.wax_state, reading.lab.L) == ("cold", "waxed", 27.4)


async def test_a_typed_word_of_ones_own_language_is_understood(in_german: Start, studio: Studio) -> None:
    """A German types "heute" as a day and "Natriumchlorid" as a substance."""
    async with in_german((120, 36)) as person:
        await person.press("5")
        await person.until_text("▸Regal")
        form = await _form(person, "n")
        await person.fill(substance="natriumchlorid", amount="500 g", opened_on="heute")
        assert (form.values["substance"], form.values["opened_on"]) == ("sodium chloride", "today")
        await person.press("ctrl+s")
        await person.until(lambda: not _on(person, "Form"))
        await person.until_text("Natriumchlorid")
        await person.until(lambda: "liver of sulphur" not in person.text() and "Schwefelleber" in person.text())


async def test_a_button_says_what_it_does(running: Start) -> None:
    """A form that only works something out does not speak of saving."""
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await _form(person, "l")
        await person.until_text("Find (Ctrl+S)")


async def test_keys_in_the_bar_work_while_one_types(running: Start) -> None:
    """In a field the bar names no letter, since it would go into the field; out of it the letters are back."""
    async with running((80, 24)) as person:
        await _at_list(person, "2")
        bar = person.app.screen.query_one(KeyBar)
        await person.until_text("? Help")
        await person.press("enter")
        await person.until(lambda: bar.typing)
        await person.until_text("F1 Help")
        keys = [bar.key_of(action) for action in bar.shown(80)]
        assert keys and all(len(key) > 1 for key in keys)
        await person.press("escape")
        await person.until_text("? Help")


@pytest.mark.parametrize(("typed", "area"), [("40 x 30 cm", "0.12 m²"), ("plate 1.2 m x 80 cm", "0.96 m²")])
async def test_an_area_by_its_sides(running: Start, typed: str, area: str) -> None:
    """The sides of a plate in the field for the area are one face of it: 0.4 × 0.3 = 0.12 m²."""
    async with running((120, 36)) as person:
        await _at_list(person, "2")
        await person.press("enter")
        await person.write(typed)
        await person.until(lambda: f"area {area}" in " ".join(person.sheet().split()))


async def test_a_weight_goes_on_to_the_sheet_of_methods(running: Start) -> None:
    """A weight is told apart from an area, and F3 takes it over; the wall is all that is left to say. By hand:
    14 kg over 8530 kg/m³ and 5 mm are 0.328 m² (density of C87300 from its handbook row)."""
    async with running((80, 24)) as person:
        await _at_list(person, "2")
        await person.press("enter")
        await person.write("14 kg")
        await person.until_words("is a weight, not an area. F3 works the area out from it.")
        await person.press("f3")
        await person.until(lambda: _on(person, "AreaDialog"))
        dialog = person.app.screen
        await person.until(lambda: dialog.focused is not None and dialog.focused.id == "field-weight-wall")
        assert dialog.query_one("#field-weight-mass").value == "14 kg"
        await person.write("5 mm")
        await person.fill(**{"weight-alloy": "C87300"})
        await person.until(lambda: dialog.taken is not None)
        assert dialog.taken.area_m2 == pytest.approx(0.328, rel=0.05)
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen.mix is not None)


async def test_a_recipe_by_a_few_questions(running: Start, studio: Studio) -> None:
    """n asks, says what is wrong beside its field with the buttons in sight, and writes the text; Ctrl+S saves it."""
    async with running((80, 24)) as person:
        form = await _form(person, "n", name="RecipeForm")
        await person.press("ctrl+s")
        await person.until_words("The name is missing.")
        await person.until_text("On to its text (Ctrl+S)")
        await person.fill(name="Quay brown", finish="even brown", alloy="C87300", chemicals="livre of sulphur 5 g/L")
        await person.fill(method="torch", passes="3", coverage="40 mL/m2", metal="80 to 95 °C")
        await person.press("ctrl+s")
        await person.until_words("Did you mean liver of")
        await person.until_text("On to its text (Ctrl+S)")
        assert form.values["name"] == "Quay brown"
        await person.fill(chemicals="liver of sulphur 5 g/L")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "RecipeText"))
        await person.until_text("The text can be read")
        await person.press("ctrl+s")
        await person.until(lambda: "Quay brown" in [row.name for row in list_recipes(studio)])
    recipe = recipe_sheet(studio, "Quay brown").recipe
    assert [(s.do, s.passes) for s in recipe.steps] == [("apply", 3)]


async def test_the_pattern_is_no_recipe(running: Start, studio: Studio) -> None:
    """F4 begins with the text; nothing is saved while it is still the pattern."""
    before = len(list_recipes(studio))
    async with running((80, 24)) as person:
        await _form(person, "n", name="RecipeForm")
        await person.press("f4")
        await person.until(lambda: _on(person, "RecipeText"))
        await person.until_text("The text can be read")
        await person.press("ctrl+s")
        await person.until(lambda: any("still the pattern" in n.message for n in person.app._notifications))
        assert _on(person, "RecipeText")
    assert len(list_recipes(studio)) == before


async def test_a_text_that_is_not_saved_is_there_again(running: Start) -> None:
    """A program that ends while a recipe is written loses no line, of a new one or of a revision; leaving without
    saving forgets it."""
    async with running((80, 24)) as person:
        await _form(person, "n", name="RecipeForm")
        await person.press("f4")
        await person.until(lambda: _on(person, "RecipeText"))
        await person.write("# by the gate")
        await person.press("enter")
        await person.until(lambda: "by the gate" in person.text() and person.app.screen.recipe is not None)
        person.app.screen.check()
    async with running((80, 24)) as person:
        await person.press("n")
        await person.until_text("# by the gate")
        await person.press("escape")
        await person.until_text("Leave without saving")
        await person.press("down", "enter")
        await person.until(lambda: _on(person, "Finishes"))
        await _form(person, "n", name="RecipeForm")
        await person.press("escape")
        await person.press("e")
        await person.until(lambda: _on(person, "RecipeText"))
        await person.write("# warmer")
        await person.press("enter")
        await person.until(lambda: "# warmer" in person.text() and person.app.screen.recipe is not None)
        person.app.screen.check()
    async with running((80, 24)) as person:
        await person.press("e")
        await person.until_text("# warmer")


async def test_a_long_hint_is_told_whole(running: Start) -> None:
    """At 80 columns a hint that does not fit its field stands below it while somebody is there."""
    async with running((80, 24)) as person:
        await _at_list(person, "1")
        await _form(person, "W")
        await person.press("tab")
        await person.until_text("patineur alone)")
        await person.press("tab")
        await person.until(lambda: "patineur alone)" not in person.text())


async def test_the_name_of_a_chemical_is_never_cut(running: Start, studio: Studio) -> None:
    """What is weighed into a pot is named in full, above its field where the name is longer than a label's place."""
    async with running((80, 24)) as person:
        id = next(row.id for row in list_recipes(studio) if row.name != "Slipway brown")
        name = studio.catalogue().get(recipe_sheet(studio, id).recipe.solutions[0].ingredients[0].substance).name
        assert len(name) > 20
        person.app.open_record(id)
        await person.until(lambda: getattr(person.app.screen, "sheet", None) and person.app.screen.sheet[0].id == id)
        await person.press("m")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
        await person.write("1 m2")
        await person.until(lambda: person.app.screen.mix is not None)
        await _form(person, "ctrl+s")
        await person.until_text(f" {name} ")


async def test_what_takes_a_while_can_be_stopped(running: Start, monkeypatch: pytest.MonkeyPatch) -> None:
    """A plan that is being worked out says so and leaves the form; Ctrl+T stops the waiting, and it can be asked
    for again."""
    from patina.bench.matched import reproduce as deeds

    free, real = threading.Event(), deeds.reproduce

    def slowly(*given: Any, **named: Any) -> Any:
        free.wait(20)
        return real(*given, **named)

    monkeypatch.setattr(deeds, "reproduce", slowly)
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await person.press("x")
        await person.until_text("Get this finish again")
        await person.press("down", "down")
        await _form(person, "enter")
        await person.press("ctrl+s")
        await person.until_text("Working out the plan … Ctrl+T stops")
        await person.press("ctrl+t")
        await person.until(lambda: "Ctrl+T stops" not in person.text())
        assert _on(person, "Form")
        free.set()
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"))
        await person.until_text("Different now")


async def test_a_plan_names_each_fact_with_its_unit(running: Start) -> None:
    """What was noted of an old finish is named in full: a cut name would lose its unit."""
    async with running((120, 36)) as person:
        await _at_list(person, "3")
        await person.press("x")
        await person.until_text("Get this finish again")
        await person.press("down", "down")
        await _form(person, "enter")
        await person.press("ctrl+s")
        await person.until(lambda: _on(person, "Notes"))
        await person.until_text("alloy of the cast  C87300")


async def test_a_file_is_not_written_over_unasked(running: Start, tmp_path: Path) -> None:
    """A name that is taken is told; Enter once more writes over it, another name is taken at once."""
    there = tmp_path / "mine.pdf"
    there.write_text("mine", "utf-8")
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await person.press("p")
        await person.until(lambda: _on(person, "Choose"))
        await person.press("enter")
        await person.until(lambda: _on(person, "AskPath"))
        await person.press("end", "ctrl+u")
        await person.write(str(there))
        await person.press("enter")
        await person.until_words("is there already.")
        assert there.read_text("utf-8") == "mine"
        await person.press("enter")
        await person.until(lambda: there.read_bytes().startswith(b"%PDF"))


async def test_what_the_bar_has_no_room_for_is_clicked_in_the_help(running: Start) -> None:
    """At 80 columns every action of a screen is within reach of a mouse: a click on its line in the help does it."""
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await person.until(lambda: "Judge" not in person.text())
        await person.press("f1")
        await person.until(lambda: _on(person, "Help"))
        words = "Judge the colour against"
        await person.until(lambda: words in person.text() or person.app.screen.query_one("#dialog-body").scroll_down())
        lines = person.text().splitlines()
        row = next(n for n, line in enumerate(lines) if words in line)
        await person.pilot.click(offset=(lines[row].index(words) + 2, row))
        await person.until(lambda: _on(person, "Choose"))
        await person.until_text("against")


@pytest.mark.parametrize("lead", ["", "~"])
async def test_a_whole_path_takes_the_place_of_the_offered_folder(
    running: Start, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lead: str
) -> None:
    """A path that is pasted behind the folder in the field is meant alone, be it from the root or from home."""
    monkeypatch.setenv("HOME", str(tmp_path))
    async with running((80, 24)) as person:
        await _at_list(person, "3")
        await person.press("f")
        await person.until(lambda: _on(person, "AskPath"))
        assert person.app.screen.query_one("#path-input").value.endswith("/")
        typed = f"{lead}/tile.jpg" if lead else f"{tmp_path}/tile.jpg"
        await person.write(typed)
        await person.until(lambda: person.app.screen.query_one("#path-input").value == typed)
