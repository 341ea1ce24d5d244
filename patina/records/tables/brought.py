"""The table of rows of files that were brought in."""

from __future__ import annotations

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Record


class BroughtRow(Record):
    """A row of a file. row_sha256: of its kind, headings and cells. record: id of what was made of it. row_number:
    as the spreadsheet counts it."""

    __tablename__ = "brought_row"
    LETTER = "BR"

    row_sha256: Mapped[str] = mapped_column(String(64), unique=True)
    kind: Mapped[str] = mapped_column(String(40))
    file_name: Mapped[str] = mapped_column(String(400))
    file_sha256: Mapped[str] = mapped_column(String(64))
    sheet: Mapped[str] = mapped_column(String(200))
    row_number: Mapped[int]
    record: Mapped[str] = mapped_column(String(40))
