"""Old tables brought in: what a file holds and leaves open, a preview of every row, and the keeping of them.

Every row is either in, or listed with its reason. One file is one transaction. A row that was brought in before is
known again by its content and makes nothing twice.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_fields import (
    cell_words,
    field_of,
    guessed_columns,
    guessed_kind,
    means_something,
)
from patina.bench.bringing.bring_questions import questions_of, with_units_of_headings
from patina.bench.bringing.bring_recipes import RecipeMaker, groups_of
from patina.bench.bringing.bring_rows import Known, RowRead, RowReader, reasons
from patina.bench.bringing.bring_store import Keeper
from patina.errors import BadSpreadsheet, Incomplete, PatinaError, Refused
from patina.records.pieces import brought
from patina.records.recipes import recipes
from patina.records.studio.unit import unit
from patina.records.tables import brought as brought_tables
from patina.sheets.bringing import KINDS, BringPlan, BroughtRow, BroughtSheet, MappedColumn, RefusedRow, TableMapping
from patina.spreadsheet.csv_file import ENCODINGS as ENCODINGS
from patina.spreadsheet.reading import read_book
from patina.spreadsheet.table import RowWords, Table, table_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio
    from patina.recipe import Recipe
    from patina.spreadsheet.grid import Book

Progress = Callable[[int, int], None]
SAMPLES = 4


def plan(
    studio: Studio,
    path: Path,
    mapping: TableMapping | None = None,
    *,
    kind: str = "",
    sheet: str = "",
    header_row: int | None = None,
    encoding: str = "",
) -> BringPlan:
    """How a file would be read: by a mapping, or as the words above its columns let one guess; and what it asks.

    kind, sheet, header_row: of a guess; empty and None to find them out. Raises BadSpreadsheet.
    """
    book = read_book(Path(path), encoding)
    if mapping is None:
        if kind and kind not in KINDS:
            raise BadSpreadsheet(f"'{kind}' cannot be brought in.", f"Use one of: {', '.join(KINDS)}.", field="kind")
        mapping = TableMapping(kind, (), sheet=sheet, header_row=header_row)
    table = _table(book, mapping)
    mapping = _whole(studio, table, mapping)
    reader = RowReader(table, mapping, _known(studio))
    asked, missing = questions_of(reader, table, mapping, book.name)
    return BringPlan(
        book.name,
        tuple(g.name for g in book.grids),
        table.sheet,
        table.header_row,
        len(table.rows) + len(table.left_out),
        mapping,
        tuple(_samples(table, n) for n in range(len(table.headings))),
        asked,
        (*table.notes, *(f"Row {r.number} is left out: {r.reason}" for r in table.left_out[:20])),
        missing,
    )


def _table(book: Book, mapping: TableMapping) -> Table:
    grid = book.grids[0] if len(book.grids) == 1 else book.grid(mapping.sheet)
    if not mapping.columns:
        return table_of(grid, row_words(), means_something, mapping.header_row)
    # a mapping knows its own headings, wherever they stand in this file
    own = {part.casefold() for c in mapping.columns for part in (c.heading, c.heading.split(": ")[-1])}
    found = table_of(grid, row_words(), lambda heading: " ".join(heading.split()).casefold() in own)
    if mapping.header_row is None or {h.casefold() for h in found.headings} & own:
        return found
    return table_of(grid, row_words(), means_something, mapping.header_row)


def row_words() -> RowWords:
    """Words that make a row of totals, and marks that stand for the cell above."""
    return RowWords(cell_words()["total"], cell_words()["ditto"])


def _whole(studio: Studio, table: Table, mapping: TableMapping) -> TableMapping:
    """The mapping with a line for each column of the table: its own where it has one, else guessed if it has none."""
    if not mapping.columns:
        names = {n.casefold(): s.name for s in studio.catalogue().substances.values() for n in (s.name, *s.other_names)}
        kind = mapping.kind or guessed_kind(table.headings, names)
        columns = with_units_of_headings(kind, guessed_columns(kind, table.headings, names))
        return replace(mapping, kind=kind, columns=columns)
    known = {c.heading.casefold(): c for c in mapping.columns}
    columns = tuple(replace(known.get(h.casefold(), MappedColumn(h)), heading=h) for h in table.headings)
    return replace(mapping, columns=columns)


def _samples(table: Table, at: int) -> tuple[str, ...]:
    found = (r.cells[at] for r in table.rows if r.cells[at])
    return tuple(dict.fromkeys(text for text, _ in zip(found, range(50), strict=False)))[:SAMPLES]


def _known(studio: Studio) -> Known:
    from patina.bench.pieces.casts import list_masters
    from patina.bench.recipes.finishes import list_recipes

    rows, masters = list_recipes(studio), list_masters(studio)
    with studio.store.view() as session:
        pieces = brought.titles(session)
    return Known(
        studio.catalogue(),
        {w.casefold(): r.revision for r in rows for w in (r.id, r.name)},
        {*pieces, *(id.casefold() for id in pieces.values())},
        {w.casefold() for m in masters for w in (m.id, m.name)},
    )


def bring(
    studio: Studio,
    path: Path,
    mapping: TableMapping,
    *,
    dry_run: bool = False,
    encoding: str = "",
    progress: Progress | None = None,
    by: str = "",
) -> BroughtSheet:
    """Bring the rows of a file in by a mapping. dry_run: do it all, then take it back, to show what would be.

    progress: told (rows done, of how many); what it raises stops the work, and nothing is kept.
    Raises BadSpreadsheet for a file or mapping that does not serve, Refused where questions are open.
    """
    book = read_book(Path(path), encoding)
    table = _table(book, mapping)
    mapping = _whole(studio, table, mapping)
    _serves(table, mapping)
    reader = RowReader(table, mapping, _known(studio))
    work = _Bringing(studio, book, table, mapping, reader, studio.who(by))
    if not dry_run:
        _answered(reader, table, mapping, book.name)
    with unit(studio.store, "bring in", by=work.by, why=f"from {book.name}"[:400]) as transaction:
        sheet = work.all(transaction.session, progress)
        if not dry_run and sheet.brought:
            transaction.commit()
    return replace(sheet, stored=not dry_run)


def _serves(table: Table, mapping: TableMapping) -> None:
    mapped = {c.field for c in mapping.columns if c.field}
    if not mapped:
        raise BadSpreadsheet(
            f"No column of '{table.sheet}' is mapped to a field.", "Say what at least one column means.", field="column"
        )
    for name in mapping.every:
        if field_of(mapping.kind, name) is None:
            raise BadSpreadsheet(f"{mapping.kind} have no field '{name}'.", "Take it out of every_row.", field=name)


def _answered(reader: RowReader, table: Table, mapping: TableMapping, file: str) -> None:
    asked, _ = questions_of(reader, table, mapping, file)
    still = [q for q in asked if not q.answer]
    if still:
        first = f"{still[0].heading}: {still[0].asks}" if still[0].heading else still[0].asks
        raise Refused(
            f"{len(still)} question{'s' * (len(still) > 1)} about {file} {'are' if len(still) > 1 else 'is'} open; "
            f"the first: {first}",
            "Answer each once; 'refuse' leaves such rows out. Nothing was brought in.",
            field=still[0].about,
        )


class _Bringing:
    """One file on its way into the studio."""

    def __init__(
        self, studio: Studio, book: Book, table: Table, mapping: TableMapping, reader: RowReader, by: str
    ) -> None:
        self.studio, self.book, self.table, self.mapping = studio, book, table, mapping
        self.reader, self.by = reader, by
        self.brought: list[BroughtRow] = []
        self.refused = [RefusedRow((r.number,), (r.cells,), r.reason) for r in table.left_out]
        self.seen: dict[str, int] = {}

    def all(self, session: Session, progress: Progress | None) -> BroughtSheet:
        """Every row, kept or refused."""
        read = [self.reader.read(row) for row in self.table.rows]
        total = len(read)
        many = groups_of(read) if self.mapping.kind == "recipes" else [[row] for row in read]
        hashes = {id(rows): self._hash(rows) for rows in many}
        known = brought.known_rows(session, list(hashes.values()))
        done = 0
        make = any(c.answers.get("missing") == "make" for c in self.mapping.columns)
        keeper = Keeper(session, self.studio.catalogue(), self.by, make_pieces=make)
        maker = RecipeMaker(self.reader, self.book.name)
        for rows in many:
            if progress is not None:
                progress(done, total)
            digest = hashes[id(rows)]
            if digest in known:
                self._here(rows, known[digest])
            elif digest in self.seen:
                self._refuse(rows, f"It is the same as row {self.seen[digest]} of this file.")
            else:
                self.seen[digest] = rows[0].number
                self._one(session, keeper, maker, rows, digest)
            done += len(rows)
        if progress is not None:
            progress(total, total)
        return BroughtSheet(
            self.book.name,
            self.mapping.kind,
            total + len(self.table.left_out),
            False,
            self.table.headings,
            tuple(self.brought),
            tuple(sorted(self.refused, key=lambda r: r.rows)),
            self.table.notes,
        )

    def _one(self, session: Session, keeper: Keeper, maker: RecipeMaker, rows: list[RowRead], digest: str) -> None:
        headings = {name: found[0][0] for row in rows for name, found in row.values.items()}
        try:
            if self.mapping.kind == "recipes":
                recipe, notes = maker.recipe(rows)
                made = self._recipe(session, recipe)
                shown = tuple(_recipe_values(recipe, self.studio))
                row = BroughtRow(tuple(r.number for r in rows), made, recipe.name, shown, tuple(notes))
            else:
                one = rows[0]
                if one.troubles:
                    raise Incomplete(one.troubles)
                made, name, fields = keeper.keep(self.mapping.kind, one)
                shown = tuple(self._labelled(fields))
                row = BroughtRow((one.number,), made, name, shown, tuple(one.notes))
        except Incomplete as trouble:
            self._refuse(rows, reasons(list(trouble.troubles), headings))
            return
        except _AlreadyThere as trouble:
            self._refuse(rows, trouble.what, here=True)
            return
        except PatinaError as trouble:
            self._refuse(rows, reasons([trouble], headings))
            return
        session.add(
            brought_tables.BroughtRow(
                row_sha256=digest,
                kind=self.mapping.kind,
                file_name=self.book.name[:400],
                file_sha256=self.book.sha256,
                sheet=self.table.sheet[:200],
                row_number=rows[0].number,
                record=made,
            )
        )
        self.brought.append(row)

    def _recipe(self, session: Session, recipe: Recipe) -> str:
        """Keep a recipe as a new one, a draft like any that is typed."""
        from patina.bench.recipes.finishes import _sound, _words

        _sound(self.studio, recipe)
        there = recipes.named(session, recipe.name)
        if there is not None and recipes.recipe_sheet(session, there).recipe == recipe:
            raise _AlreadyThere(f"It is here already word for word ({there.public_id}).", "")
        reason = f"brought in from {self.book.name}"[:400]
        made = recipes.add_recipe(session, recipe, by=self.by, reason=reason, words=_words(self.studio, recipe))
        return made.public_id

    def _labelled(self, fields: dict[str, str]) -> Iterator[tuple[str, str]]:
        for name, text in fields.items():
            found = field_of(self.mapping.kind, name)
            yield (found.label if found else name), text

    def _here(self, rows: list[RowRead], was: brought_tables.BroughtRow) -> None:
        where = f"{was.file_name}, row {was.row_number}"
        self._refuse(rows, f"It was brought in before, from {where}, as {was.record}.", here=True)

    def _refuse(self, rows: list[RowRead], reason: str, *, here: bool = False) -> None:
        numbers, cells = tuple(r.number for r in rows), tuple(r.cells for r in rows)
        self.refused.append(RefusedRow(numbers, cells, reason, here))

    def _hash(self, rows: list[RowRead]) -> str:
        """Of the kind and of what stands in the mapped columns: a list of refused rows, mended, is another content."""
        at = [(n, c.heading.casefold()) for n, c in enumerate(self.mapping.columns) if c.field]
        said = [[[heading, r.cells[n]] for n, heading in sorted(at, key=lambda x: x[1]) if r.cells[n]] for r in rows]
        return hashlib.sha256(json.dumps([self.mapping.kind, said], ensure_ascii=False).encode()).hexdigest()


class _AlreadyThere(Refused):
    """A recipe that is in the studio word for word."""


def _recipe_values(recipe: Recipe, studio: Studio) -> Iterator[tuple[str, str]]:
    known = studio.catalogue()
    yield "look", recipe.finish
    yield "alloys", ", ".join(recipe.alloys)
    for solution in recipe.solutions:
        parts = ", ".join(f"{known.get(i.substance).name} {i.strength.as_written}" for i in solution.ingredients)
        yield solution.name, f"{parts}; {solution.volume_is} volume with {known.get(solution.solvent).name}"
    for n, step in enumerate(recipe.steps, 1):
        bits = [step.do, step.solution or "", step.method or "", f"{step.passes} passes" if step.passes > 1 else ""]
        if step.surface_temperature_c:
            low, high = step.surface_temperature_c
            bits.append(f"{low:.0f} to {high:.0f} °C")
        yield f"step {n}", ", ".join(b for b in (*bits, step.note) if b)
