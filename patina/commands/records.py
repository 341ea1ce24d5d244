"""`patina import`, `patina export` and `patina list`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from patina.commands.archiving import linked_art, spectrum
from patina.commands.common import common, say, table, the_studio
from patina.commands.help_words import Group
from patina.errors import NotFound, Refused


@click.command("import")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--starters", is_flag=True, help="Take in the recipes that come with the program.")
@click.option("--keep-ours", is_flag=True, help="Of an archive bundle: leave records that differ as they are here.")
@common
def import_(files: tuple[Path, ...], starters: bool, keep_ours: bool, studio: str | None, as_json: bool) -> None:
    """Take in recipe FILES, and archives that this program wrote."""
    from patina.bench.paper.archive import take_in_files
    from patina.bench.recipes.finishes import add_starters
    from patina.commands.archiving import taken_words

    if not files and not starters:
        raise NotFound("No file was named.", "Name one or more recipe files, or give --starters.")
    with the_studio(studio) as opened:
        imported = add_starters(opened) if starters else ()
        if files:
            names, bundles = take_in_files(opened, files, keep_ours=keep_ours)
            imported += names
        else:
            bundles = ()
    document = {"imported": [*imported, *(b.called for b in bundles)], "bundles": [b.as_json() for b in bundles]}
    words = "\n".join([*(f"Taken in: {name}" for name in imported), *map(taken_words, bundles)])
    say(as_json, document, words or "Nothing new: they are all here already.")


@click.group(cls=Group)
def export() -> None:
    """Write out a record."""


export.add_command(linked_art)
export.add_command(spectrum)


@export.command("recipe")
@click.argument("name")
@common
def export_recipe(name: str, studio: str | None, as_json: bool) -> None:
    """The recipe file of NAME, on standard output."""
    from patina.bench.recipes.finishes import export_recipe as export_deed

    with the_studio(studio) as opened:
        text = export_deed(opened, name)
    if as_json:
        say(True, {"recipe": text}, "")
    else:
        sys.stdout.write(text)


@click.command("list")
@click.argument(
    "kind",
    type=click.Choice(
        [
            *("recipes", "tiles", "casts", "masters", "lots", "batches", "substances", "exposures", "works"),
            *("readings", "pieces", "treatments"),
        ]
    ),
)
@click.option(
    "--csv",
    "csv_file",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write them into a CSV file that patina bring takes in again.",
)
@common
def list_(kind: str, csv_file: Path | None, studio: str | None, as_json: bool) -> None:
    """List the records of one KIND; readings, pieces and treatments as a CSV file alone."""
    if csv_file is not None or kind not in _LISTS:
        _write_table(kind, csv_file, studio, as_json)
        return
    from patina.bench.people import require_shown

    with the_studio(studio) as opened:
        items = _LISTS[kind](opened)
        if not items:
            require_shown(opened, kind)
    if not items:
        say(as_json, {"items": []}, f"There are no {kind} yet.")
        return
    rows = [tuple(_cell(v) for v in item.values()) for item in items]
    say(as_json, {"items": items}, table(rows, tuple(items[0])))


def _write_table(kind: str, path: Path | None, studio: str | None, as_json: bool) -> None:
    from patina.sheets.bringing import KINDS

    if path is None or kind not in KINDS:
        raise Refused(
            f"{kind.capitalize()} are not written that way.",
            "Give --csv FILE for readings, pieces and treatments, and leave it out for what has no table.",
        )
    from patina.bench.bringing.bring_out import write_table

    with the_studio(studio) as opened:
        written = write_table(opened, kind, path)
    say(as_json, {"file": str(written), "kind": kind}, f"Written to {written}.")


def _cell(value: Any) -> str:
    """A value of a record in a column: a colour to one decimal, an amount without needless digits."""
    if isinstance(value, list) and value:
        return " ".join(f"{v:.1f}" for v in value) if isinstance(value[0], float) else ", ".join(value)
    return "" if value in (None, []) else f"{value:.6g}" if isinstance(value, float) else str(value)


def _recipes(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.recipes.finishes import list_recipes

    return [
        {"id": r.id, "name": r.name, "finish": r.finish, "revision": r.revision, "tiles": r.tiles}
        for r in list_recipes(studio)
    ]


def _tiles(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.readings.tiles import list_tiles

    return [
        {
            "id": t.id,
            "name": t.engraved,
            "alloy": t.alloy,
            "recipe": t.recipe,
            "revision": t.revision,
            "lab": [t.lab.L, t.lab.a, t.lab.b] if t.lab else None,
        }
        for t in list_tiles(studio)
    ]


def _casts(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.pieces.casts import list_casts

    return [
        {"id": c.id, "name": f"{c.piece} {c.number}".strip(), "alloy": c.alloy, "owner": c.owner, "master": c.master}
        for c in list_casts(studio)
    ]


def _masters(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.pieces.casts import list_masters

    return [
        {"id": m.id, "name": m.name, "lab": [m.lab.L, m.lab.a, m.lab.b], "limit_de": m.limit_de, "formula": m.formula}
        for m in list_masters(studio)
    ]


def _lots(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.shelves.shelf import list_lots

    return [
        {"id": lot.id, "name": lot.substance, "left": lot.left, "unit": lot.unit, "state": lot.state}
        for lot in list_lots(studio)
    ]


def _batches(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.pots.batches import list_batches

    return [
        {"id": b.id, "name": f"{b.recipe}: {b.solution}", "left_mL": b.left_ml, "made_by": b.made_by}
        for b in list_batches(studio, open_only=False)
    ]


def _substances(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.shelves.substances import list_substances

    return [
        {
            "id": s.key,
            "name": s.name,
            "cas": s.cas,
            "hazards": s.hazard_basis,
            "signal_word": s.signal_word,
            "source": s.source,
            "sheet_dated": None if s.sheet_dated is None else s.sheet_dated.isoformat(),
            "check": s.check,
        }
        for s in list_substances(studio)
    ]


def _exposures(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.safe.exposure import list_exposures

    return [
        {"id": e.id, "date": e.on.isoformat(), "name": e.person, "minutes": e.minutes, "substances": list(e.substances)}
        for e in list_exposures(studio)
    ]


def _works(studio: Any) -> list[dict[str, Any]]:
    from patina.bench.torch.work import list_works

    return [
        {
            "id": w.id,
            "name": f"{w.target} {w.target_name}".strip(),
            "recipe": w.recipe,
            "revision": w.revision,
            "passes": w.passes,
            "started": w.started_at.isoformat(),
            "ended": None if w.ended_at is None else w.ended_at.isoformat(),
            "by": w.by,
        }
        for w in list_works(studio, open_only=False)
    ]


_LISTS = {
    "recipes": _recipes,
    "tiles": _tiles,
    "casts": _casts,
    "masters": _masters,
    "lots": _lots,
    "batches": _batches,
    "substances": _substances,
    "exposures": _exposures,
    "works": _works,
}
