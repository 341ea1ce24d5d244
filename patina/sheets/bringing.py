"""What is shown of an old table while it is brought in: its mapping, what it asks, and what came of each row."""

from __future__ import annotations

from collections.abc import Mapping as MappingOf
from dataclasses import dataclass
from dataclasses import field as _field
from typing import Any

KINDS = ("recipes", "tiles", "readings", "lots", "pieces", "casts", "treatments")


@dataclass(frozen=True, slots=True)
class FieldRow:
    """A field that a column can fill. reads: how its cells are read ("length", "day", "strength", ...)."""

    kind: str
    name: str
    label: str
    reads: str
    needed: bool


@dataclass(frozen=True, slots=True)
class MappedColumn:
    """What one column of the file means. field: empty where it is left out. substance: of a column of strengths
    that is named after its substance. answers: what was said once for the whole column, by what was asked."""

    heading: str
    field: str = ""
    substance: str = ""
    answers: MappingOf[str, str] = _field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class TableMapping:
    """How a table becomes records. every: values for every row that names none, by field. sheet, header_row: where
    the table is in the file; empty and None for wherever it is found."""

    kind: str
    columns: tuple[MappedColumn, ...]
    every: MappingOf[str, str] = _field(default_factory=dict)
    name: str = ""
    sheet: str = ""
    header_row: int | None = None


@dataclass(frozen=True, slots=True)
class BringQuestion:
    """Something the file leaves open. heading: of the column, empty where it is about every row. about: what is
    asked, as the mapping keeps the answer. cells: examples with their rows. options: answer and what it makes of the
    first example. free: another answer may be typed. answer: what was said, empty while it is open."""

    heading: str
    about: str
    asks: str
    cells: tuple[str, ...]
    options: tuple[tuple[str, str], ...]
    answer: str = ""
    free: bool = False

    def as_json(self) -> dict[str, Any]:
        """As ``patina bring --json`` prints it."""
        return {
            "column": self.heading or None,
            "about": self.about,
            "asks": self.asks,
            "cells": list(self.cells),
            "options": [{"answer": a, "reads": r} for a, r in self.options],
            "answer": self.answer or None,
        }


@dataclass(frozen=True, slots=True)
class BringPlan:
    """A table and how it would be read. samples: the first cells of each column. notes: what was done to the table."""

    file: str
    sheets: tuple[str, ...]
    sheet: str
    header_row: int
    rows: int
    mapping: TableMapping
    samples: tuple[tuple[str, ...], ...]
    questions: tuple[BringQuestion, ...]
    notes: tuple[str, ...]
    missing: tuple[str, ...] = ()

    @property
    def open(self) -> tuple[BringQuestion, ...]:
        """What is still to be answered."""
        return tuple(q for q in self.questions if not q.answer)

    def as_json(self) -> dict[str, Any]:
        """As ``patina bring --json`` prints it."""
        return {
            "file": self.file,
            "sheets": list(self.sheets),
            "sheet": self.sheet,
            "header_row": self.header_row,
            "rows": self.rows,
            "kind": self.mapping.kind,
            "columns": [
                {"heading": c.heading, "field": c.field or None, "substance": c.substance or None, "cells": list(s)}
                for c, s in zip(self.mapping.columns, self.samples, strict=True)
            ],
            "every_row": dict(self.mapping.every),
            "questions": [q.as_json() for q in self.questions],
            "missing": list(self.missing),
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class BroughtRow:
    """A record that was, or would be, made. rows: numbers of the file's rows it comes from. record: its id, empty
    in a preview. values: label and text of what is stored. notes: what a person should look at."""

    rows: tuple[int, ...]
    record: str
    name: str
    values: tuple[tuple[str, str], ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """Rows that were not taken. cells: as the file has them. here: they are in the studio already."""

    rows: tuple[int, ...]
    cells: tuple[tuple[str, ...], ...]
    reason: str
    here: bool = False


@dataclass(frozen=True, slots=True)
class BroughtSheet:
    """What came of a table: every row is in ``brought`` or in ``refused``. stored: False in a preview."""

    file: str
    kind: str
    rows: int
    stored: bool
    headings: tuple[str, ...]
    brought: tuple[BroughtRow, ...]
    refused: tuple[RefusedRow, ...]
    notes: tuple[str, ...] = ()

    @property
    def here_already(self) -> int:
        """How many rows are in the studio already."""
        return sum(len(r.rows) for r in self.refused if r.here)

    @property
    def in_words(self) -> str:
        """The result in a sentence."""
        verb = "brought in" if self.stored else "would be brought in"
        taken = sum(len(r.rows) for r in self.brought)
        left = sum(len(r.rows) for r in self.refused)
        made = f"{len(self.brought)} {self.kind if len(self.brought) != 1 else self.kind.removesuffix('s')}"
        words = f"{taken} of {self.rows} rows {verb} as {made}"
        if left:
            words += f", {left} not"
        if self.here_already:
            words += f" ({self.here_already} of them are here already)"
        return words + "."

    def as_json(self) -> dict[str, Any]:
        """As ``patina bring --json`` prints it."""
        return {
            "file": self.file,
            "kind": self.kind,
            "rows": self.rows,
            "stored": self.stored,
            "brought": [
                {
                    "rows": list(b.rows),
                    "id": b.record or None,
                    "name": b.name,
                    "values": dict(b.values),
                    "notes": list(b.notes),
                }
                for b in self.brought
            ],
            "refused": [
                {"rows": list(r.rows), "cells": [list(c) for c in r.cells], "reason": r.reason, "here_already": r.here}
                for r in self.refused
            ],
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class PictureRow:
    """An old photograph. target: id of the tile or cast, empty where none was found. how: "placard" or "file name".
    taken: the camera's own date, or empty. measurable: a chart was found in it. reason: why it was not taken, or "".
    """

    file: str
    target: str
    how: str
    taken: str
    measurable: bool | None
    state: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class PicturesSheet:
    """What came of a folder of old photographs. stored: False in a preview."""

    folder: str
    pattern: str
    stored: bool
    pictures: tuple[PictureRow, ...]

    @property
    def taken(self) -> tuple[PictureRow, ...]:
        """Those that were, or would be, put with a record."""
        return tuple(p for p in self.pictures if not p.reason)

    @property
    def left(self) -> tuple[PictureRow, ...]:
        """Those that were not, each with its reason."""
        return tuple(p for p in self.pictures if p.reason)

    def as_json(self) -> dict[str, Any]:
        """As ``patina bring-photographs --json`` prints it."""
        return {
            "folder": self.folder,
            "pattern": self.pattern,
            "stored": self.stored,
            "photographs": [
                {
                    "file": p.file,
                    "record": p.target or None,
                    "how": p.how or None,
                    "taken": p.taken or None,
                    "measurable": p.measurable,
                    "state": p.state or None,
                    "reason": p.reason or None,
                }
                for p in self.pictures
            ],
        }
