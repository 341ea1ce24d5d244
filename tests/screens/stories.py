"""Walks a person's whole job by keys alone: what a hand does with a list, a form, a file, a page of notes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pypdf
from screens_driver import Driver

SWATCHES = Path(__file__).parents[2] / "swatches"
PATIENCE_S = 25.0


class Walk:
    """Somebody at the keys. Fields are reached by Tab, options by the arrows; nothing is set behind the screen."""

    def __init__(self, person: Driver):
        self.person = person
        self.press = person.press
        self.write = person.write

    @property
    def screen(self) -> Any:
        """The screen on top."""
        return self.person.app.screen

    async def until(self, seen: Any) -> Any:
        """Wait until something is so."""
        return await self.person.until(seen, PATIENCE_S)

    async def see(self, *words: str) -> None:
        """Wait until these words stand on the screen or in its sheet, whatever lines they are broken into."""
        for word in words:
            await self.until(lambda w=word: w in self.all_words())

    def all_words(self) -> str:
        """What is in sight and what the sheet holds, in one line."""
        told = [self.person.text().replace("│", " ")]
        told += [p.prose.plain for p in self.screen.query("ProseView") if p.prose is not None]
        return " ".join(" ".join(told).split())

    async def on(self, name: str) -> Any:
        """Wait for a screen or dialog by the name of its class."""
        return await self.until(lambda: type(self.screen).__name__ == name and self.screen.is_mounted and self.screen)

    async def told(self, words: str) -> None:
        """Wait for a short word that something is so."""
        await self.until(lambda: any(words in n.message for n in self.person.app._notifications))

    async def still(self) -> None:
        """Wait until no work goes on."""
        await self.until(lambda: not self.person.app.jobs.running)

    async def place(self, key: str, name: str) -> None:
        """Go to a place."""
        await self.press(key)
        await self.until(lambda: self.person.app.current_mode == name and name == self.screen.WHERE)
        await self.still()

    async def record(self, id: str) -> Any:
        """Wait until the sheet of a record is shown; gives it."""

        def shown() -> Any:
            sheet = getattr(self.screen, "sheet", None)
            first = sheet[0] if isinstance(sheet, tuple) else sheet
            return first if id in (getattr(first, "id", ""), getattr(getattr(first, "row", None), "id", "")) else None

        return await self.until(shown)

    async def step_to(self, wanted: str) -> Any:
        """In a list: the arrows, until the record of this id or name is chosen."""

        def there() -> Any:
            line = self.screen.current.line
            return next((r for r in self.screen.record_list.rows if wanted in (line(r).id, line(r).title)), None)

        id = self.screen.current.line(await self.until(there)).id
        await self.press("home")
        for _ in range(60):
            if self.screen.record_list.chosen == id:
                return await self.record(id)
            await self.press("down")
        raise AssertionError(f"{wanted} is not reached in the list:\n{self.person.text()}")

    async def choose(self, words: str) -> None:
        """In a list of choices: the arrows to the one that holds these words, then Enter."""
        await self.on("Choose")
        choices = self.screen.query_one("#choices")
        listed = [str(option.prompt) for option in choices.options]
        at = next((n for n, line in enumerate(listed) if words in line), None)
        assert at is not None, f"{words!r} is not among {listed}"
        await self.press("home")
        await self.person.hold("down", at)
        assert choices.highlighted == at
        await self.press("enter")

    async def fill(self, **fields: str) -> None:
        """In a form: Tab to each field, and write over what stands there."""
        await self.until(lambda: self.screen.query("FieldInput"))
        order = [field.id for field in self.screen.query("FieldInput") if field.region]
        for name, text in fields.items():
            await self.until(lambda: getattr(self.screen.focused, "id", None) in order)
            away = order.index(f"field-{name}") - order.index(self.screen.focused.id)
            await self.person.hold("tab" if away > 0 else "shift+tab", abs(away))
            assert self.screen.focused.id == f"field-{name}", f"not reached by Tab:\n{self.person.text()}"
            await self.person.hold("ctrl+u", 1)
            await self.write(text)

    async def form(self, **fields: str) -> None:
        """Fill a form and save it; fails with what the form says where it stays."""
        await self.until(lambda: self.screen.query("FieldInput"))
        form = self.screen
        await self.fill(**fields)
        await self.press("ctrl+s")
        await self.until(lambda: self.screen is not form or form.query(".-said"))
        assert self.screen is not form, f"the form stays:\n{self.person.text()}"

    async def file(self, path: Path) -> None:
        """Where a file is asked for: its path, then Enter."""
        await self.until(lambda: self.screen.query("#path-input"))
        await self.press("end", "ctrl+u")
        await self.write(str(path))
        await self.press("enter")
        await self.until(lambda: not self.screen.query("#path-input"))

    async def notes(self, *words: str) -> str:
        """A page of notes: wait for it and for the words, read it, leave it."""
        await self.on("Notes")
        await self.see(*words)
        told = " ".join(self.screen.prose.plain.split())
        await self.press("escape")
        await self.until(lambda: type(self.screen).__name__ != "Notes")
        return told

    async def printed(self, what: str, path: Path, key: str = "p") -> str:
        """Print by keys, and read what came out, in one line."""
        await self.press(key)
        await self.choose(what)
        await self.file(path)
        await self.until(lambda: path.is_file() and path.stat().st_size > 0)
        await self.still()
        return paper(path)


def paper(path: Path) -> str:
    """The words of a printed sheet or page, in one line."""
    if path.suffix == ".pdf":
        return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())
    return " ".join(path.read_text("utf-8").split())
