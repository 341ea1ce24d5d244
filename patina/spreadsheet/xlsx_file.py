"""XLSX workbooks: values alone. Formulas give what was last worked out, macros, links and pictures are left alone.

A workbook is a ZIP archive of XML parts: its size is judged by what comes out of it, counted while it comes, and a
part that defines entities is refused. Nothing outside the file is ever opened.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
import zipfile
import zlib
from datetime import date, datetime, time, timedelta
from typing import Any
from xml.etree.ElementTree import ParseError

from patina.errors import BadSpreadsheet
from patina.spreadsheet.grid import MOST_COLUMNS, Counter, Grid, GridRow, cell_text, plain

MOST_PARTS = 2000
MOST_UNPACKED_BYTES = 200_000_000
MOST_SHEETS = 100
LAST_ROW = 1_048_576
_MEDIA = re.compile(r"(^|/)(media|embeddings|activeX|ctrlProps|printerSettings)/|vbaProject|\.(png|jpe?g|emf|wmf|bin)$")
_AREA = re.compile(rb'<mergeCell [^>]*?ref="\$?([A-Z]{1,3})\$?([0-9]{1,7}):\$?([A-Z]{1,3})\$?([0-9]{1,7})"')
_UNWORKED = re.compile(rb"(</f>|<f [^>]*/>)\s*(<v\s*/>|<v>\s*</v>)?\s*</c>")  # a formula without its last value
_HOSTILE = re.compile(rb"<!\s*(DOCTYPE|ENTITY)", re.I)
# what openpyxl and the libraries below it let out for a workbook that is not what it says
TROUBLES = (
    *(zipfile.BadZipFile, zlib.error, ParseError, KeyError, ValueError, TypeError, IndexError, AttributeError),
    *(OverflowError, EOFError, NotImplementedError, RuntimeError, AssertionError, struct.error, OSError, SyntaxError),
)


def read_xlsx(content: bytes, name: str) -> tuple[Grid, ...]:
    """Every sheet of a workbook that shows cells. Raises BadSpreadsheet."""
    try:
        merged, notes = _looked_through(content, name)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what openpyxl leaves out is left out on purpose
            return _grids(content, name, merged, notes)
    except TROUBLES as trouble:
        raise BadSpreadsheet(
            f"{name} is no workbook that can be read ({type(trouble).__name__}).",
            "Open it in a spreadsheet program and save it again as XLSX or CSV.",
        ) from None


def _looked_through(content: bytes, name: str) -> tuple[dict[str, tuple[tuple[int, int, int, int], ...]], list[str]]:
    """Every XML part is unpacked once in small pieces: its true size, its entities and its merged areas."""
    merged, total, unworked, notes = {}, 0, 0, []
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = archive.infolist()
        if len(parts) > MOST_PARTS:
            raise BadSpreadsheet(f"{name} has {len(parts):,} parts.", "Save only the sheets that are needed.")
        if len({p.filename for p in parts}) != len(parts):
            raise BadSpreadsheet(f"{name} holds a part twice.", "Save it again from a spreadsheet program.")
        if any(p.flag_bits & 1 for p in parts):
            raise BadSpreadsheet(f"{name} is locked by a password.", "Save it without one.")
        if any("vbaProject" in p.filename for p in parts):
            notes.append("The workbook holds macros; they were neither read nor run.")
        if any("externalLinks/" in p.filename for p in parts):
            notes.append("The workbook points at other files; nothing of them was opened.")
        for part in parts:
            if _MEDIA.search(part.filename):
                continue
            areas: list[tuple[int, int, int, int]] = []
            kept, tail = set(), b""
            with archive.open(part) as stream:
                while piece := stream.read(1 << 18):
                    total += len(piece)
                    if total > MOST_UNPACKED_BYTES:
                        raise BadSpreadsheet(
                            f"{name} unpacks to more than {MOST_UNPACKED_BYTES // 1_000_000} MB.",
                            "Save only the sheets that are needed, or save as CSV.",
                        )
                    window = tail + piece
                    if _HOSTILE.search(window.replace(b"\0", b"")):
                        raise BadSpreadsheet(
                            f"{name} defines entities of its own, as no spreadsheet program does.",
                            "Do not open it; ask where it comes from.",
                        )
                    unworked += sum(found.end() > len(tail) for found in _UNWORKED.finditer(window))
                    for found in _AREA.finditer(window):
                        if found.groups() not in kept and len(areas) < 10_000:
                            kept.add(found.groups())
                            areas.append(_area(*found.groups()))
                    tail = window[-200:]
            if areas:
                merged[part.filename] = tuple(areas)
    if unworked:
        notes.append(
            f"{unworked} formulas have no result saved with them and count as empty: "
            "open the workbook in a spreadsheet program and save it, so that they are worked out."
        )
    return merged, notes


def _area(left: bytes, top: bytes, right: bytes, bottom: bytes) -> tuple[int, int, int, int]:
    return int(top), _column(left), int(bottom), _column(right)


def _column(letters: bytes) -> int:
    at = 0
    for letter in letters:
        at = at * 26 + letter - 64
    return at - 1


def _grids(content: bytes, name: str, merged: dict[str, Any], notes: list[str]) -> tuple[Grid, ...]:
    from openpyxl import load_workbook
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet

    book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
    try:
        sheets = [s for s in book.worksheets if isinstance(s, ReadOnlyWorksheet)][:MOST_SHEETS]
        if not sheets:
            raise BadSpreadsheet(f"{name} has no sheet with cells.", "Save the table as XLSX or CSV.")
        count = Counter(name)
        return tuple(_grid(s, merged.get(s._worksheet_path.lstrip("/"), ()), notes, count) for s in sheets)
    finally:
        book.close()


def _grid(sheet: Any, merged: tuple[tuple[int, int, int, int], ...], notes: list[str], count: Counter) -> Grid:
    """One sheet; what it says of its own size is not believed."""
    sheet.reset_dimensions()
    rows, own, unworked = [], list(notes), 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        if number > LAST_ROW:
            raise BadSpreadsheet(f"Sheet '{sheet.title}' has more rows than a spreadsheet can.", "Save it again.")
        width = next((n for n in range(len(cells), 0, -1) if cells[n - 1].value is not None), 0)
        if not width:
            continue
        if width > MOST_COLUMNS:
            count.row(width)  # refuses
        kept = tuple(shown(cell.value, getattr(cell, "number_format", "")) for cell in cells[:width])
        if any(kept):
            count.row(len(kept))
            rows.append(GridRow(number, kept))
            unworked += sum(c.startswith("#") and c.rstrip("!?").isupper() for c in kept)
    if unworked:
        own.append(f"{unworked} cells show an error of a formula, such as #REF!; they are kept as these words.")
    if sheet.sheet_state != "visible":
        own.append("The sheet is hidden in the workbook.")
    return Grid(str(sheet.title)[:200], tuple(rows), merged, tuple(own))


def shown(value: Any, number_format: str = "") -> str:
    """A value of a cell as text that reads one way only: dates in ISO form, a full stop in numbers, per cent as such.

    >>> shown(0.25, "0%"), shown(12.0), shown(date(2019, 4, 3))
    ('25 %', '12', '2019-04-03')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time(0) else value.isoformat(" ", "seconds")
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return f"{value.total_seconds() / 3600:.10g} h"
    if isinstance(value, int | float):
        if "%" in (number_format or ""):
            return f"{value * 100:.10g} %"
        return str(value) if isinstance(value, int) else f"{value:.12g}"
    return plain(cell_text(str(value)))
