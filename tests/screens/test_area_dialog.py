"""The area on the Bench by five methods, and old words in a recipe's text, by keys."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from screens_driver import Driver, Running

from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.entries import NewLot

Start = Callable[..., Running]


async def _to_the_dialog(person: Driver) -> None:
    """To the bench with Quay green, and F3."""
    await person.press("m")
    await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
    await person.press("f3")
    await person.until(lambda: type(person.app.screen).__name__ == "AreaDialog")


def _said(person: Driver) -> str:
    return person.app.screen.query_one("#area-words").prose.plain


async def _weigh(person: Driver) -> None:
    await person.fill(**{"weight-mass": "96 kg", "weight-wall": "5 mm", "weight-alloy": "C87300"})
    await person.until(lambda: person.app.screen.found is not None)


async def test_weight_and_wall_go_into_the_form(running: Start) -> None:
    """96 kg of C87300 at 5 mm are 96000 / (8.36 × 5 × 1000) = 2.297 m2, ± 16 %; Ctrl+S puts it into Area with the
    texture chosen."""
    async with running() as person:
        await _to_the_dialog(person)
        await _weigh(person)
        assert "2.30 m²" in _said(person)
        assert "16 %" in _said(person)
        person.app.screen.query_one("#field-texture").focus()
        await person.press("down", "down", "down")
        chosen = person.app.screen.query_one("#field-texture").value
        await person.until(lambda: person.app.screen.taken is not None and f"{chosen}: " in _said(person))
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Bench")
        assert person.app.screen.query_one("#mix-area").value == "2.297 m2"
        assert person.app.screen.query_one("#mix-texture").value == chosen
        await person.until(lambda: person.app.screen.mix is not None)


async def test_two_methods_are_reconciled(running: Start) -> None:
    """Weight 2.30 m2 ± 15.8 % beside foil 2.16 m2 ± 9.1 % make 2.19 m2 by the weighted mean (by hand: weights
    1 / 0.363² and 1 / 0.197²)."""
    async with running() as person:
        await _to_the_dialog(person)
        await _weigh(person)
        await person.press("ctrl+n")
        await person.press("end", "ctrl+u", "4")
        await person.until(lambda: person.app.screen.method == "wrap")
        await person.fill(**{"wrap-foil": "125 g", "wrap-thickness": "0.015 mm", "wrap-overlap": "30 %"})
        await person.until(lambda: person.app.screen.taken is not None)
        a, b, ua, ub = 2.2967, 2.1605, 0.158, 0.091
        weights = 1 / (a * ua) ** 2, 1 / (b * ub) ** 2
        mean = (a * weights[0] + b * weights[1]) / sum(weights)
        assert abs(person.app.screen.taken.area_m2 - mean) < 0.003
        await person.until(lambda: "first" in _said(person) and "of both" in _said(person))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_two_methods_too_far_apart_stop(running: Start, size: tuple[int, int]) -> None:
    """More than 25 % apart: nothing can be taken, what is usually wrong stands there, and the buttons stay in sight."""
    async with running(size) as person:
        await _to_the_dialog(person)
        await _weigh(person)
        await person.press("ctrl+n", "end", "ctrl+u", "4")
        await person.fill(**{"wrap-foil": "90 g", "wrap-thickness": "0.015 mm", "wrap-overlap": "30 %"})
        await person.until(lambda: "Usual causes" in _said(person))
        assert person.app.screen.taken is None
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "AreaDialog")
        await person.until_text("Ctrl+S")


async def test_a_mesh_asks_its_unit(running: Start, tmp_path: Path) -> None:
    """A cube of 100 has an area only with its unit: 6 × 0.1² = 0.06 m2 in mm."""
    import trimesh

    path = tmp_path / "cube.stl"
    trimesh.creation.box(np.full(3, 100.0)).export(path)
    async with running() as person:
        await _to_the_dialog(person)
        await person.press("end", "ctrl+u", "2")
        await person.fill(**{"mesh-file": str(path)})
        await person.until(lambda: "unit" in _said(person))
        assert person.app.screen.taken is None
        await person.fill(**{"mesh-unit": "mm"})
        await person.until(lambda: person.app.screen.taken is not None, 15.0)
        assert abs(person.app.screen.taken.area_m2 - 0.06) < 1e-6


async def test_shapes_and_enlargement(running: Start) -> None:
    """A sphere of 0.20 m is π × 0.04 = 0.1257 m2; a maquette of 0.062 m2 at four times its height is 0.992 m2."""
    async with running() as person:
        await _to_the_dialog(person)
        await person.press("end", "ctrl+u", "5")
        await person.fill(**{"shapes-sketch": "sphere 0.20 m"})
        await person.until(lambda: person.app.screen.taken is not None)
        assert abs(person.app.screen.taken.area_m2 - 0.04 * np.pi) < 1e-6
        person.app.screen.query_one("#field-method").focus()
        await person.press("end", "ctrl+u", "3")
        await person.fill(**{"enlarge-area": "0.062 m2", "enlarge-from": "450 mm", "enlarge-to": "1800 mm"})
        await person.until(lambda: person.app.screen.taken is not None and person.app.screen.method == "enlarge")
        assert abs(person.app.screen.taken.area_m2 - 0.992) < 1e-9


async def test_what_cannot_be_is_said_and_not_taken(running: Start) -> None:
    """A weight without its unit is told below; Ctrl+S takes nothing."""
    async with running() as person:
        await _to_the_dialog(person)
        await person.fill(**{"weight-mass": "96", "weight-wall": "5 mm", "weight-alloy": "C87300"})
        await person.until(lambda: "▲" in _said(person) and "unit" in _said(person))
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "AreaDialog")
        await person.press("escape")
        await person.until(lambda: type(person.app.screen).__name__ == "Bench")
        assert person.app.screen.query_one("#mix-area").value == ""


async def test_another_strength_and_a_witness_in_place(running: Start, studio: Studio) -> None:
    """80 % of 5 g/L in 1 L is 4 g; F4 adds 100 mL, so 4.4 g; the pot is kept with the deviation in its note, and both
    lots give what they gave."""
    shelf.add_lot(studio, NewLot("cupric nitrate trihydrate", 3.0, "g"))
    shelf.add_lot(studio, NewLot("cupric nitrate trihydrate", 3.0, "g"))
    async with running() as person:
        await person.press("m")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
        person.app.screen.query_one("#mix-volume").focus()
        await person.write("1 L")
        person.app.screen.query_one("#mix-strength").focus()
        await person.write("80 %")
        await person.until(lambda: "strength 80 %" in person.sheet())
        assert person.app.screen.mix.solutions[0].weigh[0].rounded == 4.0
        await person.press("f4")
        await person.until(lambda: "sealed as a witness" in person.sheet())
        await person.press("f6")
        await person.until(lambda: "a step of colour may show" in person.sheet())
        lots = [(line.lot, line.rounded) for line in person.app.screen.mix.solutions[0].weigh]
        assert lots == [("L3", 3.0), ("L4", 1.4)]
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "Form")
        values = person.app.screen.values
        assert (values["lot0"], values["lot1"]) == ("L3", "L4")
        assert "80 %" in values["note"]
        await person.press("ctrl+s")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.at == 1)
        left = [shelf.lot_row(studio, id).left for id in ("L3", "L4")]
        assert left == [0.0, pytest.approx(1.6)]


async def test_old_words_become_a_line_of_the_recipe(running: Start) -> None:
    """F3 in the text of a recipe: words and substance of the line are taken over; Ctrl+S replaces the strength."""
    async with running() as person:
        await person.press("e")
        await person.until(lambda: type(person.app.screen).__name__ == "RecipeText")
        screen = person.app.screen
        text = screen.query_one("#recipe-text")
        row = next(n for n, line in enumerate(text.text.splitlines()) if line.startswith("strength"))
        text.move_cursor((row, 0))
        await person.press("f3")
        await person.until(lambda: type(person.app.screen).__name__ == "OldWords")
        dialog = person.app.screen
        assert dialog.query_one("#field-words").value == "5 g/L"
        assert "cupric nitrate" in dialog.query_one("#field-substance").value
        await person.fill(words="2 tsp per US pint")
        await person.until(lambda: dialog.found is not None and not dialog.found.certain)
        assert "bulk density" in dialog.query_one("#old-words").prose.plain
        await person.press("ctrl+s")
        await person.until(lambda: person.app.screen is screen)
        line = text.text.splitlines()[row]
        assert line.startswith('strength = "20.')
        assert '# written "2 tsp per US pint": 11.8 to 35.7 g/L' in line
        await person.until(lambda: screen.recipe is not None)


async def test_old_words_that_are_not_understood_are_not_put_in(running: Start) -> None:
    """Words without a meaning are told, and the text stays as it was."""
    async with running() as person:
        await person.press("e")
        await person.until(lambda: type(person.app.screen).__name__ == "RecipeText")
        before = person.app.screen.query_one("#recipe-text").text
        await person.press("f3")
        await person.until(lambda: type(person.app.screen).__name__ == "OldWords")
        await person.fill(words="hello", substance="cupric nitrate trihydrate")
        await person.until(lambda: "▲" in person.app.screen.query_one("#old-words").prose.plain)
        await person.press("ctrl+s")
        await person.until(lambda: type(person.app.screen).__name__ == "OldWords")
        await person.press("escape")
        await person.until(lambda: type(person.app.screen).__name__ == "RecipeText")
        assert person.app.screen.query_one("#recipe-text").text == before
