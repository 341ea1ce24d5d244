"""Another language from the settings: what is open is said anew at once, and nothing typed or chosen is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from screens_driver import Driver, Running

from patina.bench.studio import Studio
from patina.bench.treating import treat
from patina.language import read_as
from tui.screens.plots import Plots
from tui.widgets.plot import Curve, Plot

Start = Callable[..., Running]


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    """Every test leaves the program in English."""
    yield
    read_as()


async def _read_in(person: Driver, language: str) -> None:
    """F9, the language, Ctrl+S; back on the screen that was open."""
    under = person.app.screen
    await person.press("f9")
    await person.until(lambda: person.app.screen.query("#field-language"))
    await person.fill(language=language)
    await person.press("ctrl+s")
    await person.until(lambda: person.app.screen is under)
    await person.until(lambda: not person.app.jobs.running)


def _plots(person: Driver) -> None:
    curve = Curve("L*", (1.0, 2.0, 3.0), (30.0, 31.0, 30.5), "●")
    person.app.push_screen(
        Plots((Plot("L* by cast", "cast", "L*", (curve,), "No temperature was read yet: press t."),))
    )


# keys to the screen, the class of the screen, words in English and in German that stand on it
WAYS = {
    "safety": (("1", "s"), "SafetyPage", "Back", "Zurück"),
    "series": (("4", "z"), "Series", "Back", "Zurück"),
    "map": (("3", "v"), "RackPlace", "red-brown", "rotbraun"),
    "recipe text": (("1", "e"), "RecipeText", "The text can be read", "Der Text ist lesbar"),
    "treatment": (("4", "w", "enter"), "Treatment", "Identification", "Objekt"),
    "handbook": (("1", "f2"), "Handbook", "Recipes", "Rezepte"),
}


@pytest.mark.parametrize("name", WAYS)
async def test_an_open_screen_is_said_anew(running: Start, studio: Studio, name: str) -> None:
    """In English, then in German, then in English as it was."""
    keys, screen, english, german = WAYS[name]
    if name == "treatment":
        treat.begin_treatment(studio, {"cast": "C1", "name": "New wax"})
    async with running((120, 36)) as person:
        for key in keys:
            await person.press(key)
            await person.until(lambda: not person.app.jobs.running and person.app.screen.is_mounted)
            await person.pilot.pause(0.2)
        await person.until(lambda: type(person.app.screen).__name__ == screen)
        await person.until_words(english)
        before = person.text()
        await _read_in(person, "de")
        await person.until_words(german)
        await person.until_words("Hilfe")
        await _read_in(person, "en")
        await person.until(lambda: person.text() == before)


async def test_plots_are_said_anew(running: Start) -> None:
    """The words of a plot follow; the plot that was chosen stays."""
    async with running((120, 36)) as person:
        _plots(person)
        await person.until_words("No temperature was read yet: press t.")
        await _read_in(person, "de")
        await person.until_words("Noch keine Temperatur")


async def test_what_is_typed_stays(running: Start, studio: Studio) -> None:
    """An unsaved text of a recipe is the same after the language was changed, and is read as before."""
    async with running((120, 36)) as person:
        await person.press("e")
        await person.until_words("The text can be read")
        text = person.app.screen.query_one("#recipe-text")
        text.text = text.text.replace("Quay green", "Quay greener")  # type: ignore[attr-defined]
        await _read_in(person, "de")
        await person.until_words("Der Text ist lesbar")
        assert 'name = "Quay greener"' in person.app.screen.query_one("#recipe-text").text  # type: ignore[attr-defined]


async def test_a_typed_strength_stays(running: Start) -> None:
    """On the safety page the strength that is being tried is not put back."""
    async with running((120, 36)) as person:
        await person.press("1", "s")
        await person.until(lambda: getattr(person.app.screen, "notes", None) is not None)
        await person.press("t", "end", "ctrl+u")
        await person.write("7 g/L")
        await person.press("escape")
        page = person.app.screen
        assert type(page).__name__ == "SafetyPage"
        await _read_in(person, "de")
        await person.until_words("Zurück")
        assert page.query_one("#safety-typed").value == "7 g/L"


def test_a_prose_is_told_again_in_the_readers_words(tmp_path: Path) -> None:
    """Every way of saying something is repeated, a prose within a prose too."""
    from patina.sheets import Lab
    from tui.widgets.prose import Prose

    prose = Prose().title("Note").heading("Readings").fact("wax", "unwaxed").bullets(w for w in ("waxed", "wet"))
    prose.colour(Lab(30.0, 5.0, 9.0), "unknown", "latest reading").numbered(["waxed"]).caution("Wait.", "Back")
    prose.extend(Prose().text("unwaxed")).parts(((Lab(30.0, 5.0, 9.0), 0.5),)).weighed("8.84 g", "waxed", "wet")
    english = prose.plain
    read_as("de")
    german = prose.anew().plain
    assert "ungewachst" in german and "8,84 g" in german and german != english
    read_as()
    assert prose.anew().plain == english
