"""What an action is: the thing that a key, the key bar, the help and the palette all speak of."""

from __future__ import annotations

import re
from dataclasses import dataclass

EVERYWHERE = "everywhere"
PLACES = ("finishes", "bench", "tiles", "casts", "shelf")


@dataclass(frozen=True, slots=True)
class Action:
    """Something a person can do.

    where: names of the screens it belongs to. name: of the method ``action_NAME``. keys: the first
    one is shown, or shown_as where several belong together. label: one or two words for the key
    bar. tooltip: a sentence for the help.
    rank: lower stands earlier in the key bar; 9 stays out of it. priority: also while typing.
    """

    where: tuple[str, ...]
    name: str
    keys: tuple[str, ...]
    label: str
    tooltip: str
    rank: int = 5
    priority: bool = False
    shown_as: str = ""

    @property
    def key(self) -> str:
        """Its first key, or keys that belong together, as printed on the keyboard."""
        return self.shown_as or key_name(self.keys[0])

    @property
    def key_while_typing(self) -> str:
        """The first of its keys that is no letter of a text and moves no cursor in it; "" where it has none.

        >>> row("bench", "print_sheet", "p f7", "Print", "Write the sheet.").key_while_typing
        'F7'
        >>> row("bench", "torch", "w", "Work", "Go to the torch.").key_while_typing
        ''
        """
        return next((key_name(key) for key in self.keys if _FREE.fullmatch(key)), "")


def row(
    where: str, name: str, keys: str, label: str, tooltip: str, rank: int = 5, priority: bool = False, shown: str = ""
) -> Action:
    """A row of the table; where and keys are words with blanks between them."""
    return Action(tuple(where.split()), name, tuple(keys.split()), label, tooltip, rank, priority, shown)


# Keys that a field or a text leaves to the screen.
_FREE = re.compile(r"f\d+|escape|ctrl\+[nopqst]")
_KEY_NAMES = {
    "question_mark": "?",
    "slash": "/",
    "exclamation_mark": "!",
    "escape": "Esc",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "delete": "Del",
    "backspace": "Backspace",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "less_than_sign": "<",
    "greater_than_sign": ">",
    "minus": "-",
    "plus": "+",
}


def key_name(key: str) -> str:
    """A key as it is printed on the keyboard.

    >>> key_name("ctrl+s"), key_name("question_mark"), key_name("f7"), key_name("shift+left")
    ('Ctrl+S', '?', 'F7', 'Shift+←')
    """
    *held, last = key.split("+") if key != "plus" else ["plus"]
    name = _KEY_NAMES.get(last, last.upper() if held or len(last) > 1 else last)
    return "+".join([*(h.capitalize() for h in held), name])
