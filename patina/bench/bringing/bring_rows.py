"""The rows of a table by a mapping: what each says by field, what is asked, and what cannot be read."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_cells import FIGURES, QUANTITIES, Ask, Cell, Column, read_cell
from patina.bench.bringing.bring_fields import CHOICES, SEVERAL, field_of
from patina.errors import BadQuantity, PatinaError, UnknownSubstance
from patina.sheets.bringing import FieldRow, MappedColumn, TableMapping

if TYPE_CHECKING:
    from patina.chemistry.substances import Catalogue
    from patina.spreadsheet.table import Table, TableRow

# cells whose words can go into the note where they cannot be read; a strength cannot: the solution would lack a part
MAY_BE_WORDS = (*(q for q in QUANTITIES if q != "strength"), *FIGURES, "day", "moment")

_OR_NOTE = (("refuse", "rows that name it are not brought in"), ("note", "what stands there is kept in the note"))


@dataclass(frozen=True, slots=True)
class Known:
    """What cells may name: substances; recipes of the studio, each with the number of its
    revisions, pieces and agreed finishes, by name and id in small letters."""

    catalogue: Catalogue
    recipes: Mapping[str, int]
    pieces: Collection[str] = ()
    masters: Collection[str] = ()


@dataclass
class RowRead:
    """One row. values: by field, with the field's heading, in the order of columns; of the fields that several
    columns may fill every one. notes: what cells said besides. troubles: what cannot be read, with its column."""

    number: int
    cells: tuple[str, ...]
    values: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    ordered: list[tuple[MappedColumn, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    troubles: list[PatinaError] = field(default_factory=list)

    def text(self, name: str) -> str:
        """What a field says, put together where several columns fill it; empty where none does."""
        found = self.values.get(name, [])
        if len(found) == 1:
            return found[0][1]
        return "; ".join(f"{heading}: {text}" for heading, text in found)

    def heading(self, name: str) -> str:
        """The heading of the column that fills a field."""
        found = self.values.get(name, [])
        return found[0][0] if found else name


class RowReader:
    """Reads the rows of one table by one mapping; remembers what was asked, by column."""

    def __init__(self, table: Table, mapping: TableMapping, known: Known):
        self.kind, self.known, self.every = mapping.kind, known, mapping.every
        by_heading = {c.heading: c for c in mapping.columns}
        self.columns: list[tuple[int, MappedColumn, FieldRow, Column]] = []
        for at, heading in enumerate(table.headings):
            mapped = by_heading.get(heading)
            row = None if mapped is None or not mapped.field else field_of(mapping.kind, mapped.field)
            if mapped is None or row is None:
                continue
            comma = any(re.search(r"\d,\d{1,2}(?!\d)|\d,\d{4}", r.cells[at]) for r in table.rows[:2000])
            choices = CHOICES.get((mapping.kind, row.name), ())
            self.columns.append((at, mapped, row, Column(heading, row.reads, mapped.answers, choices, comma)))

    def read(self, row: TableRow) -> RowRead:
        """What a row says."""
        made = RowRead(row.number, row.cells)
        unit = next((row.cells[at] for at, _, field_row, _ in self.columns if field_row.name == "amount_unit"), "")
        for at, mapped, field_row, column in self.columns:
            written = row.cells[at]
            if not written:
                continue
            if field_row.name == "amount" and unit and re.fullmatch(r"[\d.,\s½¼¾/]+", written):
                written = f"{written} {unit}"
            try:
                cell = self._cell_or_note(column, field_row, written, made)
            except PatinaError as trouble:
                trouble.field = mapped.heading
                made.troubles.append(trouble)
                continue
            if not cell.text:
                continue
            made.notes += [f"{mapped.heading}: {note}" for note in cell.notes]
            if field_row.name in made.values and field_row.name not in SEVERAL:
                made.troubles.append(
                    BadQuantity("Two columns fill the same field.", "Leave one of them out.", field=mapped.heading)
                )
                continue
            made.values.setdefault(field_row.name, []).append((mapped.heading, cell.text))
            made.ordered.append((mapped, cell.text))
        for name, text in self.every.items():
            if name not in made.values and text and field_of(self.kind, name) is not None:
                made.values[name] = [("every row", text)]
        if self.kind in ("tiles", "treatments"):
            self._no_such_revision(made)
        return made

    def _cell_or_note(self, column: Column, row: FieldRow, written: str, made: RowRead) -> Cell:
        """A cell; where it cannot be read and the record can do without, its words for the note, if that was said."""
        try:
            return self._cell(column, row, written, made)
        except Ask:
            raise
        except BadQuantity as trouble:
            if row.needed or row.reads not in MAY_BE_WORDS:
                raise
            options = [("refuse", "its row is not brought in"), ("note", "its words are kept in the note")]
            column.need("unreadable", f"It cannot be read: {trouble.what}", written, options)
        made.notes.append(f"{column.heading}: {written}")
        return Cell("")

    def _cell(self, column: Column, row: FieldRow, written: str, made: RowRead) -> Cell:
        if row.reads == "substance":
            return Cell(self.substance(column, written))
        if row.reads in ("recipe", "master") and self._missing(column, row.reads, written):
            made.notes.append(f"{column.heading}: {written}")
            return Cell("")
        if row.reads == "piece" and written.casefold() not in self.known.pieces:
            options = [("refuse", "rows that name it are not brought in"), ("make", "it is put on record as well")]
            column.need("missing", "There is no piece of this title.", written, options)
        if row.reads in ("list", "lines"):
            parts = re.split(r"\s*[;\n]\s*", written)
            if row.reads == "list" and ";" not in written:
                parts = [p for part in parts for p in re.split(r"\s*,\s+", part)]
            return Cell("\n".join(p for p in parts if p))
        return read_cell(column, written)

    def substance(self, column: Column, written: str) -> str:
        """The catalogue's key of a substance; a name it does not know is asked about once. Raises Ask."""
        try:
            return self.known.catalogue.find(written).key
        except UnknownSubstance as trouble:
            options = [(near, near) for near in trouble.near[:6]]
            asks = f"'{written}' is not known here by this name. Which substance is it?"
            answer = column.need(f"value {written.casefold()}"[:80], asks, written, options, free=True)
            return self.known.catalogue.find(answer).key

    def _missing(self, column: Column, reads: str, written: str) -> bool:
        """Whether a recipe or an agreed finish is not in the studio and its name shall go into the note."""
        known: Collection[str] = self.known.recipes if reads == "recipe" else self.known.masters
        if written.casefold() in known:
            return False
        what = "recipe" if reads == "recipe" else "agreed finish"
        return column.need("missing", f"There is no {what} of this name in the studio.", written, _OR_NOTE) == "note"

    def _no_such_revision(self, made: RowRead) -> None:
        """A revision that the studio does not hold: with its recipe it goes into the note, if that was said."""
        recipe, revision = made.text("recipe"), made.text("revision")
        if not recipe or not revision or int(revision) <= self.known.recipes.get(recipe.casefold(), 0):
            return
        column = next((c for _, _, row, c in self.columns if row.name == "revision"), None)
        if column is None:
            return
        try:
            column.need("missing", "The recipe has no such revision here.", f"{recipe}, {revision}", _OR_NOTE)
        except BadQuantity as trouble:
            made.troubles.append(trouble)
            return
        made.notes.append(f"made by '{recipe}', revision {revision}")
        del made.values["recipe"], made.values["revision"]


def reasons(troubles: list[PatinaError], headings: Mapping[str, str] | None = None) -> str:
    """What is wrong with a row in one line, each with its column."""
    said = []
    for trouble in troubles:
        name = (headings or {}).get(trouble.field or "", trouble.field or "")
        said.append((f"{name}: " if name else "") + trouble.what + " " + trouble.remedy)
    return " ".join(" ".join(dict.fromkeys(said)).split())
