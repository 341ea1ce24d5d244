"""`patina bill`: hours and materials of works, for a spreadsheet."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, the_studio


@click.command()
@click.argument("works", nargs=-1)
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@common
def bill(works: tuple[str, ...], file: Path, studio: str | None, as_json: bool) -> None:
    """Write hours and materials of WORKS (all of them where none is named) into FILE, a CSV."""
    from patina.bench.torch.after import bill as bill_lines
    from patina.bench.torch.after import write_bill
    from patina.errors import Refused

    if file.suffix.lower() != ".csv":
        raise Refused(f"'{file}' is no CSV file.", "Name the works first, and a file that ends in .csv last.")
    with the_studio(studio) as opened:
        lines = len(bill_lines(opened, works))
        written = write_bill(opened, file, works)
    say(as_json, {"file": str(written), "lines": lines}, f"{lines} lines written to {written}.")
