"""`patina exposure`: the log of who worked with what."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, table, the_studio, times
from patina.commands.help_words import Group


@click.group(cls=Group)
def exposure() -> None:
    """Who worked with what, how long, with which extraction and respirator."""


@exposure.command()
@click.option("--person", required=True, help="Who.")
@click.option("--minutes", required=True, help="How long: 45, or '1.5 h'.")
@click.option("--date", "on", default="", metavar="2026-03-14", help="When; today by default.")
@click.option("--shift", default="", help="Morning, late …")
@click.option("--recipe", default="", help="Name or id.")
@click.option("--revision", default="", help="Of the recipe.")
@click.option("--batch", default="", help="The pot: B1.")
@click.option("--substance", "substances", multiple=True, help="What else was used.")
@click.option("--task", default="", help="What was done.")
@click.option("--extraction", default="", help="Hood 2, booth, outdoors, none.")
@click.option("--flow", default="", help="What the extraction draws: '600 m3/h'.")
@click.option("--respirator", default="", help="Mask and filter, or none.")
@click.option("--note", default="")
@click.option("--corrects", default="", metavar="H1", help="A row that this one replaces.")
@common
def add(studio: str | None, as_json: bool, substances: tuple[str, ...], **fields: str) -> None:
    """Log an exposure."""
    from patina.bench.safe.exposure import add_exposure, exposure_form

    entry = exposure_form({**fields, "substances": "; ".join(substances)})
    with the_studio(studio) as opened:
        row = add_exposure(opened, entry)
    text = f"{row.id}: {row.person}, {row.on}, {row.minutes:g} min with {', '.join(row.substances)}."
    say(as_json, row.as_json(), f"{text} Kept until {row.keep_until}.")


@exposure.command("list")
@click.option("--person", default="", help="Of one person.")
@common
def list_(person: str, studio: str | None, as_json: bool) -> None:
    """The exposures on record."""
    from patina.bench.safe.exposure import list_exposures

    with the_studio(studio) as opened:
        rows = list_exposures(opened, person=person)
    shown = [
        (r.id, r.on.isoformat(), r.person, f"{r.minutes:g} min", ", ".join(r.substances), r.respirator or "not said")
        for r in rows
        if r.corrected_by is None
    ]
    heads = ("id", "date", "person", "time", "worked with", "respirator")
    text = table(shown, heads) if shown else "No exposure is on record."
    say(as_json, {"exposures": [r.as_json() for r in rows]}, text)


@exposure.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--person", default="", help="Of one person.")
@common
def export(file: Path, person: str, studio: str | None, as_json: bool) -> None:
    """Write the log into FILE (CSV, safe against formula cells)."""
    from patina.bench.safe.exposure_csv import export_exposures

    with the_studio(studio) as opened:
        path, count = export_exposures(opened, file, person=person)
    say(as_json, {"file": str(path), "rows": count}, f"{times(count, 'row')} written to {path}.")


@exposure.command()
@click.argument("years", type=int, required=False)
@click.option("--take-out", is_flag=True, help="Take out what is over its time.")
@common
def keep(years: int | None, take_out: bool, studio: str | None, as_json: bool) -> None:
    """How many YEARS an exposure is kept (40 where nothing is set); nothing is taken out before."""
    from patina.bench.safe.exposure import keep_years, set_keep_years, take_out_old

    with the_studio(studio) as opened:
        if years is not None:
            set_keep_years(opened, years)
        gone = take_out_old(opened) if take_out else 0
        kept = keep_years(opened)
    done = f"; {times(gone, 'row')} over that time taken out" if take_out else ""
    say(as_json, {"years": kept, "taken_out": gone}, f"Kept {kept} years{done}.")
