"""The screens for somebody who reads German: places, help, a form, the safety page; records stay as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from screens_driver import Running

from patina.bench.shelves import shelf
from patina.bench.studio import Studio
from patina.language import read_as, shown
from patina.language.catalogue import Catalogue

Start = Callable[..., Running]
PLACES = {"1": "Oberflächen", "2": "Werkbank", "3": "Tafeln", "4": "Güsse", "5": "Regal"}


@pytest.fixture
def in_german(studio: Studio, running: Start) -> Iterator[Start]:
    """The screens of a studio whose language is German; English again afterwards."""
    studio.set_setting("language", "de")
    yield running
    read_as()


async def test_every_place_speaks_german(in_german: Start) -> None:
    """Each place, its lists and its keys are named in German at 80 by 24; the names people gave are untouched."""
    async with in_german((80, 24)) as person:
        for key, name in PLACES.items():
            await person.press(key)
            await person.until_text(f"▸{name}")
            await person.until_text("? Hilfe")
            await person.until(lambda: "to search" not in person.text() and "zum Suchen" in person.text())
        await person.press("1")
        await person.until_text("Oberflächen: 2")
        await person.until_text("Slipway brown")


async def test_help_is_german(in_german: Start) -> None:
    """The help of every place is headed and told in German."""
    async with in_german((100, 60)) as person:
        for key, name in PLACES.items():
            await person.press(key)
            await person.until_text(f"▸{name}")
            await person.press("f1")
            await person.until_text(f"Tasten: {name}")
            await person.until_text("Zurück (Esc)")
            seen = person.text()
            assert "Das Blatt des gewählten Eintrags öffnen." in seen and "Zurück (Esc)" in seen
            assert "Open the sheet" not in seen
            await person.press("escape")


async def test_a_form_takes_a_decimal_comma(in_german: Start, studio: Studio) -> None:
    """A lot is put on the shelf through a German form; 12,5 g is kept as 12.5 g and shown as 12,5 g."""
    async with in_german() as person:
        await person.press("5")
        await person.until_text("▸Regal")
        await person.press("n")
        await person.until_text("Eine Charge")
        await person.until_text("Speichern (Ctrl+S)")
        seen = person.text()
        assert "Speichern (Ctrl+S)" in seen and "Menge" in seen and "Haltbar bis" in seen
        await person.fill(substance="sodium chloride", amount="12,5 g")
        await person.press("ctrl+s")
        await person.until_text("12,5 g")
    kept = [lot for lot in shelf.list_lots(studio) if lot.substance == "sodium chloride"]
    assert [(lot.left, lot.unit) for lot in kept] == [(12.5, "g")]


async def test_what_is_wrong_is_said_in_german(in_german: Start) -> None:
    """A figure without a unit is refused in German, beside its field; nothing is mixed."""
    async with in_german() as person:
        await person.press("m")
        await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None)
        await person.write("1,8")
        await person.until_text("'1,8' hat keine Einheit")
        assert person.app.screen.mix is None


@pytest.mark.parametrize(
    "words",
    [
        "a bloom from blue to green, thin on the left of the relief",
        "opaque green, a ground for further coats rather than a finish",
        "Degrease and hang the piece clear of walls, lid and saucer.",
    ],
)
def test_a_note_is_shown_as_it_was_written(words: str) -> None:
    """Somebody's words hold 'of', 'from', 'left' and 'coats'; they are shown as they were written."""
    read_as("de")
    try:
        assert shown(words) == words
    finally:
        read_as()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2025-10-21 by Jory Tallack", "2025-10-21 von Jory Tallack"),
        ("by Jory Tallack", "von Jory Tallack"),
        ("clear of walls and lid", "clear of walls and lid"),
        ("3 of 4", "3 von 4"),
        ("Brown from Turin", "Brown from Turin"),
    ],
)
def test_joints_stand_between_what_is_known(text: str, said: str) -> None:
    """'of', 'by' and 'from' are translated between figures and names, never within somebody's sentence."""
    known = Catalogue()
    for message, german in (("{0} of {1}", "{0} von {1}"), ("by {0}", "von {0}"), ("{0} from {1}", "{0} aus {1}")):
        known.add(message, german)
    assert known.translate(text) == said


def test_signal_words_are_those_of_the_law() -> None:
    """Gefahr and Achtung. Source: Regulation (EC) No 1272/2008, Article 2(4), in its German version (from memory)."""
    from tui.format import signal_word

    try:
        read_as("de")
        assert signal_word("Danger") == "GEFAHR"
        assert signal_word("Warning") == "ACHTUNG"
    finally:
        read_as()
