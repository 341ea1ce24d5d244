"""`patina print`: reports, labels and cards on paper or as a page."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from patina.commands.common import common, say, the_studio
from patina.commands.help_words import Group
from patina.errors import Refused

F = TypeVar("F", bound=Callable[..., Any])
Written = tuple[Path, ...]

_FILE = click.argument("file", type=click.Path(path_type=Path, dir_okay=False))


@click.group("print", cls=Group)
def print_() -> None:
    """Print a record: FILE (.pdf, .html, .svg or .png), or --pdf and --html, both at once where both are wanted."""


def _where_to(command: F) -> F:
    """Where a report is written to: FILE, --pdf, --html."""
    place = click.Path(path_type=Path, dir_okay=False)
    command = click.option("--html", type=place, help="Write a page that needs nothing but a browser.")(command)
    command = click.option("--pdf", type=place, help="Write for paper and for the archive (PDF/A-2b).")(command)
    return click.argument("file", required=False, type=place)(command)


def _files(file: Path | None, pdf: Path | None, html: Path | None) -> tuple[Path, ...]:
    """The files asked for. Raises Refused where none is, or one has another ending than it says."""
    for path, ending in ((pdf, ".pdf"), (html, ".html")):
        if path is not None and path.suffix.lower() != ending:
            raise Refused(f"'{path.name}' does not end in {ending}.", f"Name a file that ends in {ending}.")
    asked = tuple(path for path in (file, pdf, html) if path is not None)
    if not asked:
        raise Refused("It is not said where to print to.", "Give --pdf FILE.pdf, --html FILE.html, or both.")
    return asked


def _told(as_json: bool, files: Written) -> None:
    say(as_json, {"files": [str(f) for f in files]}, "\n".join(f"Written to {f}." for f in files))


def _show(done: int, of: int, words: str) -> None:
    """How far it is, on stderr, where somebody looks on."""
    if sys.stderr.isatty():
        click.echo(f"\r{words} ({done} of {of})".ljust(60), nl=done == of and of == 1, err=True)


def _no_show(_done: int, _of: int, _words: str) -> None:
    """Scripts are told nothing on the way."""


def _write(
    as_json: bool, files: tuple[Path, ...], write: Callable[[Path, Callable[[int, int, str], None]], Written]
) -> None:
    progress = _no_show if as_json else _show
    _told(as_json, tuple(path for file in files for path in write(file, progress)))


@print_.command()
@click.argument("batch")
@_FILE
@click.option("--container", help="Capacity of the bottle: '500 mL'.")
@common
def label(batch: str, file: Path, container: str | None, studio: str | None, as_json: bool) -> None:
    """The bottle label of BATCH."""
    from patina.bench.paper.printing import batch_label

    with the_studio(studio) as opened:
        _told(as_json, batch_label(opened, batch, file, container=container))


@print_.command()
@_FILE
@common
def wall(file: Path, studio: str | None, as_json: bool) -> None:
    """What stands on the shelf and what must be kept apart."""
    from patina.bench.paper.printing import wall_sheet

    with the_studio(studio) as opened:
        _told(as_json, wall_sheet(opened, file))


@print_.command("first-aid")
@_FILE
@click.option("--emergency", default="", help="Emergency telephone number.")
@click.option("--poison-centre", default="", help="Telephone number of the poison centre.")
@common
def first_aid(file: Path, emergency: str, poison_centre: str, studio: str | None, as_json: bool) -> None:
    """What to do, by route, for what stands on the shelf."""
    from patina.bench.paper.printing import first_aid_card

    with the_studio(studio) as opened:
        _told(as_json, first_aid_card(opened, file, emergency=emergency, poison_centre=poison_centre))


@print_.command("batch")
@click.argument("batch_id", metavar="BATCH")
@_where_to
@common
def batch_(
    batch_id: str, file: Path | None, pdf: Path | None, html: Path | None, studio: str | None, as_json: bool
) -> None:
    """The batch sheet of BATCH: as mixed, what was taken, how strong it still is."""
    from patina.bench.paper.printing import batch_record

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(as_json, asked, lambda path, progress: batch_record(opened, batch_id, path, progress))


@print_.command()
@click.argument("recipe")
@_where_to
@click.option("--revision", type=int, help="Of an earlier revision.")
@common
def safety(
    recipe: str,
    file: Path | None,
    pdf: Path | None,
    html: Path | None,
    revision: int | None,
    studio: str | None,
    as_json: bool,
) -> None:
    """The safety sheet of RECIPE."""
    from patina.bench.paper.printing import safety_sheet

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(
            as_json,
            asked,
            lambda path, progress: safety_sheet(opened, recipe, path, revision=revision, progress=progress),
        )


@print_.command()
@click.argument("tile_id", metavar="TILE")
@_where_to
@common
def tile(
    tile_id: str, file: Path | None, pdf: Path | None, html: Path | None, studio: str | None, as_json: bool
) -> None:
    """How TILE was made and what colour came of it."""
    from patina.bench.paper.printing import tile_record

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(as_json, asked, lambda path, progress: tile_record(opened, tile_id, path, progress))


@print_.command()
@click.argument("cast_id", metavar="CAST")
@_where_to
@click.option("--care", default="", help="What the owner is to do.")
@click.option("--seal-recipes", is_flag=True, help="Leave the names of recipes out.")
@common
def cast(
    cast_id: str,
    file: Path | None,
    pdf: Path | None,
    html: Path | None,
    care: str,
    seal_recipes: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """The finish record of CAST."""
    from patina.bench.paper.printing import finish_record

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(
            as_json,
            asked,
            lambda path, progress: finish_record(
                opened, cast_id, path, care=care, show_recipes=not seal_recipes, progress=progress
            ),
        )


@print_.command()
@click.argument("cast_id", metavar="CAST")
@_where_to
@click.option(
    "--show",
    type=click.Choice(["quantities", "steps", "nothing"]),
    default="steps",
    show_default=True,
    help="How much of the recipes; what is withheld stays so.",
)
@common
def owner(
    cast_id: str,
    file: Path | None,
    pdf: Path | None,
    html: Path | None,
    show: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """What the owner of CAST is given: finish, care, next check, readings."""
    from patina.bench.paper.owner import print_owner_sheet

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(as_json, asked, lambda path, _progress: print_owner_sheet(opened, cast_id, path, show=show))


@print_.command()
@click.argument("piece")
@_where_to
@click.option(
    "--order", type=click.Choice(["number", "date"]), default="number", show_default=True, help="Of the casts."
)
@click.option("--zone", default="", help="Only this zone of the casts.")
@click.option("--master", default="", help="Against this agreed finish.")
@common
def series(
    piece: str,
    file: Path | None,
    pdf: Path | None,
    html: Path | None,
    order: str,
    zone: str,
    master: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """The edition of PIECE: register, charts, what changed, ageing, heat."""
    from patina.bench.paper.print_reports import series_report

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(
            as_json,
            asked,
            lambda path, progress: series_report(
                opened, piece, path, order=order, zone=zone, master=master, progress=progress
            ),
        )


@print_.command()
@click.argument("master_id", metavar="FINISH")
@_where_to
@click.option("--seal-recipes", is_flag=True, help="Leave the names of recipes out.")
@common
def master(
    master_id: str,
    file: Path | None,
    pdf: Path | None,
    html: Path | None,
    seal_recipes: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """The agreed FINISH: zones, limits, light, holders, concessions."""
    from patina.bench.paper.print_reports import agreed_finish

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(
            as_json,
            asked,
            lambda path, progress: agreed_finish(
                opened, master_id, path, show_recipe=not seal_recipes, progress=progress
            ),
        )


@print_.command()
@click.argument("treatment_id", metavar="TREATMENT")
@_where_to
@common
def treatment(
    treatment_id: str, file: Path | None, pdf: Path | None, html: Path | None, studio: str | None, as_json: bool
) -> None:
    """The report of a conservator's TREATMENT."""
    from patina.bench.paper.print_reports import treatment_report

    asked = _files(file, pdf, html)
    with the_studio(studio) as opened:
        _write(as_json, asked, lambda path, progress: treatment_report(opened, treatment_id, path, progress))
