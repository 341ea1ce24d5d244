"""What explains a bundle: its README, its JSON Schema and bundle.json, written from the tables themselves."""

from __future__ import annotations

import json
import textwrap
from functools import cache
from typing import Any

from patina import __version__
from patina.datafile import data_path, read_table, text
from patina.records.archive.cells import BEGINS_A_FORMULA, RECORD
from patina.records.archive.choice import Choice
from patina.records.archive.shape import NOT_A_FILE, Column, Shape, shapes
from patina.records.migrations.schemas import HEAD

FORMAT = "patina archive"
FORMAT_VERSION = 1
_WIDTH = 100
_SORTS = {
    "integer": {"type": "integer"},
    "number": {"type": "number"},
    "yes or no": {"type": "boolean"},
    "text": {"type": "string"},
    "moment": {"type": "string", "format": "date-time"},
    "day": {"type": "string", "format": "date"},
    "money": {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"},
    "list": {},
}


@cache
def _units() -> tuple[tuple[str, str], ...]:
    rows = read_table("archive_units.csv", {"suffix": text, "unit": text, "source": text})
    return tuple(sorted(((r["suffix"], r["unit"]) for r in rows), key=lambda pair: -len(pair[0])))


@cache
def _meanings() -> dict[tuple[str, str], str]:
    rows = read_table("archive_columns.csv", dict.fromkeys(("table", "column", "meaning", "source"), text))
    return {(r["table"], r["column"]): r["meaning"] for r in rows}


def layout() -> list[dict[str, str]]:
    """What lies in a bundle: path and what it is."""
    return read_table("archive_layout.csv", dict.fromkeys(("path", "what", "source"), text))


def unit_of(column: Column) -> str:
    """The unit that the column's name says, empty where it has none."""
    if column.sort not in ("number", "integer"):
        return ""
    return next((unit for suffix, unit in _units() if column.key.endswith(suffix)), "")


def meaning_of(shape: Shape, column: Column) -> str:
    """What a column means, in words."""
    known = _meanings()
    words = known.get((shape.name, column.key)) or known.get(("*", column.key)) or column.key.replace("_", " ")
    parts = [words.removesuffix("."), f"in {unit}" if (unit := unit_of(column)) else ""]
    if column.to is not None:
        parts = [f"number of the row in table {column.to} ({shapes()[column.to].letter} before it makes its id)"]
        parts += [words] if (shape.name, column.key) in known or ("*", column.key) in known else []
    if column.derived:
        parts.append("worked out from other columns")
    if column.nullable:
        parts.append("empty: not known")
    return "; ".join(part for part in parts if part)


def schema() -> dict[str, Any]:
    """The JSON Schema of the files of a bundle. Source: [JSONSCHEMA2020]"""
    document: dict[str, Any] = json.loads(data_path("archive_schema.json").read_text(encoding="utf-8"))
    names = ["bundle", "settings"]
    for shape in shapes().values():
        document["$defs"][f"row of {shape.name}"] = _row_schema(shape)
        document["$defs"][f"table {shape.name}"] = {
            "type": "object",
            "required": ["table", "rows"],
            "additionalProperties": False,
            "properties": {
                "table": {"const": shape.name},
                "rows": {"type": "array", "items": {"$ref": f"#/$defs/row of {shape.name}".replace(" ", "%20")}},
            },
        }
        names.append(f"table {shape.name}")
    document["anyOf"] = [{"$ref": f"#/$defs/{name}".replace(" ", "%20")} for name in names]
    return document


def _row_schema(shape: Shape) -> dict[str, Any]:
    properties: dict[str, Any] = {RECORD: {"$ref": "#/$defs/public_id"}}
    for column in shape.columns:
        said: dict[str, Any] = dict(_SORTS[column.sort])
        if column.key == "uid":
            said = {"type": "string", "pattern": "^[0-9a-f]{32}$"}
        if column.length is not None:
            said["maxLength"] = column.length
        if column.nullable and "type" in said:
            said["type"] = [said["type"], "null"]
        properties[column.key] = {**said, "description": meaning_of(shape, column)}
    return {
        "type": "object",
        "description": shape.words,
        "required": sorted(properties),
        "additionalProperties": False,
        "properties": properties,
    }


def bundle_document(choice: Choice, about: dict[str, Any], tables: dict[str, int]) -> dict[str, Any]:
    """What bundle.json says. about: kind, name, uid, photographs, missing and log."""
    return {
        "format": FORMAT,
        "version": FORMAT_VERSION,
        "program": __version__,
        "schema": HEAD,
        "target": choice.target,
        "made_for": "owner" if choice.for_owner else "everyone",
        "tables": tables,
        "left_out": [c.as_json() for c in choice.cut],
        "withheld": choice.withheld,
        **about,
    }


def kind_words(kind: str) -> str:
    """What a bundle is of, as people say it. kind: the table of its record.

    >>> kind_words("conservation"), kind_words("recipe")
    ("conservator's treatment", 'recipe')
    """
    called = {"cast_piece": "cast", "conservation": "conservator's treatment", "master": "agreed finish"}
    return called.get(kind, kind)


def readme(document: dict[str, Any]) -> str:
    """The README of a bundle: every file and every column."""
    made_of = f"{kind_words(document['kind'])} {document['target']}, {document['name']}"
    lines = [
        "ARCHIVE BUNDLE OF " + (made_of if document["target"] else "A WHOLE STUDIO"),
        "",
        *_wrapped(
            "This is a bag after RFC 8493 (BagIt): plain files, each with its SHA-256, that need no program. Texts "
            "are UTF-8. Begin with data/printed, then data/tables (CSV opens in any spreadsheet). The program that "
            f"wrote it is patina {document['program']}; its command import takes the file in again without loss."
        ),
        "",
        *_wrapped(
            "Chemicals named in these records can burn, poison and stain. They say what was done, not what is safe to "
            "do: safety data sheets, local codes and licensed practice come first."
        ),
        "",
        "PROVE IT",
        "",
        "  sha256sum -c manifest-sha256.txt      in the folder that holds bagit.txt",
        "  or any program that validates a BagIt bag; or: patina archive verify FILE",
        "",
        "WHAT WAS LEFT OUT",
        "",
        *_left_out(document),
        "",
        "FILES",
        "",
    ]
    for row in layout():
        lines += [f"  {row['path']}", *_wrapped(row["what"], "      ")]
    lines += ["", "HOW VALUES ARE WRITTEN", "", *_values(), "", "TABLES", ""]
    for name, count in document["tables"].items():
        lines += _table(shapes()[name], count)
    lines += ["TABLES THAT ARE NO FILES", ""]
    lines += [line for name, why in NOT_A_FILE.items() for line in _wrapped(f"{name}: {why}", "  ")]
    return "\n".join(lines) + "\n"


def _wrapped(words: str, indent: str = "") -> list[str]:
    return textwrap.wrap(words, _WIDTH, initial_indent=indent, subsequent_indent=indent, break_long_words=False)


def _left_out(document: dict[str, Any]) -> list[str]:
    said: list[str] = []
    if document["made_for"] == "owner":
        said += _wrapped(
            "This bundle was made for the owner: recipes that the studio withholds are not in it, nor the pots, works "
            "and lots that tell their quantities.",
            "  ",
        )
    if document["withheld"]:
        said += _wrapped(f"Withheld by the studio: {', '.join(document['withheld'])}.", "  ")
    for cut in document["left_out"]:
        said += _wrapped(f"{cut['record']} ({cut['table']}), {cut['column']}: {cut['why']}.", "  ")
    for sha256 in document["missing"]:
        said.append(f"  photograph {sha256}: its file was gone or damaged")
    return said or ["  Nothing."]


def _values() -> list[str]:
    begins = " ".join(repr(c)[1:-1] for c in BEGINS_A_FORMULA)
    said = (
        "Moments are ISO 8601 in UTC, days YYYY-MM-DD. A unit stands at the end of a column's name.",
        f"In CSV (comma, quotation marks doubled, lines end in CR LF) a text that begins with one of {begins} or with "
        "an apostrophe has one apostrophe in front, so that no spreadsheet runs it; take one apostrophe off to have "
        "the text. An empty cell is 'not known' where a column may be empty; an apostrophe alone is a text of no "
        "characters there. Lists and documents stand as JSON in their cell; yes and no are yes and no.",
        "Each change in the log is chained: hash = SHA-256 of the text of previous followed by the JSON of the fields "
        "after, at, before, by, deed, kind, n, record, why (sorted by name, no blanks, UTF-8). previous of the first "
        "is 64 zeros. before and after hold the record as text; a change whose content is withheld stands in "
        "chain.csv by its hash alone.",
    )
    return [line for words in said for line in _wrapped(words, "  ")]


def _table(shape: Shape, count: int) -> list[str]:
    lines = [f"  {shape.name} (ids {shape.letter}1, {shape.letter}2 ...; rows here: {count})"]
    lines += _wrapped(shape.words, "      ")
    lines.append(f"      - {RECORD}: the id that people type")
    for column in shape.columns:
        lines += textwrap.wrap(
            f"- {column.key} ({column.sort}): {meaning_of(shape, column)}",
            _WIDTH,
            initial_indent="      ",
            subsequent_indent="        ",
            break_long_words=False,
        )
    return [*lines, ""]
