"""Drives the screens by keys, as a person would."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import Any

from textual import events
from textual.keys import _character_to_key
from textual.pilot import Pilot

from patina.bench.studio import Studio
from tui.app import PatinaApp


class Driver:
    """Presses keys as a person would, and waits for what is to be seen."""

    def __init__(self, app: PatinaApp, pilot: Pilot[Any]):
        self.app = app
        self.pilot = pilot

    async def press(self, *keys: str) -> None:
        """Press keys one after another; each is answered before the next."""
        for key in keys:
            self._send(key)
            await self._answered()

    async def hold(self, key: str, times: int) -> None:
        """Hold a key down."""
        for _ in range(times):
            self._send(key)
        await self._answered()

    async def write(self, text: str) -> None:
        """Type text into the field that has the focus."""
        for character in text:
            self._send(_character_to_key(character), character)
        await self._answered()

    async def hold_keys(self, text: str) -> None:
        """Type text without a pause, as a scanner does; a line's end is Enter."""
        for character in text:
            if character == "\n":
                self._send("enter", "\r")
            else:
                self._send(_character_to_key(character), character)
        await self._answered()

    async def _answered(self) -> None:
        """From the driver to the app, to the focused part, back to the screen's action: a few rounds."""
        await asyncio.sleep(0.005)
        for _ in range(4):
            await self.pilot.pause(0.002)

    def _send(self, key: str, character: str | None = None) -> None:
        # Pilot.press waits until the whole process is idle, up to a second for every key.
        event = events.Key(key, character if character is not None else (key if len(key) == 1 else None))
        event.set_sender(self.app)
        assert self.app._driver is not None
        self.app._driver.send_message(event)

    async def fill(self, **fields: str) -> None:
        """Write into named fields of a form, whatever stood in them."""
        for name, text in fields.items():
            field = self.app.screen.query_one(f"#field-{name}")
            field.focus()
            await self.press("end", "ctrl+u")
            await self.write(text)

    async def until(self, seen: Callable[[], Any], seconds: float = 20.0) -> Any:
        """Wait until something is so; fails when it never is."""
        for _ in range(int(seconds / 0.02)):
            await self.pilot.pause(0.02)
            found = seen()
            if found:
                return found
        raise AssertionError(f"never seen; the screen shows:\n{self.text()}")

    async def until_text(self, words: str, seconds: float = 20.0) -> None:
        """Wait until words stand on the screen."""
        await self.until(lambda: words in self.text(), seconds)

    async def until_words(self, words: str, seconds: float = 20.0) -> None:
        """Wait until words stand on the screen, also where a line's end parts them."""
        await self.until(lambda: words in " ".join(self.text().split()), seconds)

    async def until_told(self, words: str, seconds: float = 20.0) -> None:
        """Wait until a short word is told that holds these words."""
        await self.until(lambda: any(words in told.message for told in self.app._notifications), seconds)

    def text(self) -> str:
        """What stands on the screen, line by line."""
        width = self.app.size.width
        lines = self.app.screen._compositor.render_strips()
        return "\n".join("".join(segment.text for segment in strip).ljust(width) for strip in lines)

    def sheet(self) -> str:
        """All words of the sheet, also those that are scrolled out of sight."""
        return self.app.screen.query_one("#words").prose.plain  # type: ignore[attr-defined]


class Running:
    """The app, running without a terminal; leaves no fault unseen."""

    def __init__(self, studio: Studio, size: tuple[int, int]):
        self.app = PatinaApp(studio)
        self._test = self.app.run_test(size=size)

    async def __aenter__(self) -> Driver:
        driver = Driver(self.app, await self._test.__aenter__())
        await driver.until(lambda: getattr(self.app.screen, "sheet", None) is not None or not self._has_rows())
        return driver

    def _has_rows(self) -> bool:
        from patina.bench.recipes.finishes import count_recipes

        return count_recipes(self.app.studio) > 0

    async def __aexit__(self, *trouble: Any) -> None:
        await self._test.__aexit__(*trouble)
        if trouble[0] is None:
            assert not self.app.faults
