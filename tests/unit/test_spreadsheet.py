"""Old tables are read as plain cells: any usual text file, any sound workbook, and nothing hostile."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime

import openpyxl
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from patina.bench.bringing.bring_fields import means_something
from patina.bench.bringing.bring_in import row_words
from patina.errors import BadSpreadsheet
from patina.spreadsheet.grid import LARGEST_FILE_BYTES, MOST_COLUMNS, neutral, plain
from patina.spreadsheet.reading import book_of
from patina.spreadsheet.table import Table, as_written, table_of


def _cells(content: bytes, name: str = "x.csv", **how: str) -> list[tuple[str, ...]]:
    return [row.cells for row in book_of(content, name, **how).grids[0].rows]


def _table(content: bytes, name: str = "x.csv", header_row: int | None = None) -> Table:
    return table_of(book_of(content, name).grid(), row_words(), means_something, header_row)


def _book(fill: object) -> bytes:
    book = openpyxl.Workbook()
    fill(book)  # type: ignore[operator]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_the_rules_of_rfc_4180() -> None:
    """RFC 4180 section 2, its own examples: quotes, quotes within quotes, commas and line breaks within."""
    assert _cells(b"aaa,bbb,ccc\r\nzzz,yyy,xxx") == [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]
    assert _cells(b'"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx') == [("aaa", "b\nbb", "ccc"), ("zzz", "yyy", "xxx")]
    assert _cells(b'"aaa","b""bb","ccc"') == [("aaa", 'b"bb', "ccc")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_encodings_and_delimiters(encoding: str, delimiter: str) -> None:
    """Accents come out right, and decimal commas do not part columns."""
    rows = [("Rezept", "Stärke"), ("Grün", "12,5"), ("Brun léger", "7,25")]
    text = "\n".join(delimiter.join(f'"{c}"' if delimiter in c else c for c in row) for row in rows)
    grid = book_of(text.encode(encoding), "x.csv").grids[0]
    assert [row.cells for row in grid.rows] == rows
    assert bool(grid.notes) == (encoding == "cp1252"), "a supposed encoding is told"


def test_an_encoding_that_is_named_is_taken() -> None:
    """Mac Roman has another ü than Windows; it cannot be told by looking, so it can be said."""
    assert _cells("grün;x".encode("mac-roman"), encoding="mac-roman") == [("grün", "x")]
    with pytest.raises(BadSpreadsheet, match="no encoding"):
        _cells(b"a", encoding="zlib")
    with pytest.raises(BadSpreadsheet, match="does not fit"):
        _cells(b"gr\xfcn;x", encoding="utf-8")


def test_a_line_that_names_the_delimiter() -> None:
    """Spreadsheets write sep= on the first line; it is no row, and numbers of rows still count it."""
    grid = book_of(b"sep=;\na;b\n1,5;2\n", "x.csv").grids[0]
    assert [(r.number, r.cells) for r in grid.rows] == [(2, ("a", "b")), (3, ("1,5", "2"))]


@given(st.text())
@example("'=1+1")
@example("''\t@x")
def test_neutral_cells_read_back_as_they_were(text: str) -> None:
    """What is written for spreadsheets is no formula (OWASP, CSV Injection), and reads back the same."""
    written = neutral(text)
    assert not written.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert plain(written) == text


@pytest.mark.parametrize("word", ['"', "do.", "total", "'do.", "Summe"])
def test_words_for_dittos_and_totals_can_be_meant_as_they_are(word: str) -> None:
    """A recipe called Total, written out, is no row of totals when it is read again."""
    cell = as_written(word, row_words())
    content = f'name,note\nx,y\n"{cell.replace(chr(34), chr(34) * 2)}",z\n'.encode()
    assert [r.cells[0] for r in _table(content).rows] == ["x", word]


def _cards(book: openpyxl.Workbook) -> None:
    sheet = book.active
    assert sheet is not None
    sheet.title = "Karten"
    sheet["A1"] = "Alte Karten der Werkstatt"
    sheet.merge_cells("A1:G1")
    sheet["C2"] = "Eisennitrat"
    sheet.merge_cells("C2:D2")
    sheet.append(["Name", "Datum", "g/L", "Gänge", None, "Gehalt", "Rechnung"])
    sheet.append(["braun", date(2019, 4, 3), 12.5, 3, None, 0.25, "=C4*2"])
    sheet["F4"].number_format = "0%"
    sheet.append(["grün", datetime(2019, 4, 4, 9, 30), "„", 3])
    sheet.append([None, date(2019, 4, 5), 1, 2])
    sheet.merge_cells("A5:A6")
    sheet.append(["Name", "Datum", "g/L", "Gänge", None, "Gehalt", "Rechnung"])
    sheet.append(["Summe", None, 26, None])
    book.create_sheet("Zweites").append(["nichts"])


def test_a_workbook_as_people_keep_it() -> None:
    """Merged headings stand before those below, dates are ISO, per cent is per cent, totals are left out and told."""
    book = book_of(_book(_cards), "x.xlsx")
    table = table_of(book.grid(), row_words(), means_something)
    assert [g.name for g in book.grids] == ["Karten", "Zweites"]
    assert table.header_row == 3
    assert table.headings == ("Name", "Datum", "Eisennitrat: g/L", "Eisennitrat: Gänge", "Gehalt", "Rechnung")
    assert [r.cells for r in table.rows] == [
        ("braun", "2019-04-03", "12.5", "3", "25 %", ""),
        ("grün", "2019-04-04 09:30:00", "12.5", "3", "", ""),
        ("grün", "2019-04-05", "1", "2", "", ""),
    ]
    assert [(r.number, r.reason) for r in table.left_out] == [
        (7, "It repeats the headings."),
        (8, "'Summe': a row of totals is no record."),
    ]
    assert any("no result saved" in note for note in table.notes), "a formula without its value is told"


def test_formulas_give_their_saved_value() -> None:
    """What the spreadsheet program worked out last is read; the formula is not."""
    content = _book(lambda book: book.active.append(["a", "=1+1"]))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = {n: archive.read(n) for n in archive.namelist()}
    sheet = "xl/worksheets/sheet1.xml"
    assert b"<f>1+1</f>" in parts[sheet]
    parts[sheet] = (
        parts[sheet]
        .replace(b"<f>1+1</f><v></v>", b"<f>1+1</f><v>2</v>")
        .replace(b"<f>1+1</f><v />", b"<f>1+1</f><v>2</v>")
    )
    grid = book_of(_packed(parts), "x.xlsx").grids[0]
    assert grid.rows[0].cells == ("a", "2")
    assert not grid.notes


def _packed(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return out.getvalue()


def _parts() -> dict[str, bytes]:
    content = _book(lambda book: book.active.append(["Name", "Alloy"]))
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {n: archive.read(n) for n in archive.namelist()}


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"xl/worksheets/sheet2.xml": b" " * 210_000_000}, "unpacks to more"),
        ({f"a{n}": b"" for n in range(2001)}, "parts"),
        ({"xl/sharedStrings.xml": b"<!DOCTYPE x [<!ENTITY a 'b'>]><sst/>"}, "entities"),
        ({"xl/workbook.xml": b"<no"}, "no workbook"),
        ({"[Content_Types].xml": b""}, "no workbook"),
    ],
    ids=["bomb", "parts", "entities", "xml", "types"],
)
def test_a_hostile_workbook_is_refused(change: dict[str, bytes], said: str) -> None:
    """Bombs, entities and parts that are none end in a sentence."""
    with pytest.raises(BadSpreadsheet, match=said):
        book_of(_packed({**_parts(), **change}), "x.xlsx")


def test_macros_and_links_are_left_alone_and_told() -> None:
    """Neither is opened; a person is told that they are there."""
    more = {"xl/vbaProject.bin": b"MZ", "xl/externalLinks/externalLink1.xml": b"<externalLink/>"}
    notes = " ".join(book_of(_packed({**_parts(), **more}), "x.xlsm").grids[0].notes)
    assert "macros" in notes
    assert "other files" in notes


@pytest.mark.parametrize("row", [b'<row r="99999999">', b'<row r="1048576">'])
def test_huge_counts_cost_nothing(row: bytes) -> None:
    """A row far down is read, or refused; what the sheet says of its size is not believed."""
    parts = _parts()
    name = "xl/worksheets/sheet1.xml"
    parts[name] = parts[name].replace(b'<row r="1">', row)
    try:
        rows = book_of(_packed(parts), "x.xlsx").grids[0].rows
    except BadSpreadsheet as trouble:
        assert "more rows" in trouble.what
    else:
        assert len(rows) <= 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\n\n;;\n", "empty"),
        (b"a,b\n\x00,c\n", "not text"),
        (b'a,b\n"never closed,c\n', "quotation marks"),
        (b"\xd0\xcf\x11\xe0 old", "XLS"),
        (b"%PDF-1.7", "PDF"),
        (b"PK\x03\x04mimetypeapplication/vnd.oasis.opendocument.spreadsheet", "OpenDocument"),
        (b",".join([b"x"] * (MOST_COLUMNS + 1)), "columns"),
        (b"x\n" * 100_001, "rows"),
    ],
)
def test_what_is_no_table_is_refused(content: bytes, said: str) -> None:
    """Each with its own sentence."""
    with pytest.raises(BadSpreadsheet, match=said):
        book_of(content, "x.csv")


def test_a_file_too_large_is_not_read(tmp_path: object) -> None:
    """Its size is looked at first."""
    from pathlib import Path

    from patina.spreadsheet.reading import read_book

    path = Path(str(tmp_path)) / "large.csv"
    with path.open("wb") as stream:
        stream.truncate(LARGEST_FILE_BYTES + 1)
    with pytest.raises(BadSpreadsheet, match="larger than"):
        read_book(path)
    with pytest.raises(BadSpreadsheet, match="cannot be read"):
        read_book(path.parent)


def test_headings_without_words_and_twice_the_same() -> None:
    """An empty column is dropped, one without a heading is called by its letter, the second of a name gets a number."""
    table = _table(b"name,,g/L,,g/L\nred,x,1,,2\n")
    assert table.headings == ("name", "column B", "g/L", "g/L (2)")
    assert table.rows[0].cells == ("red", "x", "1", "2")
