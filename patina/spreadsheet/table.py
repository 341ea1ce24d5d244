"""The table within a sheet: which row names the columns, headings over several columns, rows that are none.

People put titles above a table, merge headings, leave columns empty, write ditto marks and add rows of totals. What
is done about each is said in the table's notes, and every row that is left out is listed with its reason.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, field

from patina.errors import BadSpreadsheet
from patina.spreadsheet.grid import Grid, GridRow

SEARCHED_ROWS = 25
REASON = "reason"  # the column that a list of refused rows carries; it is no part of the table


@dataclass(frozen=True, slots=True)
class TableRow:
    """One row under the headings. number: as the spreadsheet counts it. cells: as many as there are headings."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A row that is no record. number: as the spreadsheet counts it."""

    number: int
    cells: tuple[str, ...]
    reason: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table as it can be brought in. header_row: number of the row that names the columns."""

    sheet: str
    header_row: int
    headings: tuple[str, ...]
    rows: tuple[TableRow, ...]
    left_out: tuple[LeftOut, ...] = ()
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class RowWords:
    """Words of common practice. totals: what begins a row of totals. dittos: what stands for the cell above."""

    totals: Collection[str]
    dittos: Collection[str]


def table_of(grid: Grid, words: RowWords, known: Callable[[str], bool], header_row: int | None = None) -> Table:
    """The table of a sheet. known: whether a heading means something. header_row: its number, None to find it.

    Raises BadSpreadsheet where no row can be one of headings.
    """
    at = _header_at(grid, known, header_row)
    header = grid.rows[at]
    width = max(len(r.cells) for r in grid.rows[at:])
    names = _under_groups(grid, at, width)
    kept = [
        n
        for n in range(width)
        if (names[n] or any(n < len(r.cells) and r.cells[n] for r in grid.rows[at + 1 :]))
        and names[n].casefold() != REASON
    ]
    notes = list(grid.notes)
    unnamed = [n for n in kept if not names[n]]
    if unnamed:
        notes.append(_unnamed(unnamed))
    headings = _one_name_each([names[n] or f"column {letter(n)}" for n in kept])
    rows, left_out = _rows(grid, at, kept, words, notes)
    if at:
        notes.append(f"Row {header.number} was taken for the headings; {_count(at, 'row')} left out above it.")
    return Table(grid.name, header.number, headings, tuple(rows), tuple(left_out), tuple(notes))


def _header_at(grid: Grid, known: Callable[[str], bool], wanted: int | None) -> int:
    """Where in the rows the headings stand: the row with most known words, else the first of several cells."""
    if not grid.rows:
        raise BadSpreadsheet(f"Sheet '{grid.name}' is empty.", "Choose another sheet.", field="sheet")
    if wanted is not None:
        for at, row in enumerate(grid.rows):
            if row.number == wanted:
                return at
        raise BadSpreadsheet(
            f"Row {wanted} of '{grid.name}' holds nothing.", "Name the row of the headings.", field="header_row"
        )
    start = grid.rows[:SEARCHED_ROWS]
    scores = [(sum(1 for c in r.cells if c and known(c)), -at) for at, r in enumerate(start)]
    best, at = max(scores)
    if best:
        return -at
    first = next((at for at, r in enumerate(start) if sum(bool(c) for c in r.cells) > 1), None)
    return 0 if first is None else first


def _under_groups(grid: Grid, at: int, width: int) -> list[str]:
    """The headings, each with the merged heading that stands over it: "Ferric nitrate: g/L"."""
    header = grid.rows[at]
    names = [_one_line(header.cells[n]) if n < len(header.cells) else "" for n in range(width)]
    for top, left, bottom, right in grid.merged:
        if bottom == header.number - 1 or (top <= header.number <= bottom):
            above = next((r for r in grid.rows if r.number == top), None)
            word = _one_line(above.cells[left]) if above is not None and left < len(above.cells) else ""
            if not word or right - left + 1 >= width > 1:  # a title over the whole table
                continue
            for n in range(left, min(right + 1, width)):
                if bottom >= header.number:
                    names[n] = names[n] or word
                elif names[n]:
                    names[n] = f"{word}: {names[n]}"
                else:
                    names[n] = word
    return names


def _rows(
    grid: Grid, at: int, kept: list[int], words: RowWords, notes: list[str]
) -> tuple[list[TableRow], list[LeftOut]]:
    header = tuple(c.casefold() for c in grid.rows[at].cells)
    totals = {w.casefold() for w in words.totals}
    dittos = {w.casefold() for w in words.dittos}
    rows: list[TableRow] = []
    left_out: list[LeftOut] = []
    before: tuple[str, ...] = ("",) * len(kept)
    filled = 0
    spread = _spread_down(grid, at)
    for row in grid.rows[at + 1 :]:
        whole = _with_merged(row, spread)
        cells = tuple(whole[n] if n < len(whole) else "" for n in kept)
        first = next((c for c in cells if c), "")
        if not first:
            continue
        if tuple(c.casefold() for c in row.cells) == header:
            left_out.append(LeftOut(row.number, cells, "It repeats the headings."))
            continue
        if re.sub(r"[\s:=.]+$", "", first).casefold() in totals:
            left_out.append(LeftOut(row.number, cells, f"'{first}': a row of totals is no record."))
            continue
        made = tuple(b if c.casefold() in dittos and b else c for c, b in zip(cells, before, strict=True))
        made = tuple(c[1:] if _meant_as_written(c, dittos | totals) else c for c in made)
        filled += sum(c.casefold() in dittos and bool(b) for c, b in zip(cells, before, strict=True))
        before = made
        rows.append(TableRow(row.number, made))
    if filled:
        notes.append(_count(filled, "ditto mark") + " read as the cell above.")
    return rows, left_out


def _meant_as_written(cell: str, words: Collection[str]) -> bool:
    return cell.startswith("'") and cell.lstrip("'").casefold() in words


def as_written(cell: str, words: RowWords) -> str:
    """A cell that is to be read back as it is, though it is a word for a ditto or a total: an apostrophe before it."""
    known = {w.casefold() for w in (*words.totals, *words.dittos)}
    return f"'{cell}" if cell.lstrip("'").casefold() in known else cell


def _spread_down(grid: Grid, at: int) -> dict[int, list[tuple[int, str]]]:
    """For each row under the headings the cells that belong to an area merged downward: column and text."""
    by_number = {r.number: r for r in grid.rows}
    last = grid.rows[-1].number
    spread: dict[int, list[tuple[int, str]]] = {}
    for top, left, bottom, right in grid.merged:
        above = by_number.get(top)
        if left != right or bottom == top or top <= grid.rows[at].number or above is None or left >= len(above.cells):
            continue
        for number in range(top + 1, min(bottom, last) + 1):
            if number in by_number:
                spread.setdefault(number, []).append((left, above.cells[left]))
    return spread


def _with_merged(row: GridRow, spread: dict[int, list[tuple[int, str]]]) -> tuple[str, ...]:
    more = spread.get(row.number)
    if not more:
        return row.cells
    cells = list(row.cells)
    for column, text in more:
        cells.extend([""] * (column + 1 - len(cells)))
        cells[column] = cells[column] or text
    return tuple(cells)


def _one_name_each(names: list[str]) -> tuple[str, ...]:
    """Headings that stand there twice get a number: "g/L", "g/L (2)"."""
    seen: dict[str, int] = {}
    made = []
    for name in names:
        at = seen.get(name.casefold(), 0) + 1
        seen[name.casefold()] = at
        candidate = name if at == 1 else f"{name} ({at})"
        while at > 1 and candidate.casefold() in seen:
            at += 1
            candidate = f"{name} ({at})"
        seen.setdefault(candidate.casefold(), 1)
        made.append(candidate)
    return tuple(made)


def _one_line(text: str) -> str:
    return " ".join(text.split())[:200]


def _count(number: int, thing: str) -> str:
    return f"1 {thing} was" if number == 1 else f"{number} {thing}s were"


def _unnamed(numbers: list[int]) -> str:
    letters = ", ".join(letter(n) for n in numbers[:8])
    if len(numbers) == 1:
        return f"Column {letters} has no heading and is called by its letter."
    return f"Columns {letters} have no heading and are called by their letters."


def letter(n: int) -> str:
    """The letter of a column, counted from 0.

    >>> letter(0), letter(27)
    ('A', 'AB')
    """
    made = ""
    n += 1
    while n:
        n, rest = divmod(n - 1, 26)
        made = chr(65 + rest) + made
    return made
