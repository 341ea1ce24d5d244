"""A change of a record field by field, in the trade's words and with units."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from sqlalchemy import inspect, select
from sqlalchemy.orm import Session

from patina.datafile import any_text, read_table, text
from patina.records.access.rows import hides
from patina.records.log.seals import table_named
from patina.records.tables.first import RevisionTable
from patina.sheets.history import FieldChange

# the unit that the end of a column's name says
_UNITS = (
    ("_g_per_l", "g/L"),
    ("_ml_per_m2", "mL/m²"),
    ("_m3_h", "m³/h"),
    ("_g_m2", "g/m²"),
    ("_m2", "m²"),
    ("_cm2", "cm²"),
    ("_mm2", "mm²"),
    ("_mm", "mm"),
    ("_ml", "mL"),
    ("_pct", "%"),
    ("_min", "min"),
    ("_px", "px"),
    ("_us_cm", "µS/cm"),
    ("_de00", "ΔE00"),
    ("_g", "g"),
    ("_h", "h"),
    ("_s", "s"),
    ("_c", "°C"),
)
LONGEST = 400


@cache
def _known() -> dict[tuple[str, str], tuple[str, str]]:
    columns = {"table": text, "column": any_text, "words": text, "unit": any_text, "source": text}
    rows = read_table("field_words.csv", columns)
    return {(row["table"], row["column"]): (row["words"], row["unit"]) for row in rows}


def kind_words(table: str) -> str:
    """What people call a kind of record.

    >>> kind_words("cast_piece"), kind_words("strip_check")
    ('cast', 'strip check')
    """
    return _known().get((table, ""), (table.replace("_", " "), ""))[0]


@cache
def field_words(table: str, column: str) -> tuple[str, str]:
    """What people call a field, and its unit; "-" for one that is not shown.

    >>> field_words("tile", "wall_mm"), field_words("cast_piece", "mass_g"), field_words("tile", "uid")
    (('wall', 'mm'), ('mass', 'g'), ('-', ''))
    """
    found = _known().get((table, column)) or _known().get(("*", column))
    if found is not None:
        return found
    for end, unit in _UNITS:
        if column.endswith(end):
            return column.removesuffix(end).replace("_", " "), unit
    return column.removesuffix("_id").replace("_", " "), ""


def differences(
    session: Session, kind: Any, before: Mapping[str, Any] | None, after: Mapping[str, Any] | None
) -> tuple[FieldChange, ...]:
    """Field by field what is another. kind: the table's class. A revision is compared with the one before it."""
    if kind is RevisionTable and after:
        own = tuple(_fields(session, kind, {}, {k: v for k, v in after.items() if k != "document"}))
        return (*own, *_recipe_changes(session, after))
    return tuple(_fields(session, kind, before or {}, after or {}))


@cache
def _columns(kind: Any) -> dict[str, str | None]:
    """The columns of a kind of record, each with the table that it points at."""
    found: dict[str, str | None] = {}
    for attribute in inspect(kind).column_attrs:
        keys = attribute.columns[0].foreign_keys
        found[attribute.key] = next(iter(keys)).column.table.name if keys else None
    return found


@cache
def _kind_named(table: str) -> Any:

    return table_named(table)


def _fields(session: Session, kind: Any, old: Mapping[str, Any], new: Mapping[str, Any]) -> Iterator[FieldChange]:
    table = kind.__tablename__
    columns = _columns(kind)
    for name in dict.fromkeys([*(c for c in columns if c in old or c in new), *old, *new]):
        if old.get(name) == new.get(name):
            continue
        words, unit = field_words(table, name)
        if words == "-":
            continue
        shown = []
        for row in (old, new):
            of = str(row.get("unit", "")) if unit == "unit" else unit
            table_there, value = columns.get(name), row.get(name)
            shown.append(
                show(value, of) if table_there is None or value is None else _pointed(session, table_there, value)
            )
        if shown[0] != shown[1]:
            yield FieldChange(words, *shown)


def _pointed(session: Session, table: str, value: int) -> str:
    """The id of the record that a row points at; a revision by its recipe, which is asked for once."""
    kind = _kind_named(table)
    if kind is not RevisionTable:
        return f"{kind.LETTER}{value}"
    told: dict[int, str] = session.info.setdefault("revisions told", {})
    if value not in told:
        of = select(RevisionTable.recipe_id, RevisionTable.number).where(RevisionTable.id == value)
        row = session.execute(of).first()
        told[value] = f"{kind.LETTER}{value}" if row is None else f"R{row[0]} revision {row[1]}"
    return told[value]


def show(value: Any, unit: str = "") -> str:
    """A stored value as people read it, with its unit; empty where there is none.

    >>> show(3.0, "mm"), show(None), show(True), show(["a", 1.5]), show({"b": 2})
    ('3 mm', '', 'yes', 'a, 1.5', 'b 2')
    """
    if value is None or value == "" or value == []:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float | int):
        return f"{value:.6g} {unit}".strip() if abs(value) < 1e6 else f"{value:,.0f} {unit}".strip()
    if isinstance(value, list):
        words = ", ".join(show(part) for part in value)
        return (f"{words} {unit}".strip() if unit and value and isinstance(value[0], float | int) else words)[:LONGEST]
    if isinstance(value, dict):
        return ", ".join(f"{k.replace('_', ' ')} {show(v)}" for k, v in value.items() if show(v))[:LONGEST]
    words = str(value)
    if len(words) > 18 and words[10:11] == "T" and words[4] == "-":
        words = f"{words[:10]} {words[11:16]} UTC"
    return (f"{words} {unit}".strip() if unit else words)[:LONGEST]


# -- recipes ---------------------------------------------------------------------------------------


def _recipe_changes(session: Session, after: Mapping[str, Any]) -> Iterator[FieldChange]:
    if hides(session, after["recipe_id"], after["number"] - 1):  # what it was before is not for everybody
        return
    before = session.scalar(
        select(RevisionTable.document).where(
            RevisionTable.recipe_id == after["recipe_id"], RevisionTable.number == after["number"] - 1
        )
    )
    yield from recipe_differences(before or {}, after["document"])


def recipe_differences(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[FieldChange]:
    """What one recipe says and another does not, as documents: ingredient by ingredient and step by step."""
    old, new = dict(_flat(before)), dict(_flat(after))
    for words in dict.fromkeys([*old, *new]):
        if old.get(words, "") != new.get(words, ""):
            yield FieldChange(words, old.get(words, ""), new.get(words, ""))


def _flat(document: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, value in document.items():
        if name == "solutions":
            for solution in value:
                yield from _solution(solution)
        elif name == "steps":
            for number, step in enumerate(value, 1):
                for field, said in step.items():
                    words, unit = field_words("step", field)
                    yield f"step {number}, {words}", show(said, unit)
        else:
            words, unit = field_words("recipe", name)
            yield words, show(value, unit)


def _solution(solution: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    name = solution["name"]
    for field, said in solution.items():
        if field == "ingredients":
            for ingredient in said:
                strength = ingredient["strength"]
                words = f"{name}, {ingredient['substance'].replace('_', ' ')}"
                yield words, strength.get("as_written") or json.dumps(strength)
        elif field != "name":
            words, unit = field_words("solution", field)
            yield f"{name}, {words}", show(said, unit)
