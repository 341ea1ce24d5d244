"""`patina history`, `patina undo`, `patina withdraw`, `patina seal` and `patina amend`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from patina.commands.common import common, say, the_studio, times

if TYPE_CHECKING:
    from patina.sheets.history import Alteration, DeedRow, SealSheet

_FIELDS = 12  # so many fields of a new record are printed


@click.command()
@click.argument("record", required=False, default="")
@click.option("--limit", type=click.IntRange(1, 10_000), default=50, show_default=True, help="The newest so many.")
@common
def history(record: str, limit: int, studio: str | None, as_json: bool) -> None:
    """Who changed what of RECORD, when and why; without an id, of the whole studio."""
    from patina.bench.history import deeds_on

    with the_studio(studio) as opened:
        found = deeds_on(opened, record, limit=limit)
    text = "\n\n".join(_told(deed) for deed in found) if found else "Nothing is in the log."
    say(as_json, {"record": record.strip().upper(), "deeds": [deed.as_json() for deed in found]}, text)


def _told(deed: DeedRow) -> str:
    who = deed.by or "somebody unnamed"
    lines = [f"{deed.at:%Y-%m-%d %H:%M} UTC  {who}: {deed.deed}{' (taken back since)' if deed.undone else ''}"]
    numbers = f"change {deed.first}" if deed.first == deed.last else f"changes {deed.first} to {deed.last}"
    lines.append(f"  {numbers}" + (f"; why: {deed.why}" if deed.why else ""))
    for one in deed.alterations:
        lines += _lines(one)
    return "\n".join(lines)


def _lines(one: Alteration) -> list[str]:
    lines = [f"  {one.record} ({one.kind}) {one.did}"]
    for field in one.fields[:_FIELDS]:
        if one.did == "changed" and field.before:
            lines.append(f"    {field.words}: {field.before} → {field.after or 'nothing'}")
        else:
            lines.append(f"    {field.words}: {field.after or field.before}")
    if len(one.fields) > _FIELDS:
        lines.append(f"    and {times(len(one.fields) - _FIELDS, 'field')} more")
    return lines


@click.command()
@click.option("--redo", is_flag=True, help="Take the last undo back.")
@click.option("--change", type=click.IntRange(min=1), help="A change of the log, for the deed it belongs to.")
@click.option("--why", default="", help="The reason.")
@click.option("--by", default="", help="Whose deed; else who works here.")
@common
def undo(redo: bool, change: int | None, why: str, by: str, studio: str | None, as_json: bool) -> None:
    """Take your last deed back by a new one; the log keeps both."""
    from patina.bench.history import undo as undo_deed

    with the_studio(studio) as opened:
        done = undo_deed(opened, change=change, redo=redo, why=why, by=by)
    say(as_json, done.as_json(), done.words)


@click.command()
@click.argument("reading")
@click.option("--why", default="", help="The reason.")
@click.option("--by", default="", help="Who withdraws it.")
@common
def withdraw(reading: str, why: str, by: str, studio: str | None, as_json: bool) -> None:
    """Let a READING count no longer, with the reason; it stays on record."""
    from patina.bench.history import withdraw_reading

    with the_studio(studio) as opened:
        id = withdraw_reading(opened, reading, why, by=by)
    say(as_json, {"withdrawn": id, "why": why.strip()}, f"Withdrawn: {id}. It stays on record and counts nowhere.")


@click.command()
@click.argument("record")
@click.option("--statement", default=None, help="The words that are signed.")
@click.option("--revision", type=click.IntRange(min=1), help="Of a recipe; else its latest.")
@click.option("--show", is_flag=True, help="Only show how it was signed off.")
@click.option("--by", default="", help="Who signs.")
@common
def seal(
    record: str, statement: str | None, revision: int | None, show: bool, by: str, studio: str | None, as_json: bool
) -> None:
    """Sign RECORD off (a recipe's revision, agreed finish, cast or treatment); it is never edited again."""
    from patina.bench import sealing

    with the_studio(studio) as opened:
        if show:
            found = sealing.seal_of(opened, record, revision=revision)
        else:
            words = sealing.STATEMENT if statement is None else statement
            found = sealing.seal(opened, record, words, revision=revision, by=by)
    say(as_json, found.as_json(), sealed_words(found))


def sealed_words(found: SealSheet) -> str:
    """A seal with its amendments, as text."""
    if found.sealed and found.at is not None:
        lines = [f"{found.record} ({found.kind}) was signed off by {found.by} on {found.at:%Y-%m-%d %H:%M} UTC."]
        lines += [f'  "{found.statement}"', f"  {times(found.covers, 'row')}, SHA-256 {found.sha256}"]
        if found.sound is None:
            lines.append("  Its content is held by the studio, so it is not proved here.")
        elif not found.sound:
            lines.append("  ! It is not what was signed.")
    else:
        lines = [f"{found.record} ({found.kind}) is not signed off."]
    for one in found.amendments:
        lines.append(f"  amendment {one.number}, {one.by}, {one.at:%Y-%m-%d}: {one.words} (why: {one.why})")
    return "\n".join(lines)


@click.command()
@click.argument("record")
@click.argument("words")
@click.option("--why", default="", help="Why it is added.")
@click.option("--revision", type=click.IntRange(min=1), help="Of a recipe; else its latest.")
@click.option("--by", default="", help="Who adds it.")
@common
def amend(record: str, words: str, why: str, revision: int | None, by: str, studio: str | None, as_json: bool) -> None:
    """Add WORDS to a RECORD that was signed off, or is of a kind that is never edited."""
    from patina.bench import sealing

    with the_studio(studio) as opened:
        found = sealing.amend(opened, record, words, why, revision=revision, by=by)
    say(as_json, found.as_json(), sealed_words(found))
