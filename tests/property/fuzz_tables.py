"""Old tables as people keep them, and what can go wrong with them: for tests that break them on purpose."""

from __future__ import annotations

import io
import random
import warnings
import zipfile
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

import fuzz_mutations as broken
from sqlalchemy import func, select

from patina.bench.bringing.bring_fields import fields_of
from patina.bench.bringing.bring_in import bring, plan
from patina.bench.bringing.bring_mapping import mapping_of_text, mapping_text
from patina.bench.bringing.bring_out import refused_csv
from patina.bench.bringing.bring_questions import answered, remapped
from patina.bench.studio import Studio
from patina.errors import PatinaError
from patina.records.tables.brought import BroughtRow
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable, TileTable
from patina.records.tables.pieces import CastTable, PieceTable, TreatmentTable
from patina.records.tables.shelf import ChangeTable, LotMovement, LotTable
from patina.sheets.bringing import KINDS, TableMapping
from patina.spreadsheet.reading import book_of

Row = list[object]
CARDS: list[Row] = [
    ["Old cards of the workshop", None, None, None, None, None, None, None],
    ["Name", "Alloy", "Ferric nitrate g/L", "Cupric nitrate", "Method", "Passes", "Temp", "Notes"],
    ["Red brown", "C87300", 100, None, "torch", 4, "80-95 °C", "first try"],
    ["Green over", "do.", None, "5 %", "cold brush", "3 x", None, "two lines\nhere"],
    ["Pale", '"', "5 g/L (weak)", "½ tsp", "spray", "2-3", "176 F", "=1+1"],
    ["Black", "Silizbronze", "1:20", "2 oz/gal", "fume", None, "hot", "-"],
    ["Total", None, 105, None, None, 9, None, None],
]
STEPS: list[Row] = [
    ["Rezept", "Legierung", "Bad", "Chemikalie", "Konzentration", "Schritt", "Methode", "Bemerkung"],
    ["Grün", "CuSn10", "Beize", "Kupfernitrat", "20 g/L", None, None, None],
    [None, None, "Beize", "Ammoniumchlorid", "10 g/L", None, None, None],
    [None, None, "Beize", None, None, "auftragen", "Pinsel", "dünn, dreimal"],
    [None, None, None, None, None, "spülen", None, None],
]
TILES: list[Row] = [
    ["Nr.", "Legierung", "Wandstärke (mm)", "Datum", "von", "Gewachst", "Rezept"],
    ["A1", "C87300", 5, date(2019, 4, 3), "MO", "ja", "Torch sulphide brown"],
    ["A2", "do.", 6.5, "3/4/2019", "do.", "nein", "Nix"],
    ["A3", "C87300", "3/16 in", "14. März 98", None, "gewachst", None],
]
READINGS: list[Row] = [
    ["Tile", "L*", "a*", "b*", "Date", "Instrument", "n"],
    ["A1", 27.1, 6.5, 9, datetime(2019, 4, 3, 9, 30), "meter", 5],
    ["A1", "27,4", "-6,1", "9.0", "3.4.2019 14:05", None, "3"],
]
LOTS: list[Row] = [
    ["Chemical", "Qty", "Unit", "Lot no.", "Purity", "Opened", "Price", "Currency"],
    ["ferric nitrate", 500, "g", "FN-1", 0.98, "03/04/2019", "12,50", "EUR"],
    ["nitric acid", "1 L", None, "NA-7", "65 %", None, None, None],
    ["silver nitrate", "2 oz", None, None, None, "2019-04-03", 44, "GBP"],
    ["Sum", 502, None, None, None, None, "56.5", None],
]
CASTS: list[Row] = [
    ["Title", "No.", "Weight", "Wall", "Area", "Owner", "Cast on"],
    ["Cormorant", "1/3", "96 kg", "5 mm", "1,8 m²", "=HYPERLINK(1)", "14 March 2019"],
    ["Cormorant", "2/3", 96, 5, "12 sq ft", "@owner", None],
]
TREATMENTS: list[Row] = [
    ["Werk", "Nummer", "Datum", "Massnahme", "Bearbeiter"],
    ["Cormorant", "1/3", "2019-01-02", "gewachst", "MO"],
    ["Cormorant", "2/3", "1.2.2019", "gereinigt", '"'],
]
TABLES: tuple[list[Row], ...] = (CARDS, STEPS, TILES, READINGS, LOTS, CASTS, TREATMENTS)
CELLS = (
    *(
        "=1+1",
        '=cmd|"/c calc"!A1',
        "@SUM(A1)",
        "-5",
        "+5 g",
        "1,234",
        "1.234,5",
        "½",
        "1e999",
        "NaN",
        "5 mm 6",
        "80-95",
    ),
    *("31/12/1999", "29.2.2019", "0000-00-00", "99/99/99", "9" * 40, "\u200b", "٣", "´", "〃", "do.", "total", "'=x"),
    *(
        "1:20",
        "5 %",
        "2 tsp",
        "oz",
        "water",
        "R1",
        "T1",
        "C1",
        "",
        " ",
        "\t",
        "\n",
        "5 g/L (by weight)",
        "1/0",
        "#REF!",
    ),
)
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "cp1252", "utf-16-le")


def varied(chance: random.Random) -> list[Row]:
    """One of the tables with some cells, rows or columns changed."""
    rows = [list(row) for row in chance.choice(TABLES)]
    for _ in range(chance.choice((0, 1, 2, 4, 10))):
        row = chance.choice(rows)
        way = chance.random()
        if way < 0.6 and row:
            row[chance.randrange(len(row))] = chance.choice(
                (*CELLS, *broken.BITS, *broken.QUANTITIES, 5, 1.5, None, True)
            )
        elif way < 0.7:
            rows.insert(chance.randrange(len(rows) + 1), list(chance.choice(rows)))
        elif way < 0.8 and len(rows) > 1:
            rows.remove(row)
        elif way < 0.9:
            at = chance.randrange(9)
            for other in rows:
                other.insert(at, None)
        elif row:
            del row[chance.randrange(len(row))]
    return rows


def as_csv(chance: random.Random, rows: list[Row]) -> bytes:
    """A table as text, in one of the ways programs write it."""
    import csv

    out = io.StringIO(newline="")
    quoting = chance.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL))
    writer = csv.writer(
        out, delimiter=chance.choice(",;\t|"), quoting=quoting, lineterminator=chance.choice(("\n", "\r\n"))
    )
    for row in rows:
        writer.writerow(["" if cell is None else cell for cell in row])
    return out.getvalue().encode(chance.choice(ENCODINGS), "replace")


def as_xlsx(chance: random.Random, rows: list[Row]) -> bytes:
    """A table as a workbook, with merged cells, a second sheet and formulas now and then."""
    import openpyxl
    from openpyxl.utils.exceptions import IllegalCharacterError

    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        try:
            sheet.append([cell if not isinstance(cell, str) else cell[:500] for cell in row])
        except (IllegalCharacterError, ValueError):
            sheet.append(["x"])
    if chance.random() < 0.3:
        sheet.merge_cells(
            start_row=1, start_column=1, end_row=chance.choice((1, 1, 3)), end_column=chance.randrange(1, 5)
        )
    if chance.random() < 0.3:
        book.create_sheet(chance.choice(("Two", "Überschrift", "a'b"))).append(["Name", "x"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


_XML = (
    (b"<row ", b'<row r="9999999" '),
    (b"<row ", b'<row r="-1" '),
    (b"<row ", b"<row><row "),
    (b'r="A1"', b'r="XFD1048576"'),
    (b'r="A1"', b'r="ZZZZ1"'),
    (b"<v>", b"<v>1e999"),
    (b"<v>", b"<v>99999999999999999999"),
    (b't="s"', b't="d"'),
    (b't="s"', b't="b"'),
    (b't="s"', b't="zz"'),
    (b't="n"', b't="s"'),
    (b"<sheetData>", b"<!DOCTYPE x [<!ENTITY a 'b'>]><sheetData>"),
    (b"<?xml", b"<!DOCTYPE lolz [<!ENTITY lol 'lol'>]><?xml"),
    (b"</sheetData>", b""),
    (b'ref="A1', b'ref="A1:XFD1048576'),
    (b"count=", b'count="4294967295" x='),
    (b"numFmtId", b"numFmtIdx"),
    (b"sheetId", b"sheetIdx"),
    (b'Target="', b'Target="../../../etc/'),
    (b"UTF-8", b"UTF-99"),
    (b"<t>", b"<t>\x00"),
)


def broken_xlsx(chance: random.Random, content: bytes) -> bytes:
    """A workbook whose parts were changed and packed again, or whose bytes were."""
    if chance.random() < 0.25:
        return broken.broken_bytes(chance, content)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    for _ in range(chance.choice((0, 1, 1, 2, 4))):
        name = chance.choice(sorted(parts))
        way = chance.random()
        if way < 0.55:
            old, new = chance.choice(_XML)
            parts[name] = parts[name].replace(old, new, chance.choice((1, -1)))
        elif way < 0.75:
            parts[name] = broken.broken_bytes(chance, parts[name])
        elif way < 0.85:
            del parts[name]
        else:
            parts[
                chance.choice(
                    ("xl/vbaProject.bin", "xl/externalLinks/externalLink1.xml", "../x", "xl/worksheets/sheet9.xml")
                )
            ] = chance.choice((b"", b"MZ", b"\0" * 3_000_000, b"<a/>"))
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        warnings.simplefilter("ignore", UserWarning)
        for name, part in parts.items():
            target.writestr(name, part)
    return out.getvalue()


def broken_csv(chance: random.Random) -> bytes:
    """A text table with changed cells, and now and then changed bytes."""
    content = as_csv(chance, varied(chance))
    return broken.broken_bytes(chance, content) if chance.random() < 0.4 else content


def broken_workbook(chance: random.Random) -> bytes:
    """A workbook with changed cells, and mostly changed parts."""
    content = as_xlsx(chance, varied(chance))
    return broken_xlsx(chance, content) if chance.random() < 0.7 else content


def held(studio: Studio) -> tuple[int, ...]:
    """How many rows the tables of the studio hold that a table can fill, and how many changes are in its log."""
    filled = (RecipeTable, RevisionTable, TileTable, ReadingTable, LotTable, LotMovement, PieceTable, CastTable)
    with studio.store.view() as session:
        return tuple(
            session.scalar(select(func.count()).select_from(table)) or 0
            for table in (*filled, TreatmentTable, BroughtRow, ChangeTable)
        )


def brought_in(studio: Studio, path: Path, content: bytes, chance: random.Random) -> str:
    """Bring a table in, answering what it asks at random, and hold it to what is promised.

    Every row is in or listed; a trouble leaves the studio as it was; the same file again makes nothing; the mapping
    reads back from its text. Raises PatinaError where the table is refused.
    """
    path.write_bytes(content)
    before = held(studio)
    try:
        mapping = _mapped(studio, path, chance)
        assert mapping_of_text(mapping_text(mapping)) == mapping
        tried = bring(studio, path, mapping, dry_run=True)
        assert held(studio) == before, "a preview kept something"
        came = bring(studio, path, mapping)
    except PatinaError as trouble:
        assert trouble.what
        assert trouble.remedy
        assert held(studio) == before, "half of a refused table was kept"
        raise
    rows = sorted(n for part in (came.brought, came.refused) for r in part for n in r.rows)
    assert len(rows) == came.rows
    assert len(set(rows)) == len(rows), "a row is there twice"
    assert [b.values for b in tried.brought] == [b.values for b in came.brought]
    after = held(studio)
    assert not bring(studio, path, mapping).brought, "the same file made something twice"
    assert held(studio) == after
    if any(not r.here for r in came.refused):
        again = book_of(refused_csv(came).encode("utf-8-sig"), "refused.csv")
        assert len(again.grids[0].rows) - 1 <= sum(len(r.cells) for r in came.refused)
    return "taken" if came.brought else "rows refused"


def _mapped(studio: Studio, path: Path, chance: random.Random) -> TableMapping:
    kind = chance.choice(("", "", "", *KINDS))
    mapping = plan(studio, path, kind=kind).mapping
    if mapping.columns and chance.random() < 0.3:
        field = chance.choice(("", *(f.name for f in fields_of(mapping.kind))))
        mapping = remapped(mapping, chance.choice(mapping.columns).heading, field)
    for _ in range(40):
        asked = plan(studio, path, mapping).open
        if not asked:
            break
        for q in asked:
            options = [o for o, _ in q.options if o != "refuse"] or ["refuse"]
            if q.free:
                options += ["1 L", "C87300", "T1", chance.choice(CELLS) or "x"]
            mapping = answered(mapping, q.heading, q.about, chance.choice(options))
    for q in plan(studio, path, mapping).open:
        mapping = answered(mapping, q.heading, q.about, "refuse")
    return mapping


Maker = Callable[[random.Random], bytes]
KINDS_OF_FILE: dict[str, tuple[str, Maker]] = {
    "csv": ("table.csv", broken_csv),
    "xlsx": ("table.xlsx", broken_workbook),
}
