"""A file with tables in it, whatever its ending says: told apart by its first bytes."""

from __future__ import annotations

import hashlib
from pathlib import Path

from patina.errors import BadSpreadsheet
from patina.spreadsheet.csv_file import read_csv
from patina.spreadsheet.grid import LARGEST_FILE_BYTES, Book
from patina.spreadsheet.xlsx_file import read_xlsx

ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm")
_OTHERS = (
    (b"\xd0\xcf\x11\xe0", "an old workbook (XLS) or one with a password"),
    (b"%PDF", "a PDF"),
    (b"SQLite format 3", "a database"),
    (b"\x1f\x8b", "a packed file"),
    (b"{\\rtf", "a text of a word processor"),
)

# The last file that was read: one table is looked at again after each answer, and a large workbook takes seconds.
_LAST: dict[tuple[str, str, str, str], Book] = {}


def read_book(path: Path, encoding: str = "", delimiter: str = "") -> Book:
    """The sheets of a CSV or XLSX file. encoding, delimiter: of a CSV file, empty to find them out.

    Raises BadSpreadsheet for a file that cannot be read, is too large, or is none of these.
    """
    try:
        with path.open("rb") as stream:
            content = stream.read(LARGEST_FILE_BYTES + 1)
    except (OSError, ValueError) as trouble:  # ValueError: a name that no file can have
        reason = getattr(trouble, "strerror", None) or "it cannot be opened"
        raise BadSpreadsheet(f"{path.name} cannot be read: {reason}.", "Check the path and its permissions.") from None
    if len(content) > LARGEST_FILE_BYTES:
        raise BadSpreadsheet(
            f"{path.name} is larger than {LARGEST_FILE_BYTES // 1_000_000} MB.", "Divide it into smaller files."
        )
    key = (hashlib.sha256(content).hexdigest(), path.name, encoding, delimiter)
    kept = _LAST.get(key)
    if kept is None:
        kept = book_of(content, path.name, encoding, delimiter)
        _LAST.clear()
        _LAST[key] = kept
    return kept


def book_of(content: bytes, name: str, encoding: str = "", delimiter: str = "") -> Book:
    """The same of bytes. Raises BadSpreadsheet."""
    for start, what in _OTHERS:
        if content.startswith(start):
            raise BadSpreadsheet(f"{name} is {what}.", "Open it where it was made and save it as XLSX or CSV.")
    packed = content.startswith(b"PK")
    if packed and b"application/vnd.oasis.opendocument" in content[:200]:
        raise BadSpreadsheet(f"{name} is an OpenDocument file.", "Save it as XLSX or CSV.")
    grids = read_xlsx(content, name) if packed else (read_csv(content, name, encoding, delimiter),)
    if not any(grid.rows for grid in grids):
        raise BadSpreadsheet(f"{name} is empty.", "Give a file with a row of headings and rows below it.")
    return Book(name, hashlib.sha256(content).hexdigest(), grids)
