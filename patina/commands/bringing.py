"""`patina bring` and `patina bring-photographs`: old tables and old pictures taken in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from patina.commands.common import Typed, common, say, table, the_studio
from patina.errors import BadSpreadsheet, NotFound
from patina.sheets.bringing import KINDS

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.sheets.bringing import BringPlan, BroughtSheet, PicturesSheet, TableMapping

SHOWN = 12


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--kind", type=click.Choice(KINDS), help="What its rows are; guessed from the headings where not given.")
@click.option("--sheet", default="", help="The sheet of a workbook; else the first that holds something.")
@click.option("--header-row", type=click.IntRange(1), help="The row of the headings; else it is found.")
@click.option("--encoding", default="", help="Of a text file that is not UTF-8, such as windows-1252 or mac-roman.")
@click.option("--mapping", "mapping_name", default="", help="A mapping's TOML file, or the name of one kept here.")
@click.option(
    "--map", "maps", multiple=True, metavar="HEADING=FIELD", help="What a column means; FIELD empty: nothing."
)
@click.option(
    "--answer", "answers", multiple=True, metavar="HEADING|ABOUT=ANSWER", help="Answer a question about a column."
)
@click.option("--every", multiple=True, metavar="FIELD=VALUE", help="A value for every row that names none.")
@click.option("--dry-run", is_flag=True, help="Show what would be brought in and what would be refused; keep nothing.")
@click.option(
    "--refused", type=click.Path(path_type=Path, dir_okay=False), help="Write refused rows into this CSV file."
)
@click.option("--save", "save_as", default="", help="Keep the mapping in the studio under this name.")
@click.option("--write-mapping", type=click.Path(path_type=Path, dir_okay=False), help="Write the mapping as TOML.")
@click.option("--fields", type=click.Choice(KINDS), help="List the fields that columns of a kind can fill.")
@click.option("--mappings", is_flag=True, help="List the mappings kept in the studio.")
@common
def bring(
    file: Path | None,
    kind: str | None,
    sheet: str,
    header_row: int | None,
    encoding: str,
    mapping_name: str,
    maps: tuple[str, ...],
    answers: tuple[str, ...],
    every: tuple[str, ...],
    dry_run: bool,
    refused: Path | None,
    save_as: str,
    write_mapping: Path | None,
    fields: str | None,
    mappings: bool,
    studio: str | None,
    as_json: bool,
) -> None:
    """Bring in the rows of an old CSV or XLSX FILE: recipes, tiles, readings, lots, pieces, casts, treatments.

    While something is open (a unit, the order of dates) it says what, and keeps nothing.
    """
    from patina.bench.bringing.bring_in import bring as bring_deed
    from patina.bench.bringing.bring_in import plan
    from patina.bench.bringing.bring_mapping import mapping_text, read_mapping, save_mapping, saved_mapping
    from patina.bench.bringing.bring_out import write_refused
    from patina.bench.saving import write_whole

    if fields is not None:
        _list_fields(fields, as_json)
        return
    with the_studio(studio) as opened:
        if mappings:
            _list_mappings(opened, as_json)
            return
        if file is None:
            raise NotFound("No file was named.", "Name a CSV or XLSX file.")
        given: TableMapping | None = None
        if mapping_name:
            as_file = Path(mapping_name)
            is_file = as_file.suffix == ".toml" or as_file.is_file()
            given = read_mapping(as_file) if is_file else saved_mapping(opened, mapping_name)
            given = replace(given, sheet=sheet or given.sheet, header_row=header_row or given.header_row)
        guess = plan(opened, file, given, kind=kind or "", sheet=sheet, header_row=header_row, encoding=encoding)
        mapping = _said(guess.mapping, maps, answers, every)
        if save_as:
            mapping = replace(mapping, name=save_as)
            save_mapping(opened, mapping)
        if write_mapping is not None:
            write_whole(write_mapping, mapping_text(mapping).encode())
        planned = plan(opened, file, mapping, encoding=encoding)
        if planned.open and not dry_run:
            if as_json:
                bring_deed(opened, file, mapping, encoding=encoding)  # says what is open
            say(False, {}, _plan_text(planned))
        came = bring_deed(opened, file, mapping, dry_run=dry_run, encoding=encoding)
        if refused is not None and any(not r.here for r in came.refused):
            write_refused(came, refused)
    document = {**came.as_json(), "plan": planned.as_json()} if dry_run else came.as_json()
    text = _came_text(came, refused)
    say(as_json, document, f"{_plan_text(planned)}\n\n{text}" if dry_run else text)


def _said(mapping: TableMapping, maps: Sequence[str], answers: Sequence[str], every: Sequence[str]) -> TableMapping:
    """The mapping with what the command says of columns, questions and every row."""
    from patina.bench.bringing.bring_fields import field_of
    from patina.bench.bringing.bring_questions import answered, remapped

    headings = {c.heading.casefold(): c.heading for c in mapping.columns}

    def heading_of(text: str) -> str:
        found = headings.get(text.strip().casefold())
        if found is None:
            raise BadSpreadsheet(f"There is no column '{text.strip()}'.", f"Columns: {', '.join(headings.values())}.")
        return found

    for one in maps:
        heading, _, field = one.rpartition("=")
        field, _, substance = field.partition(":")
        if field.strip() and field_of(mapping.kind, field.strip()) is None:
            raise BadSpreadsheet(
                f"{mapping.kind} have no field '{field.strip()}'.", f"See patina bring --fields {mapping.kind}."
            )
        mapping = remapped(mapping, heading_of(heading), field.strip(), substance.strip())
    for one in every:
        name, _, value = one.partition("=")
        if field_of(mapping.kind, name.strip()) is None:
            raise BadSpreadsheet(f"{mapping.kind} have no field '{name.strip()}'.", "See patina bring --fields.")
        mapping = answered(mapping, "", name.strip(), value.strip())
    for one in answers:
        where, _, answer = one.rpartition("=")
        heading, bar, about = where.rpartition("|")
        if not bar:
            raise BadSpreadsheet(f"'{one}' is no answer.", "Write it as HEADING|ABOUT=ANSWER, such as 'Wall|unit=mm'.")
        mapping = answered(mapping, heading_of(heading), about.strip(), answer.strip())
    return mapping


def _list_fields(kind: str, as_json: bool) -> None:
    from patina.bench.bringing.bring_fields import fields_of

    rows = [(Typed(f.name), f.label, f.reads, "needed" if f.needed else "") for f in fields_of(kind)]
    document = [{"field": n, "label": lab, "reads": r, "needed": bool(need)} for n, lab, r, need in rows]
    say(as_json, {"kind": kind, "fields": document}, table(rows, ("field", "what it is", "read as", "")), as_it_is=True)


def _list_mappings(studio: Studio, as_json: bool) -> None:
    from patina.bench.bringing.bring_mapping import saved_mappings

    names = saved_mappings(studio)
    say(as_json, {"mappings": list(names)}, "\n".join(names) or "No mapping is kept yet.")


def _plan_text(planned: BringPlan) -> str:
    lines = [f"{planned.file}, sheet '{planned.sheet}', headings in row {planned.header_row}: {planned.mapping.kind}."]
    lines += [f"· {note}" for note in planned.notes]
    rows = [
        (c.heading, (f"{c.field}: {c.substance}" if c.substance else c.field) or "(left out)", " | ".join(s)[:60])
        for c, s in zip(planned.mapping.columns, planned.samples, strict=True)
    ]
    lines += ["", table([tuple(" ".join(cell.split()) for cell in r) for r in rows], ("column", "field", "cells"))]
    lines += [f"{k}: {v} (every row)" for k, v in planned.mapping.every.items()]
    if planned.missing:
        lines.append(f"! No column gives: {', '.join(planned.missing)}.")
    for q in planned.questions:
        where = f"{q.heading}|{q.about}" if q.heading else q.about
        mark = f"= {q.answer}" if q.answer else "? " + "; ".join(f"{a} → {r}" if a != r else a for a, r in q.options)
        lines += ["", f"{where}: {q.asks}" + (f" ({', '.join(q.cells)})" if q.cells else ""), f"    {mark}"]
    return "\n".join(lines)


def _came_text(came: BroughtSheet, refused: Path | None) -> str:
    lines = [came.in_words]
    for row in came.brought[:SHOWN]:
        values = "; ".join(f"{label}: {' '.join(text.split())}" for label, text in row.values)
        lines.append(
            f"+ row {', '.join(map(str, row.rows[:6]))}: {row.record} {row.name}".rstrip() + f" ({values})"[:400]
        )
    if len(came.brought) > SHOWN:
        lines.append(f"  … and {len(came.brought) - SHOWN} more")
    left = [r for r in came.refused if not r.here]
    lines += [f"- row {', '.join(map(str, r.rows[:6]))}: {r.reason}" for r in left[:50]]
    if len(left) > 50:
        lines.append(f"  … and {len(left) - 50} more; --refused FILE.csv writes all of them")
    if refused is not None and left:
        lines.append(f"The refused rows are in {refused}; mend them there and bring that file in.")
    return "\n".join(lines)


@click.command("bring-photographs")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--pattern",
    default="",
    help="How file names say where they belong: '{mark}_{state}', '{piece}-{number} *', '{id} *'.",
)
@click.option("--dry-run", is_flag=True, help="Show where each would go; keep nothing.")
@click.option("--no-search", is_flag=True, help="Do not look for placards and charts; all are kept as pictures.")
@common
def bring_photographs(
    folder: Path, pattern: str, dry_run: bool, no_search: bool, studio: str | None, as_json: bool
) -> None:
    """Put a FOLDER of old photographs with their tiles and casts, by placards or by file names."""
    from patina.bench.bringing.bring_photographs import bring_photographs as deed

    with the_studio(studio) as opened:
        came = deed(opened, folder, pattern, dry_run=dry_run, search=not no_search)
    say(as_json, came.as_json(), _pictures_text(came))


def _pictures_text(came: PicturesSheet) -> str:
    verb = "put with their records" if came.stored else "would be put with their records"
    lines = [f"{len(came.taken)} of {len(came.pictures)} photographs {verb}."]
    for p in came.taken:
        kept = "" if p.measurable is not False else ", no chart: not to be measured"
        lines.append(f"+ {p.file}: {p.target} by {p.how}{', ' + p.taken if p.taken else ''}{kept}")
    lines += [f"- {p.file}: {p.reason}" for p in came.left]
    return "\n".join(lines)
