"""`patina journal`: what was done at the torch while the database was away, and putting it on record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from patina.commands.common import common, name_of_studio, say, table, the_studio, times
from patina.commands.help_words import Group

if TYPE_CHECKING:
    from patina.sheets import JournalRow, ReplaySheet


@click.group(cls=Group)
def journal() -> None:
    """Work at the torch that waits on this machine because the database was away."""


@journal.command("list")
@common
def journal_list(studio: str | None, as_json: bool) -> None:
    """The journals that wait for this studio."""
    from patina.bench.torch.offline import waiting, where_kept

    where = _where(studio)
    found, kept = waiting(where), where_kept(where)
    rows = [(r.name, r.work, r.target, _moment(r), str(r.keys), r.trouble) for r in found]
    heading = ("journal", "work", "of", "begun", "keys", "trouble")
    text = table(rows, heading) if rows else "No journal waits on this machine."
    say(as_json, {"waiting": [r.as_json() for r in found], "folder": kept.folder, "on_record": kept.on_record}, text)


def _where(studio: str | None) -> str:
    """The studio's name. It need not be opened: its database may be away still."""
    where = name_of_studio(studio)
    if where:
        return where
    with the_studio(studio) as opened:
        return opened.where


def _moment(row: JournalRow) -> str:
    return "" if row.opened_at is None else f"{row.opened_at:%Y-%m-%d %H:%M} UTC"


@journal.command("show")
@click.argument("name")
@common
def journal_show(name: str, studio: str | None, as_json: bool) -> None:
    """What the journal NAME holds, in the order it was done."""
    from patina.bench.torch.offline import entries_of

    found = entries_of(_where(studio), name)
    rows = [(str(e.n), f"{e.at:%H:%M:%S}", e.deed, str(e.step), e.zone, _given(dict(e.given))) for e in found]
    document = [
        {"n": e.n, "at": e.at.isoformat(), "by": e.by, "deed": e.deed, "step": e.step, "zone": e.zone, "id": e.uid,
         "given": dict(e.given)}
        for e in found
    ]  # fmt: skip
    say(as_json, {"entries": document}, table(rows, ("n", "UTC", "deed", "step", "zone", "given")))


def _given(given: dict[str, object]) -> str:
    return ", ".join(f"{k} {v}" for k, v in given.items() if v not in (None, ""))


@journal.command("replay")
@click.argument("names", nargs=-1, metavar="[NAME]...")
@common
def journal_replay(names: tuple[str, ...], studio: str | None, as_json: bool) -> None:
    """Put the journals of these names on record, or all that wait: each key once, in its order, at its time."""
    from patina.bench.torch.offline import replay_all

    with the_studio(studio) as opened:
        told = replay_all(opened, names)
    text = "\n".join(_told(one) for one in told) or "No journal waits on this machine."
    say(as_json, {"replayed": [one.as_json() for one in told]}, text)


def _told(one: ReplaySheet) -> str:
    there = f", {one.there} were there already" if one.there else ""
    lines = [f"{one.work}: {times(one.written, 'key')} put on record{there}.", *(f"! {note}" for note in one.as_notes)]
    return "\n".join(lines)
