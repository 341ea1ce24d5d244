"""The handbook on screen opens at the topic of the place it was asked on."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from screens_driver import Running

from patina.bench.studio import Studio
from patina.language import read_as


async def test_the_handbook_opens_at_the_topic_of_the_place(running: Callable[..., Running]) -> None:
    """F2 on the Bench shows Mixing; Enter goes into the text, Esc twice goes back to the Bench."""
    async with running((80, 24)) as driver:
        await driver.press("2", "f2")
        await driver.until_text("how much bronze there is")
        await driver.press("down")
        await driver.until_text("opens the work")
        await driver.press("enter", "escape")
        await driver.until_text("opens the work")
        await driver.press("escape")
        await driver.until(lambda: driver.app.screen.WHERE == "bench")


@pytest.fixture
def english_again() -> Iterator[None]:
    """Leave the program in English."""
    yield
    read_as()


async def test_the_handbook_is_read_in_the_language_of_the_studio(
    studio: Studio, running: Callable[..., Running], english_again: None
) -> None:
    """In German the topics and the text are German, and no figure or command of it is changed on the way."""
    studio.set_setting("language", "de")
    async with running((120, 36)) as driver:
        await driver.press("2", "f2")
        await driver.until_text("Ansetzen")
        await driver.until_text("Eintragen, wie viel Bronze")
        await driver.until_text("Wie das Volumen zustande kommt")
        await driver.until_text("--area '0.34 m2'")
        await driver.press("up")
        await driver.until_text("Ein Rezept schreiben")
