"""The tables of the safety record: releases of recipes, marks on pots, data sheets read, exposure of persons.

Every row is added and never altered; what is taken back is another row.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from patina.records.tables.base import JsonText, Record, UtcMoment, now
from patina.records.tables.first import RevisionTable
from patina.records.tables.shelf import BatchTable


class DangerAnswerTable(Record):
    """Why a critical danger of a recipe's revision is safe as the work is done here, by a named person.

    danger: the rule and what meets what. between, consequence: as they read on that day."""

    __tablename__ = "danger_answer"
    LETTER = "Q"

    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"), index=True)
    danger: Mapped[str] = mapped_column(String(600))
    between: Mapped[list[str]] = mapped_column(JsonText)
    consequence: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("answered_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class RecipeReleaseTable(Record):
    """A revision was released for work on pieces, or its release was taken back. released: which of the two."""

    __tablename__ = "recipe_release"
    LETTER = "N"

    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"), index=True)
    released: Mapped[bool]
    by: Mapped[str] = mapped_column("released_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    note: Mapped[str] = mapped_column(Text)


class BatchMarkTable(Record):
    """What a pot was said to be mixed for ("test tiles", "work" or nothing), and until when it must be gone.
    discard_by: None where no clock runs."""

    __tablename__ = "batch_mark"
    __table_args__ = (CheckConstraint("purpose IN ('', 'test tiles', 'work')", name="purpose"),)
    LETTER = "I"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batch.id"), unique=True)
    purpose: Mapped[str] = mapped_column(String(20))
    discard_by: Mapped[datetime | None] = mapped_column(UtcMoment)
    discard_why: Mapped[str] = mapped_column(Text)

    batch: Mapped[BatchTable] = relationship()


class SheetReadTable(Record):
    """A safety data sheet that somebody read for a substance. dated: the date on the sheet. key: of the substance."""

    __tablename__ = "sheet_read"
    LETTER = "O"

    key: Mapped[str] = mapped_column(String(120), index=True)
    supplier: Mapped[str] = mapped_column(String(400))
    product: Mapped[str] = mapped_column(String(400))
    dated: Mapped[date]
    read_on: Mapped[date]
    by: Mapped[str] = mapped_column("read_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    note: Mapped[str] = mapped_column(Text)


class ExposureTable(Record):
    """What a person worked with in one shift. minutes: of work with it. flow_m3_h: extraction, None where
    nobody has said. keep_until: the row may not be taken out before. corrects_id: a row that this one replaces."""

    __tablename__ = "exposure"
    __table_args__ = (CheckConstraint("minutes > 0", name="minutes"),)
    LETTER = "H"

    person: Mapped[str] = mapped_column(String(200), index=True)
    on: Mapped[date] = mapped_column("worked_on", index=True)
    shift: Mapped[str] = mapped_column(String(80))
    minutes: Mapped[float]
    revision_id: Mapped[int | None] = mapped_column(ForeignKey("revision.id"), index=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"), index=True)
    substances: Mapped[list[str]] = mapped_column(JsonText)
    names: Mapped[list[str]] = mapped_column(JsonText)
    task: Mapped[str] = mapped_column(Text)
    extraction: Mapped[str] = mapped_column(String(200))
    flow_m3_h: Mapped[float | None]
    respirator: Mapped[str] = mapped_column(String(400))
    note: Mapped[str] = mapped_column(Text)
    keep_until: Mapped[date]
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("exposure.id"), unique=True)
    by: Mapped[str] = mapped_column("written_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)

    revision: Mapped[RevisionTable | None] = relationship()
