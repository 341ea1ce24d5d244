"""`patina check`, `patina backup` and `patina restore`."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, the_studio, times
from patina.errors import Damaged


@click.command()
@common
def check(studio: str | None, as_json: bool) -> None:
    """Prove that every record and photograph of the studio is what it was."""
    from patina.bench.upkeep import check as check_deed

    with the_studio(studio) as opened:
        found = check_deed(opened)
    what = f"{times(found.records, 'record')} and {times(found.photographs, 'photograph')}"
    text = f"{what}: all sound." if found.ok else f"{what}: trouble."
    say(as_json, found.as_json(), "\n".join([text, *(f"! {p}" for p in found.problems)]))
    if not found.ok:
        raise Damaged(
            f"The check of the studio found {times(len(found.problems), 'problem')}.",
            "Make a copy of it, then restore the last good backup.",
        )


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@common
def backup(file: Path, studio: str | None, as_json: bool) -> None:
    """Write the whole studio into one FILE."""
    from patina.bench.upkeep import backup as backup_deed

    with the_studio(studio) as opened:
        written = backup_deed(opened, file)
    say(as_json, written, f"Written to {written['file']} (SHA-256 {written['sha256']}).")


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@common
def restore(file: Path, studio: str | None, as_json: bool) -> None:
    """Put a backup FILE back into an empty studio."""
    from patina.bench.upkeep import restore as restore_deed

    with the_studio(studio) as opened:
        found = restore_deed(opened, file)
    counts = {"records": found.records, "photographs": found.photographs}
    say(as_json, counts, f"Restored {times(found.records, 'record')} and {times(found.photographs, 'photograph')}.")
