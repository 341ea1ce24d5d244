"""A sheet as text cells, the limits it is held to, and cells that no spreadsheet takes for formulas.

Source: [CSV_FORMULA]
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from patina.errors import BadSpreadsheet

LARGEST_FILE_BYTES = 20_000_000
MOST_ROWS = 100_000
MOST_COLUMNS = 300
MOST_CELLS = 1_000_000
LONGEST_CELL = 32_767  # what a cell of a spreadsheet holds

_FORMULA = r"'*\s*[=+\-@\t\r\n＝＋－＠]"


@dataclass(frozen=True, slots=True)
class GridRow:
    """One row. number: as the spreadsheet counts it, from 1. cells: trimmed text, empty where nothing stands."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet. rows: those that hold something. merged: first row, first column, last row, last column of each
    merged area, counted from 1 and 0. notes: what a person should know of the reading, a sentence each."""

    name: str
    rows: tuple[GridRow, ...]
    merged: tuple[tuple[int, int, int, int], ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Book:
    """A file of one or more sheets. sha256: of its bytes."""

    name: str
    sha256: str
    grids: tuple[Grid, ...]

    def grid(self, name: str = "") -> Grid:
        """The sheet of that name (case does not matter); without a name the first that holds something.

        Raises BadSpreadsheet naming the sheets there are.
        """
        if not name:
            return next((g for g in self.grids if g.rows), self.grids[0])
        for grid in self.grids:
            if grid.name.casefold() == name.casefold():
                return grid
        known = ", ".join(f"'{g.name}'" for g in self.grids)
        raise BadSpreadsheet(f"{self.name} has no sheet '{name}'.", f"Its sheets: {known}.", field="sheet")


class Counter:
    """Counts what is read of a sheet, and refuses what is more than a record of a studio can be."""

    def __init__(self, name: str) -> None:
        self.name, self.rows, self.cells = name, 0, 0

    def row(self, cells: int) -> None:
        """One more row of that many cells. Raises BadSpreadsheet."""
        self.rows += 1
        self.cells += cells
        if self.rows > MOST_ROWS or self.cells > MOST_CELLS or cells > MOST_COLUMNS:
            raise BadSpreadsheet(
                f"{self.name} holds more than {MOST_ROWS:,} rows, {MOST_COLUMNS} columns or {MOST_CELLS:,} cells.",
                "Divide it into smaller files, or delete what is not to be brought in.",
            )


def cell_text(text: str) -> str:
    """A cell as it is kept: without blanks around it, one kind of line end, no longer than a cell can be."""
    return text.replace("\r\n", "\n").replace("\r", "\n").replace("\N{NO-BREAK SPACE}", " ").strip()[:LONGEST_CELL]


def neutral(text: str) -> str:
    """A cell that a spreadsheet shows as it is written: an apostrophe stands before what would be a formula.

    >>> neutral("=1+1"), neutral("'=1+1"), neutral("5 g/L")
    ("'=1+1", "''=1+1", '5 g/L')
    """
    return f"'{text}" if re.match(_FORMULA, text) else text


def plain(text: str) -> str:
    """The opposite of ``neutral``: its apostrophe is taken away again, no other.

    >>> plain("'=1+1"), plain("''=1+1"), plain("'tis")
    ('=1+1', "'=1+1", "'tis")
    """
    return text[1:] if text.startswith("'") and re.match(_FORMULA, text) else text
