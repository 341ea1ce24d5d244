"""What is asked about a journal that waits on this machine."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from patina.bench.torch import offline, work
from tui import format as show
from tui.dialogs.choose import Choose
from tui.screens import torch_words as words

if TYPE_CHECKING:
    from patina.sheets import JournalRow, ReplaySheet
    from tui.screens.torch_tally import TorchTally


def offer_journal(screen: TorchTally) -> None:
    """Offer to put the journals of this work on record."""
    rows = [r for r in offline.waiting(screen.studio, screen.sheet.row.id) if r.keys or r.trouble]
    readable = [r.name for r in rows if not r.trouble]
    if not rows:
        return
    if not readable:
        screen.answer(f"A journal of this work cannot be read: {rows[0].trouble}", bad=True)
        return

    def chosen(answer: str) -> None:
        if answer == "yes":
            screen.work("Journal", lambda: offline.replay_all(screen.studio, readable), lambda told: _put(screen, told))

    options = [("yes", "Put them on record now"), ("no", "Leave them waiting")]
    screen.ask(Choose(f"{waiting_words(rows)}, done while the database was away", options), chosen)


def _put(screen: TorchTally, told: tuple[ReplaySheet, ...]) -> None:
    screen.show(work.work_sheet(screen.studio, screen.sheet.row.id))
    screen.answer(" ".join(words.replayed(one) for one in told), bad=any(one.as_notes for one in told))


def waiting_words(rows: list[JournalRow]) -> str:
    """How many keys wait, and of when."""
    keys = show.times(sum(r.keys for r in rows), "key", "keys")
    since = min((r.opened_at for r in rows if r.opened_at is not None), default=None)
    return (
        f"{keys} of {since.astimezone():%d %b %H:%M} waiting in this machine's journal" if since else f"{keys} waiting"
    )


def waiting_at_the_bench(rows: Sequence[JournalRow]) -> str:
    """What the Bench says of journals that wait, empty where none does."""
    if not rows:
        return ""
    works = ", ".join(dict.fromkeys(row.work for row in rows))
    return f"▲ {waiting_words(list(rows))} for {works}: w takes the work up and puts them on record."
