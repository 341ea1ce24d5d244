"""What a table leaves open, gathered over all its rows: asked once for a column, or once for the file."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_cells import Asked
from patina.bench.bringing.bring_fields import CHOICES, answers_of, field_of, fields_of, unit_in
from patina.bench.bringing.bring_recipes import RecipeMaker, groups_of
from patina.bench.bringing.bring_rows import RowReader
from patina.errors import PatinaError
from patina.sheets.bringing import BringQuestion, MappedColumn, TableMapping

if TYPE_CHECKING:
    from patina.spreadsheet.table import Table

MOST_QUESTIONS = 60
_SOLVENTS = ("distilled water", "water", "ethanol", "isopropanol")


def with_units_of_headings(kind: str, columns: Iterable[MappedColumn]) -> tuple[MappedColumn, ...]:
    """Columns whose heading names a unit, with that unit as the answer for figures that have none."""
    made = []
    for column in columns:
        row = field_of(kind, column.field) if column.field else None
        options = [o for about, _, found in answers_of(row.reads) if about == "unit" for o in found] if row else []
        unit = unit_in(column.heading, options)
        made.append(replace(column, answers={**column.answers, "unit": unit}) if unit else column)
    return tuple(made)


def questions_of(
    reader: RowReader, table: Table, mapping: TableMapping, file: str
) -> tuple[tuple[BringQuestion, ...], tuple[str, ...]]:
    """Everything asked by the rows, answered or open, and labels of needed fields that nothing fills."""
    rows = [reader.read(row) for row in table.rows]
    if mapping.kind == "recipes":
        maker = RecipeMaker(reader, file)
        for group in groups_of(rows):
            try:
                maker.recipe(group)
            except PatinaError:
                continue  # what is asked is remembered by the column; the rest is said in the preview
    asked = [
        _question(mapped.heading, question, mapped.answers.get(question.about, ""))
        for _, mapped, _, column in reader.columns
        for question in column.asked.values()
    ]
    every, missing = _of_every_row(mapping)
    return (*every, *asked[:MOST_QUESTIONS]), missing


def _question(heading: str, asked: Asked, answer: str) -> BringQuestion:
    known = answer if answer and (asked.free or answer in [o for o, _ in asked.options]) else ""
    return BringQuestion(heading, asked.about, asked.asks, tuple(asked.cells), asked.options, known, asked.free)


def _of_every_row(mapping: TableMapping) -> tuple[tuple[BringQuestion, ...], tuple[str, ...]]:
    """Fields that a record needs and no column fills: said once for every row."""
    mapped = {c.field for c in mapping.columns}
    wanted = {f.name for f in fields_of(mapping.kind) if f.needed} - mapped
    if mapping.kind == "recipes" and mapped & {"strength", "ingredients"}:
        wanted |= {"solvent", "volume_is"} - mapped
    if mapping.kind == "readings" and not mapped & {"tile", "cast"}:
        wanted.add("tile")
    if mapping.kind == "lots" and "price" in mapped:
        wanted |= {"currency"} - mapped
    asked, missing = [], []
    for row in fields_of(mapping.kind):
        if row.name not in wanted and row.name not in mapping.every:
            continue
        if row.name in ("name", "engraved", "L", "a", "b", "did", "title", "substance", "amount"):
            if row.name in wanted:
                missing.append(row.label)
            continue
        choices = _SOLVENTS if row.name == "solvent" else CHOICES.get((mapping.kind, row.name), ())
        asks = f"No column says it: {row.label}, for every row?"
        options = tuple((c, c) for c in choices)
        answer = mapping.every.get(row.name, "")
        asked.append(
            BringQuestion("", row.name, asks, (), options, answer, free=not CHOICES.get((mapping.kind, row.name)))
        )
    return tuple(asked), tuple(missing)


def answered(mapping: TableMapping, heading: str, about: str, answer: str) -> TableMapping:
    """The mapping with one question answered; an empty answer opens it again."""
    if not heading:
        every = {k: v for k, v in mapping.every.items() if k != about}
        return replace(mapping, every={**every, about: answer} if answer else every)
    columns = []
    for column in mapping.columns:
        if column.heading == heading:
            answers = {k: v for k, v in column.answers.items() if k != about}
            column = replace(column, answers={**answers, about: answer} if answer else answers)
        columns.append(column)
    return replace(mapping, columns=tuple(columns))


def remapped(mapping: TableMapping, heading: str, field: str, substance: str = "") -> TableMapping:
    """The mapping with another field for a column; what was answered for the old field is dropped."""
    columns = [
        MappedColumn(heading, field, substance)
        if c.heading == heading and (c.field, c.substance) != (field, substance)
        else c
        for c in mapping.columns
    ]
    units = with_units_of_headings(mapping.kind, columns)
    return replace(
        mapping, columns=tuple(u if c.heading == heading else c for c, u in zip(columns, units, strict=True))
    )
