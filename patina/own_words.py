"""What people wrote, as far as this program has met it: words that are shown as they were written.

The records tell of every word that comes out of a column people write into, or goes into it (``records.own_columns``);
the language asks before it translates. Nothing is kept while everything is shown as it stands.
"""

from __future__ import annotations

import re

MOST = 300_000  # then the oldest are forgotten with all others: a program that runs for months keeps its size
LONGEST_INSIDE = 120  # of a name that is looked for within a text
# Words of the program that stand in fields for remarks as well: what it writes where nobody wrote anything, and the
# states of a surface. A name may be one of them; a remark that is one of them is the program's.
DEFAULTS = frozenset(
    (
        *("middle", "whole", "first version", "unnamed", "none", "not said", "before", "during", "after"),
        *("waxed", "unwaxed", "lacquered", "wet", "cold", "warm", "hot"),
    )
)
_MADE = ("Left out because ",)  # how remarks begin that the program makes
_FIRST = re.compile(r"\w+")
# Where a text is taken apart to be translated, and figures whose mark would be changed.
_SEAM = re.compile(r"[,;:.!?()·—+~]|  |\d\.\d|\d °C|\d (?:g|kg|mL)\b| by [A-Z]")


class _Met:
    """listening: whether words are kept. turn: goes on with each word that is new."""

    def __init__(self) -> None:
        self.listening = False
        self.turn = 0
        self.whole: set[str] = set()
        self.parted: dict[str, set[str]] = {}


_met = _Met()


def listen(on: bool) -> None:
    """Keep what is met from now on, or forget all of it."""
    if not on:
        _met.whole, _met.parted = set(), {}
    _met.listening = on
    _met.turn += 1


def turn() -> int:
    """Another figure as soon as another word was met: what was shown before may have been wrong."""
    return _met.turn


def meet(text: str | None, *, name: bool = False) -> None:
    """This was written by a person. name: it is what something or somebody is called.

    >>> listen(True); meet("Shelf"); is_own("Shelf"), is_own("shelf"); listen(False)
    (True, False)
    """
    if not _met.listening or not text or text in _met.whole:
        return
    if not name and (text in DEFAULTS or text.startswith(_MADE)):
        return
    if len(_met.whole) >= MOST:
        _met.whole, _met.parted = set(), {}
    _met.whole.add(text)
    if (bare := text.strip()) != text:
        _met.whole.add(bare)
    if len(bare) <= LONGEST_INSIDE and _SEAM.search(bare) and (first := _FIRST.search(bare)) is not None:
        _met.parted.setdefault(first[0], set()).add(bare)
    _met.turn += 1


def is_own(text: str) -> bool:
    """Whether a person wrote exactly this."""
    return text in _met.whole


def within(text: str) -> list[str]:
    """Names in a text that would be taken apart: with commas, brackets, decimal figures; the longest first.

    >>> listen(True); meet("Brown, thin"); within("pot of Brown, thin, revision 2"); listen(False)
    ['Brown, thin']
    """
    if not _met.parted:
        return []
    found = {
        name
        for word in dict.fromkeys(_FIRST.findall(text))
        for name in _met.parted.get(word, ())
        if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text)
    }
    return sorted(found, key=len, reverse=True)
