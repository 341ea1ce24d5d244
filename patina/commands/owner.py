"""`patina owner`, `patina owner-care`, `patina give`, `patina given`, `patina back` and `patina transfer-list`."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import click

from patina.commands.common import common, say, table, the_studio

_SHOW = click.Choice(["quantities", "steps", "nothing"])
_FILE = click.Path(path_type=Path, dir_okay=False)
_DAY = click.DateTime(formats=["%Y-%m-%d"])
_KINDS = ["owner's sheet", "finish record", "report", "archive bundle", "recipe licence", "tile on loan"]


@click.command()
@click.argument("cast")
@click.option("--show", type=_SHOW, default="steps", show_default=True, help="How much of the recipes is shown.")
@click.option("--sheet", type=_FILE, help="Write it: FILE.pdf or FILE.html.")
@common
def owner(cast: str, show: str, sheet: Path | None, studio: str | None, as_json: bool) -> None:
    """The owner's sheet of CAST: finish, readings, care, next check, and the recipe as far as it is shown.

    A recipe that is withheld shows no quantities whatever is asked. `patina give` writes it and the handing over.
    """
    from patina.bench.paper.owner import owner_sheet, print_owner_sheet

    with the_studio(studio) as opened:
        told = owner_sheet(opened, cast, show=show)
        files = () if sheet is None else print_owner_sheet(opened, cast, sheet, show=show)
    care = told.care
    lines = [f"{told.title} {told.edition}".strip(), told.finish, f"Recipes: {told.shown}."]
    for one in told.recipes:
        lines += [f"{one.name}, revision {one.revision}", *(f"  {line}" for line in one.lines)]
        lines += [f"  {name}: {word or 'no signal word'}" for name, word, _ in one.safety]
    day = "" if care.next_check is None else care.next_check.isoformat()
    lines += [f"{word}: {text or 'not written down'}" for word, text in (("Care", care.care), ("Wax", care.wax))]
    lines += [f"{word}: {text or 'not written down'}" for word, text in (("Next check", day), ("Ask", care.ask))]
    lines += [f"Written to {f}." for f in files]
    say(as_json, {**told.as_json(), "files": [str(f) for f in files]}, "\n".join(line for line in lines if line))


@click.command("owner-care")
@click.argument("cast")
@click.option("--care", "words", default="", help="What the owner is to do.")
@click.option("--wax", default="", help="What lies on the finish.")
@click.option("--next-check", type=_DAY, help="When it is looked at again: 2027-05-01.")
@click.option("--ask", default="", help="Whom to ask, and where to reach them.")
@common
def owner_care(
    cast: str, words: str, wax: str, next_check: datetime | None, ask: str, studio: str | None, as_json: bool
) -> None:
    """Write what the owner of CAST is told, or show it."""
    from patina.bench.paper.owner import care_of, write_care
    from patina.sheets import OwnerCare

    day = None if next_check is None else next_check.date()
    with the_studio(studio) as opened:
        said = words or wax or ask or day
        told = write_care(opened, cast, OwnerCare(words, wax, day, ask)) if said else care_of(opened, cast)
    document = {
        "care": told.care,
        "wax": told.wax,
        "next_check": None if told.next_check is None else told.next_check.isoformat(),
        "ask": told.ask,
    }
    say(as_json, document, "\n".join(f"{k.replace('_', ' ')}: {v or 'not written down'}" for k, v in document.items()))


@click.command()
@click.argument("record", required=False, default="")
@click.option("--to", required=True, help="Who is given it.")
@click.option("--as", "as_what", default="", help="As what: owner, foundry, estate, client …")
@click.option("--kind", type=click.Choice(_KINDS), help="What it is; else it follows from the record.")
@click.option("--terms", default="", help="What was agreed about it; a recipe under licence needs it.")
@click.option("--file", type=_FILE, help="The file given; an owner's sheet or a recipe is written there.")
@click.option("--show", type=_SHOW, default="steps", show_default=True, help="How much an owner's sheet shows.")
@click.option("--back-by", type=_DAY, help="The day a loan is to be back or a licence ends.")
@click.option("--on", type=_DAY, help="The day it was given; else today.")
@click.option("--note", default="")
@common
def give(
    record: str,
    to: str,
    as_what: str,
    kind: str | None,
    terms: str,
    file: Path | None,
    show: str,
    back_by: datetime | None,
    on: datetime | None,
    note: str,
    studio: str | None,
    as_json: bool,
) -> None:
    """Hand RECORD over and write down who was given what, in which version, on which terms.

    A cast (C1) is its owner's sheet, a recipe (R1) a licence, a tile (T1) a loan.
    """
    from patina.bench.paper.owner_giving import Giving, kind_of
    from patina.bench.paper.owner_giving import give as give_deed

    entry = Giving(
        kind=kind or kind_of(record),
        record=record,
        to=to,
        as_what=as_what,
        terms=terms,
        file=file,
        back_by=_date(back_by),
        note=note,
        on=_date(on),
        show=show,
    )
    with the_studio(studio) as opened:
        row = give_deed(opened, entry)
    words = f"{row.id}: {row.kind}, {row.what}, to {row.to} on {row.given_on.isoformat()}."
    say(as_json, row.as_json(), f"{words} SHA-256 {row.sha256}" if row.sha256 else words)


@click.command()
@click.option("--record", default="", help="Of one record: C1, R1, T3.")
@click.option("--to", default="", help="Whose name holds these words.")
@click.option("--out", is_flag=True, help="Only loans and licences that have not ended.")
@common
def given(record: str, to: str, out: bool, studio: str | None, as_json: bool) -> None:
    """What was given to whom, newest first."""
    from patina.bench.paper.owner import given as given_deed

    with the_studio(studio) as opened:
        found = given_deed(opened, record=record, to=to, out=out)
    rows = [
        (
            r.id,
            r.given_on.isoformat(),
            r.kind,
            r.record,
            r.to,
            r.what,
            r.terms,
            _back(r.came_back, r.back_by),
            r.sha256[:12],
        )
        for r in found
    ]
    header = ("id", "given", "kind", "record", "to", "what", "terms", "back", "sha256")
    say(as_json, {"given": [r.as_json() for r in found]}, table(rows, header) if rows else "Nothing was given.")


@click.command()
@click.argument("handover")
@click.option("--on", type=_DAY, help="The day it came back; else today.")
@click.option("--note", default="", help="In what state.")
@common
def back(handover: str, on: datetime | None, note: str, studio: str | None, as_json: bool) -> None:
    """A tile on loan came back, or a licence has ended: HANDOVER is the id that `patina given` shows."""
    from patina.bench.paper.owner_giving import take_back

    with the_studio(studio) as opened:
        row = take_back(opened, handover, on=_date(on), note=note)
    say(as_json, row.as_json(), f"{row.id}: {row.what} came back from {row.to}.")


@click.command("transfer-list")
@click.option("--to", default="", help="Only what they have.")
@click.option("--sheet", type=_FILE, help="Write it: FILE.pdf or FILE.html.")
@common
def transfer_list(to: str, sheet: Path | None, studio: str | None, as_json: bool) -> None:
    """What is out of the house and what would go over, for a change of foundry or an estate."""
    from patina.bench.paper.owner_giving import print_transfer_list
    from patina.bench.paper.owner_giving import transfer_list as list_deed

    with the_studio(studio) as opened:
        told = list_deed(opened, to)
        files = () if sheet is None else print_transfer_list(opened, sheet, to)
    lines = []
    for word, rows in (("On loan", told.loans), ("Licensed", told.licences), ("Files given", told.files)):
        lines += [f"{word}:", *(f"  {r.id} {r.record} {r.what}, to {r.to}, {r.given_on}" for r in rows or ())]
    lines += ["Tiles held:", *(f"  {tile} {name}: {holder}, {place}" for tile, name, holder, place in told.held)]
    hidden = [f"  {id} {name}{' (quantities withheld)' if w else ''}" for id, name, w in told.recipes]
    lines += ["Recipes:", *hidden, *(f"Written to {f}." for f in files)]
    say(as_json, {**told.as_json(), "files": [str(f) for f in files]}, "\n".join(lines))


def _date(moment: datetime | None) -> date | None:
    return None if moment is None else moment.date()


def _back(came: date | None, by: date | None) -> str:
    return f"came back {came.isoformat()}" if came else f"by {by.isoformat()}" if by else ""
