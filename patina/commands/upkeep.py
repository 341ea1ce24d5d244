"""`patina check`, `patina backup`, `patina restore` and `patina salvage`."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, the_studio, times
from patina.errors import Damaged, NotFound, Refused


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
@click.argument("file", required=False, type=click.Path(path_type=Path, dir_okay=False))
@click.option("--due", is_flag=True, help="Only where one is due (setting backup-days); without FILE only say whether.")
@common
def backup(file: Path | None, due: bool, studio: str | None, as_json: bool) -> None:
    """Write the whole studio into one FILE, while it may be in use."""
    from patina.bench.backups import backup_due
    from patina.bench.upkeep import backup as backup_deed

    with the_studio(studio) as opened:
        if due:
            told = backup_due(opened)
            if file is None or not told.due:
                say(as_json, told.as_json(), told.words)
                if told.due:
                    raise Refused("A backup is due.", "Make one: patina backup FILE.", title="A backup is due")
                return
        if file is None:
            raise NotFound("No file was named.", "Name the file of the backup.")
        written = backup_deed(opened, file)
    left = written["missing"]
    text = f"Written to {written['file']} (SHA-256 {written['sha256']})."
    if left:
        text += "\n" + "\n".join(f"! Photograph {sha256} is missing or damaged, and is not in it." for sha256 in left)
    say(as_json, written, text)


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@common
def restore(file: Path, studio: str | None, as_json: bool) -> None:
    """Put a backup FILE back into an empty studio."""
    from patina.bench.upkeep import restore as restore_deed

    with the_studio(studio) as opened:
        found = restore_deed(opened, file)
    counts = {"records": found.records, "photographs": found.photographs, "ok": found.ok}
    what = f"{times(found.records, 'record')} and {times(found.photographs, 'photograph')}"
    proof = "The check proved every one of them." if found.ok else "The check found trouble:"
    problems = "".join(f"\n! {problem}" for problem in found.problems)
    say(as_json, {**counts, "problems": list(found.problems)}, f"Restored {what}. {proof}{problems}")


@click.command()
@click.argument("damaged", type=click.Path(path_type=Path, file_okay=False))
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@common
def salvage(damaged: Path, folder: Path, studio: str | None, as_json: bool) -> None:
    """Save what can be read of the DAMAGED studio's folder into a new studio in FOLDER, with a list."""
    from patina.bench.upkeep import salvage as salvage_deed

    found = salvage_deed(damaged, folder)
    lines = [f"Saved into {found.folder}:"]
    lines += [f"  {table.replace('_', ' ')}: {n}" for table, n in sorted(found.saved.items())]
    lines += [f"  photographs: {found.photographs}"]
    lines += ["Lost, or not as it was:", *(f"  ! {one}" for one in found.lost)] if found.lost else ["Nothing was lost."]
    lines.append(f"The list lies in {found.file}.")
    say(as_json, found.as_json(), "\n".join(lines))
