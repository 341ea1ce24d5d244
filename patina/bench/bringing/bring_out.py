"""Tables that can be brought in again: all records of a kind, and the rows that were refused with their reasons.

Source: [CSV_FORMULA], [RFC4180]
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from patina.bench.bringing.bring_fields import fields_of
from patina.bench.bringing.bring_in import row_words
from patina.bench.saving import write_whole
from patina.errors import Refused
from patina.records.keeping.table_rows import table_rows
from patina.sheets.bringing import BroughtSheet, MappedColumn, TableMapping
from patina.spreadsheet.grid import neutral
from patina.spreadsheet.table import REASON, as_written

if TYPE_CHECKING:
    from patina.bench.studio import Studio


def refused_csv(sheet: BroughtSheet) -> str:
    """The rows that were not taken and are not here already, under the headings of their file, with the reason."""
    rows = [(cells, r.reason) for r in sheet.refused if not r.here for cells in r.cells]
    return _csv([*sheet.headings, REASON], ([*cells, reason] for cells, reason in rows))


def write_refused(sheet: BroughtSheet, path: Path) -> Path:
    """Write them into a file, to be mended and brought in again. Raises Refused where there is none."""
    if not any(not r.here for r in sheet.refused):
        raise Refused("No row was refused.", "There is nothing to mend.")
    return write_whole(Path(path), refused_csv(sheet).encode("utf-8-sig"))


def table_csv(studio: Studio, kind: str) -> str:
    """Every record of a kind as a table whose headings are the names of fields."""
    with studio.store.view() as session:
        rows = table_rows(session, kind)
    columns = [f.name for f in fields_of(kind) if any(row.get(f.name) for row in rows)]
    words = row_words()
    return _csv(columns, ([as_written(row.get(c, ""), words) for c in columns] for row in rows))


def own_mapping(kind: str) -> TableMapping:
    """The mapping of a table that this program wrote."""
    return TableMapping(kind, tuple(MappedColumn(f.name, f.name) for f in fields_of(kind)), name="own table")


def write_table(studio: Studio, kind: str, path: Path) -> Path:
    """Write every record of a kind into a CSV file (UTF-8 with a mark). Raises StudioTrouble."""
    return write_whole(Path(path), table_csv(studio, kind).encode("utf-8-sig"))


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([neutral(h) for h in header])
    for row in rows:
        writer.writerow([neutral(cell) for cell in row])
    return out.getvalue()
