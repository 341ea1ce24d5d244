"""The bars around every screen: the places above, the keys and the work that goes on below."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, cast

from rich.cells import cell_len
from textual.content import Content
from textual.widget import Widget

from patina.language import shown
from tui.actions import PLACES, Action, of_screen
from tui.format import hours
from tui.widgets.words import Static, words

if TYPE_CHECKING:
    from tui.app import PatinaApp


class PlaceBar(Widget):
    """The five places with their keys; the one a person is in is marked by a sign as well as by colour."""

    DEFAULT_CSS = "PlaceBar { height: 1; dock: top; text-wrap: nowrap; }"

    def __init__(self, here: str) -> None:
        super().__init__()
        self.here = here

    def render(self) -> Content:
        """The bar."""
        wide = self.size.width >= 100
        parts = [Content.styled(" ◖ patina ◗  " if wide else " patina ", "bold $primary")]
        for n, place in enumerate(PLACES, 1):
            name = shown(place.capitalize())
            if place == self.here:
                parts.append(
                    Content.styled(
                        f" {n} \N{BLACK RIGHT-POINTING SMALL TRIANGLE}{name} ", "bold $background on $primary"
                    )
                )
            else:
                parts.append(Content.from_markup(f"[@click=app.go('{place}')] {n} {name} [/]"))
            parts.append(Content(" "))
        return Content("").join(parts)


class KeyBar(Widget):
    """The keys of the screen, most needed first; what does not fit is in the help.

    While somebody types, only keys stand there that do not go into the text.
    """

    DEFAULT_CSS = "KeyBar { height: 1; dock: bottom; text-wrap: nowrap; }"

    def __init__(self, where: str) -> None:
        super().__init__()
        self.where = where

    def on_mount(self) -> None:
        """Other keys as soon as somebody begins to type, and when they leave off."""
        self.watch(self.screen, "focused", self._other_focus, init=False)

    def _other_focus(self, _focused: Widget | None) -> None:
        self.refresh()

    @property
    def typing(self) -> bool:
        """Whether keys go into a text."""
        focused = self.screen.focused if self.is_attached else None
        return focused is not None and focused.check_consume_key("a", "a")

    def key_of(self, action: Action) -> str:
        """The key of an action as things are; "" where none does it now."""
        return action.key_while_typing if self.typing else action.key

    def shown(self, width: int) -> list[Action]:
        """The actions that fit into a width, in order of rank; help is always among them."""
        now = (a for a in of_screen(self.where) if a.rank < 9 and self.key_of(a))
        by_rank = sorted(now, key=lambda a: a.rank)
        fitting: list[Action] = []
        used = 0
        for action in by_rank:
            used += self._length(action)
            if used > width:
                break
            fitting.append(action)
        return fitting

    def _length(self, action: Action) -> int:
        return cell_len(f" {shown(self.key_of(action))} {shown(action.label)} ")

    def render(self) -> Content:
        """The bar."""
        parts: list[Content] = []
        for action in self.shown(self.size.width):
            key = Content.styled(f" {shown(self.key_of(action))}", "bold $accent")
            target = action.name if "(" in action.name else f"{action.name}()"
            scope = "screen" if self.where in action.where else "app"
            parts += [key, Content.from_markup(f"[@click={scope}.{target}] {shown(action.label)} [/]")]
        return Content("").join(parts)


class WorkBar(Static):
    """What is being worked on, for how long, and how to stop it; empty otherwise."""

    DEFAULT_CSS = "WorkBar { height: 1; dock: bottom; display: none; } WorkBar.-busy { display: block; }"
    _TURN = "◐◓◑◒"

    def on_mount(self) -> None:
        """Look a few times a second."""
        self.set_interval(0.2, self.look)

    def look(self) -> None:
        """Show the oldest work that is to be shown."""
        if not self.screen.is_current:
            return
        ticket = cast("PatinaApp", self.app).jobs.shown
        self.set_class(ticket is not None, "-busy")
        if ticket is None:
            return
        passed = time.monotonic() - ticket.started
        sign = self._TURN[int(passed * 5) % 4]
        step = f": {ticket.step}" if ticket.step else ""
        spent = f"{passed:.0f} s" if passed < 90 else hours(passed / 3600)
        self.update(words(f" {sign} {ticket.words}{step} … {spent}   Ctrl+T stops"))
