"""Reading the program's own data files: CSV with a header, refused by row and column when malformed."""

from __future__ import annotations

import csv
from collections.abc import Callable, Mapping
from importlib.resources import files
from pathlib import Path
from typing import Any

from patina.errors import BadData

Parser = Callable[[str], Any]


def text(cell: str) -> str:
    """A cell that must not be empty."""
    if not cell:
        raise ValueError("is empty")
    return cell


def any_text(cell: str) -> str:
    """A cell that may be empty, as it stands."""
    return cell


def one_of(*allowed: str) -> Parser:
    """A parser for cells that hold one of some words.

    >>> one_of("cast", "sheet")("plate")
    Traceback (most recent call last):
    ValueError: 'plate' is not one of cast, sheet
    """

    def parse(cell: str) -> str:
        if cell not in allowed:
            raise ValueError(f"'{cell}' is not one of {', '.join(a or 'empty' for a in allowed)}")
        return cell

    return parse


def yes_or_no(cell: str) -> bool:
    """True for yes, False for no; nothing else is taken."""
    return bool(one_of("yes", "no")(cell) == "yes")


def number(cell: str) -> float:
    """A finite decimal number with a full stop."""
    value = float(cell)
    if value != value or value in (float("inf"), float("-inf")):
        raise ValueError(f"'{cell}' is not a finite number")
    return value


def optional_number(cell: str) -> float | None:
    """A number, or None where the cell is empty (unknown, not zero)."""
    return number(cell) if cell else None


def words(cell: str) -> tuple[str, ...]:
    """A list in one cell, parted by semicolons."""
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def data_path(name: str) -> Path:
    """Where a data file of the package lies."""
    return Path(str(files("patina").joinpath("data", name)))


def read_table(source: str | Path, columns: Mapping[str, Parser]) -> list[dict[str, Any]]:
    """Rows of a CSV file, each cell parsed by its column's parser.

    source: a name in ``patina/data`` or a path. Lines that start with ``#`` and blank lines are
    left out; row numbers in messages are line numbers of the file.
    Raises BadData naming file, row and column for a missing or unknown column, a row that is too
    long or short, and a cell that its parser refuses (ValueError).
    """
    path = Path(source) if isinstance(source, Path) else data_path(source)
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except (OSError, UnicodeDecodeError) as trouble:
        raise BadData(
            f"{path.name} cannot be read: {trouble}.", "Install the program again, or mend the file."
        ) from trouble
    kept = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and not line.startswith("#")]
    if not kept:
        raise BadData(f"{path.name} is empty.", "Install the program again, or mend the file.")
    header = [h.strip() for h in next(csv.reader([kept[0][1]]))]
    for missing in columns.keys() - set(header):
        raise BadData(f"{path.name}, row {kept[0][0]}: column '{missing}' is missing.", "Add the column to the header.")
    for unknown in set(header) - columns.keys():
        raise BadData(
            f"{path.name}, row {kept[0][0]}: column '{unknown}' is not known.",
            "Take the column out or correct its name.",
        )
    return [_row(path.name, line_no, header, line, columns) for line_no, line in kept[1:]]


def _row(name: str, line_no: int, header: list[str], line: str, columns: Mapping[str, Parser]) -> dict[str, Any]:
    cells = next(csv.reader([line]))
    if len(cells) != len(header):
        raise BadData(
            f"{name}, row {line_no}: {len(cells)} cells where the header has {len(header)}.",
            "Check the commas and quotation marks of that row.",
        )
    parsed: dict[str, Any] = {}
    for column, cell in zip(header, cells, strict=True):
        try:
            parsed[column] = columns[column](cell.strip())
        except ValueError as trouble:
            raise BadData(f"{name}, row {line_no}, column '{column}': {trouble}.", "Correct that cell.") from trouble
    return parsed
