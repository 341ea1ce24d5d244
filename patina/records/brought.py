"""Rows of old tables that were brought in: known again by their content, never altered."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import String, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from patina.records.base import Record

AT_ONCE = 500


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


def known_rows(session: Session, hashes: Sequence[str]) -> dict[str, BroughtRow]:
    """Those of the rows that were brought in before, by their hash."""
    wanted = list(dict.fromkeys(hashes))
    found: dict[str, BroughtRow] = {}
    for start in range(0, len(wanted), AT_ONCE):
        query = select(BroughtRow).where(BroughtRow.row_sha256.in_(wanted[start : start + AT_ONCE]))
        found |= {row.row_sha256: row for row in session.scalars(query)}
    return found
