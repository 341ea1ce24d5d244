"""Remedies name commands; whoever reads them on a screen is told the key that does the same."""

from __future__ import annotations

import re

from patina.language import shown

# a command as remedies write it -> the key, and the place where it works if it is not everywhere
_KEYS = (
    (r"patina people(?: (?:list|add|change|me)\b)?(?: NAME)?", "F10"),
    (r"patina check\b", "K"),
    (r"patina backup\b(?: FILE)?", "K"),
    (r"patina setting backup-days \d+", "K"),
    (r"patina undo --redo\b", "Ctrl+Y"),
    (r"patina undo\b(?! --)", "u"),
    (r"patina given\b", "4, h"),
    (r"patina release\b", "1, s"),
)
_COMMAND = re.compile("|".join(f"({command})" for command, _ in _KEYS))


def by_keys(remedy: str) -> str:
    """A remedy as the reader reads it, with the key beside each command that a screen has a key for.

    >>> by_keys("Register people: patina people add.")
    'Register people: patina people add (here: F10).'
    >>> by_keys("Run patina check and restore the last good backup.")
    'Run patina check (here: K) and restore the last good backup.'
    """

    def with_key(found: re.Match[str]) -> str:
        assert found.lastindex is not None
        return f"{found[0]} {shown(f'(here: {_KEYS[found.lastindex - 1][1]})')}"

    return _COMMAND.sub(with_key, shown(remedy))
