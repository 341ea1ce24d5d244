"""The exposure log as a CSV file that no spreadsheet takes for formulas.

Source: [CSV_FORMULA]
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from patina.errors import Refused
from patina.sheets.safety import ExposureRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
COLUMNS = (
    *("id", "person", "date", "shift", "minutes", "recipe", "revision", "batch", "substances", "task", "extraction"),
    *("flow_m3_per_h", "respirator", "note", "keep_until", "corrects", "corrected_by", "written_by", "written_at"),
)


def safe_cell(text: str) -> str:
    """A cell that a spreadsheet shows as it is written: an apostrophe stands before what would be a formula.

    >>> safe_cell("=1+1"), safe_cell(" @x"), safe_cell("apron, gloves")
    ("'=1+1", "' @x", 'apron, gloves')
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) or text.lstrip().startswith(FORMULA_STARTS) else text


def exposure_csv(rows: Sequence[ExposureRow]) -> str:
    """The rows with a header, one line each; dates in ISO form, moments in UTC, minutes and flow as plain numbers."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        values = row.as_json()
        values["substances"] = "; ".join(row.substances)
        writer.writerow([_cell(values[column]) for column in COLUMNS])
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.10g}"
    return safe_cell(str(value)) if isinstance(value, str) else str(value)


def export_exposures(
    studio: Studio, path: Path, *, person: str = "", since: date | None = None, until: date | None = None
) -> tuple[Path, int]:
    """Write the log into a file (UTF-8 with a mark, as spreadsheets like it); the path and how many rows.

    Raises Refused where there is nothing to write, StudioTrouble where it cannot be written.
    """
    from patina.bench.safe.exposure import list_exposures
    from patina.bench.saving import write_whole

    rows = list_exposures(studio, person=person, since=since, until=until)
    if not rows:
        raise Refused("There is no exposure to write out.", "Leave the person or the days open, or log one first.")
    return write_whole(Path(path), exposure_csv(rows).encode("utf-8-sig")), len(rows)
