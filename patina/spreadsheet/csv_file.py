"""Text tables: CSV in any usual encoding, parted by comma, semicolon, tab or bar, with line breaks in quotes.

Source: [RFC4180]
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter as Tally

from patina.errors import BadSpreadsheet
from patina.spreadsheet.grid import Counter, Grid, GridRow, cell_text, plain

DELIMITERS = (",", ";", "\t", "|")
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
# those a person may name; others of Python's would run more than a table of letters
ENCODINGS = ("utf-8", "utf-16", "windows-1252", "windows-1250", "iso-8859-15", "mac-roman", "cp850", "cp437")


def read_csv(content: bytes, name: str, encoding: str = "", delimiter: str = "") -> Grid:
    """The table in the bytes of a text file. encoding, delimiter: empty to find them out.

    Raises BadSpreadsheet.
    """
    text, notes = decoded(content, name, encoding)
    if "\x00" in text:
        raise BadSpreadsheet(f"{name} holds bytes that are not text.", "Save the sheet as CSV or XLSX.")
    said = re.match(r"sep=(.)\r?\n", text)  # what a spreadsheet writes for itself on the first line
    if said:
        text = text[said.end() :]
    parted = delimiter or (said.group(1) if said else delimiter_of(text))
    if len(parted) != 1 or parted in '"\r\n':
        raise BadSpreadsheet(f"'{parted}' cannot part columns.", "Use a comma, a semicolon or a tab.")
    rows, count = [], Counter(name)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=parted, strict=True)
    began = 2 if said else 1
    try:
        for cells in reader:
            count.row(len(cells))
            kept = tuple(plain(cell_text(c)) for c in cells)
            if any(kept):
                rows.append(GridRow(began, kept))
            began = reader.line_num + (2 if said else 1)
    except csv.Error as trouble:
        raise BadSpreadsheet(
            f"{name}, line {reader.line_num}: the quotation marks do not close ({trouble}).",
            "Correct that line; a quotation mark within a quoted cell is written twice.",
        ) from None
    return Grid(name, tuple(rows), (), tuple(notes))


def decoded(content: bytes, name: str, encoding: str = "") -> tuple[str, list[str]]:
    """The text of a file, and a sentence where its encoding had to be supposed. Raises BadSpreadsheet."""
    if encoding and encoding.casefold() not in ENCODINGS:
        raise BadSpreadsheet(
            f"'{encoding}' is no encoding that is read here.", f"Use one of: {', '.join(ENCODINGS)}.", field="encoding"
        )
    marked = next((found for mark, found in _MARKS if content.startswith(mark)), "")
    try:
        if encoding or marked:
            return content.decode(marked or encoding), []
        return content.decode("utf-16-le" if _in_pairs(content) == 1 else _wide_or_utf8(content)), []
    except UnicodeDecodeError as trouble:
        if encoding or marked:
            raise BadSpreadsheet(
                f"{name} is not {marked or encoding} text: byte {trouble.start} does not fit.",
                "Save it as UTF-8, or name its encoding.",
                field="encoding",
            ) from None
    note = "It is not UTF-8 text and was read as Windows-1252: look at accents and umlauts before it is brought in."
    return content.decode("windows-1252", errors="replace"), [note]


def _in_pairs(content: bytes) -> int | None:
    """Which byte of each pair is empty, as in UTF-16 without its mark: 0, 1, or None where it is none of that."""
    start = content[:2000]
    if len(start) < 4:
        return None
    empty = [start[n::2].count(0) / max(1, len(start[n::2])) for n in (0, 1)]
    return next((n for n in (0, 1) if empty[n] > 0.6 and empty[1 - n] < 0.1), None)


def _wide_or_utf8(content: bytes) -> str:
    return "utf-16-be" if _in_pairs(content) == 0 else "utf-8"


def delimiter_of(text: str) -> str:
    """The sign that parts the columns: the one by which most rows have the same number of them, and several.

    >>> delimiter_of("name;g/L\\nferric nitrate;12,5\\n")
    ';'
    """
    best, found = 0.0, max(DELIMITERS, key=text[:50_000].count)
    for candidate in DELIMITERS:
        widths: Tally[int] = Tally()
        reader = csv.reader(io.StringIO(text[:50_000], newline=""), delimiter=candidate)
        try:
            for n, cells in enumerate(reader):
                if n >= 60:
                    break
                if any(c.strip() for c in cells):
                    widths[len(cells)] += 1
        except csv.Error:
            continue
        if not widths:
            continue
        width, rows = max(widths.items(), key=lambda item: (item[1] * (item[0] > 1), item[0]))
        score = (width - 1) * rows / sum(widths.values()) * rows
        if score > best:
            best, found = score, candidate
    return found
