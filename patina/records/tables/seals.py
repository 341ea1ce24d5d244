"""The tables of signing off: seals, what was added to sealed records, readings that were withdrawn.

Every row is added and never altered.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import JsonText, Record, UtcMoment, now


class SealTable(Record):
    """A record that was signed off. kind: its table; record_id: its row. covers: [table, uid] of each
    row that was signed, the record's own first; sha256: of their content, in that order."""

    __tablename__ = "seal"
    __table_args__ = (UniqueConstraint("kind", "record_id"),)
    LETTER = "SL"

    kind: Mapped[str] = mapped_column(String(40))
    record_id: Mapped[int]
    covers: Mapped[list[list[str]]] = mapped_column(JsonText)
    sha256: Mapped[str] = mapped_column(String(64))
    statement: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("sealed_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class AmendmentTable(Record):
    """What was added to a record that is never edited again: the words and the reason. kind, record_id: of it."""

    __tablename__ = "amendment"
    __table_args__ = (UniqueConstraint("kind", "record_id", "number"),)
    LETTER = "SA"

    kind: Mapped[str] = mapped_column(String(40))
    record_id: Mapped[int]
    number: Mapped[int]
    words: Mapped[str] = mapped_column(Text)
    why: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("amended_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class WithdrawalTable(Record):
    """A reading that counts no longer, with the reason; the reading itself stays on record."""

    __tablename__ = "reading_withdrawal"
    LETTER = "SW"

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id"), unique=True)
    why: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("withdrawn_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
