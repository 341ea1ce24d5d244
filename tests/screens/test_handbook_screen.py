"""The handbook on screen opens at the topic of the place it was asked on."""

from __future__ import annotations

from collections.abc import Callable

from screens_driver import Running


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
