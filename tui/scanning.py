"""Codes typed by a scanner: an exclamation mark, the record's id, Enter; or the same by hand."""

from __future__ import annotations

import re
import time
from collections.abc import Callable

from textual import events

START = "!"
SILENCE_S = 0.2  # a scanner leaves less between two characters, and this much after its last
PATIENCE_S = 8.0
_ID = re.compile(r"\b[A-Z]{1,2}\d{1,9}\b")


class Scan:
    """Takes in keys from the exclamation mark on. opened: gets the id; unknown: gets what was typed instead.

    A code may have more lines than the one with the id; all that follows without a pause is taken in with it.
    """

    def __init__(self, opened: Callable[[str], None], unknown: Callable[[str], None]) -> None:
        self._opened, self._unknown = opened, unknown
        self._typed: str | None = None
        self._done = False
        self._last = 0.0

    def takes(self, event: events.Event, focused: object) -> bool:
        """Whether a key belongs to a code; it is used up then."""
        if not isinstance(event, events.Key):
            return False
        now = event.time  # when it was typed, not when its turn came
        if self._typed is not None and now - self._last > (SILENCE_S if self._done else PATIENCE_S):
            self._typed, self._done = None, False
        if self._typed is None:
            if event.character != START or _in_a_field(focused):
                return False
            self._typed = ""
        elif event.key == "escape":
            self._typed, self._done = None, False
        elif event.key == "enter":
            self._end()
        elif event.character and event.is_printable:
            self._typed += event.character
        self._last = now
        return True

    def begin(self) -> None:
        """Take the next keys for a code, as after the exclamation mark."""
        self._typed, self._done, self._last = "", False, time.monotonic()

    def _end(self) -> None:
        if self._done:
            return
        self._done = True
        found = _ID.search((self._typed or "").upper())
        if found is not None:
            self._opened(found[0])
        else:
            self._unknown(self._typed or "")


def _in_a_field(focused: object) -> bool:
    from textual.widgets import Input, TextArea  # loaded long before a person can type

    return isinstance(focused, Input | TextArea)
