"""`patina print`: labels, cards and records on paper."""

from __future__ import annotations

from pathlib import Path

import click

from patina.commands.common import common, say, the_studio

_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False))


@click.group("print")
def print_() -> None:
    """Print a record to FILE (.pdf, .svg or .png)."""


def _told(as_json: bool, files: tuple[Path, ...]) -> None:
    say(as_json, {"files": [str(f) for f in files]}, "\n".join(f"Written to {f}." for f in files))


@print_.command()
@click.argument("batch")
@_FILE
@click.option("--container", help="Capacity of the bottle: '500 mL'.")
@common
def label(batch: str, file: Path, container: str | None, studio: str | None, as_json: bool) -> None:
    """The bottle label of BATCH."""
    from patina.bench.printing import batch_label

    with the_studio(studio) as opened:
        _told(as_json, batch_label(opened, batch, file, container=container))


@print_.command()
@_FILE
@common
def wall(file: Path, studio: str | None, as_json: bool) -> None:
    """What stands on the shelf and what must be kept apart."""
    from patina.bench.printing import wall_sheet

    with the_studio(studio) as opened:
        _told(as_json, wall_sheet(opened, file))


@print_.command("first-aid")
@_FILE
@click.option("--emergency", default="", help="Emergency telephone number.")
@click.option("--poison-centre", default="", help="Telephone number of the poison centre.")
@common
def first_aid(file: Path, emergency: str, poison_centre: str, studio: str | None, as_json: bool) -> None:
    """What to do, by route, for what stands on the shelf."""
    from patina.bench.printing import first_aid_card

    with the_studio(studio) as opened:
        _told(as_json, first_aid_card(opened, file, emergency=emergency, poison_centre=poison_centre))


@print_.command()
@click.argument("tile_id", metavar="TILE")
@_FILE
@common
def tile(tile_id: str, file: Path, studio: str | None, as_json: bool) -> None:
    """How TILE was made and what colour came of it."""
    from patina.bench.printing import tile_record

    with the_studio(studio) as opened:
        _told(as_json, tile_record(opened, tile_id, file))


@print_.command()
@click.argument("cast_id", metavar="CAST")
@_FILE
@click.option("--care", default="", help="What the owner is to do.")
@click.option("--seal-recipes", is_flag=True, help="Leave the names of recipes out.")
@common
def cast(cast_id: str, file: Path, care: str, seal_recipes: bool, studio: str | None, as_json: bool) -> None:
    """The finish record of CAST."""
    from patina.bench.printing import finish_record

    with the_studio(studio) as opened:
        _told(as_json, finish_record(opened, cast_id, file, care=care, show_recipes=not seal_recipes))
