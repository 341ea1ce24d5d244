"""The tables of the shelf, of what was mixed from it, and the log of changes."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Base, Edited, Money, Record, UtcMoment, now


class LotTable(Edited):
    """A bottle, tub or bag. substance: key; name: what it is called. left_amount: what its
    movements leave, never below zero."""

    __tablename__ = "lot"
    __table_args__ = (
        CheckConstraint("left_amount >= 0", name="not_below_zero"),
        CheckConstraint("unit IN ('g', 'mL')", name="unit"),
    )
    LETTER = "L"
    DERIVED = frozenset({"search_text"})

    substance: Mapped[str] = mapped_column(String(120), index=True)
    name: Mapped[str] = mapped_column(String(400))
    amount: Mapped[float]
    left_amount: Mapped[float]
    unit: Mapped[str] = mapped_column(String(4))
    supplier: Mapped[str] = mapped_column(String(400))
    grade: Mapped[str] = mapped_column(String(200))
    lot_number: Mapped[str] = mapped_column(String(200))
    assay_pct: Mapped[float | None]
    opened_on: Mapped[date | None]
    use_by: Mapped[date | None]
    place: Mapped[str] = mapped_column(String(400))
    price: Mapped[Decimal | None] = mapped_column(Money)
    currency: Mapped[str] = mapped_column(String(8))
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class LotMovement(Record):
    """What went into a lot (above zero) or out of it, and why. amount: in the lot's unit."""

    __tablename__ = "lot_movement"
    LETTER = "X"

    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"), index=True)
    amount: Mapped[float]
    why: Mapped[str] = mapped_column(Text)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"), index=True)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("moved_by", String(200))


class BatchTable(Edited):
    """A pot as it was mixed. left_ml: what its uses leave, never below zero."""

    __tablename__ = "batch"
    __table_args__ = (CheckConstraint("left_ml >= 0", name="not_below_zero"),)
    LETTER = "B"
    DERIVED = frozenset({"search_text"})

    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"), index=True)
    solution: Mapped[str] = mapped_column(String(400))
    volume_ml: Mapped[float]
    left_ml: Mapped[float]
    made_at: Mapped[datetime] = mapped_column(UtcMoment)
    made_by: Mapped[str] = mapped_column(String(200))
    use_until: Mapped[datetime | None] = mapped_column(UtcMoment)
    water: Mapped[str] = mapped_column(String(400))
    ph: Mapped[float | None]
    temperature_c: Mapped[float | None]
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class BatchWeighed(Record):
    """What really went into a batch, in "g" or "mL"."""

    __tablename__ = "batch_weighed"
    LETTER = "G"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batch.id"), index=True)
    place: Mapped[int]
    substance: Mapped[str] = mapped_column(String(120), index=True)
    asked: Mapped[float]
    amount: Mapped[float]
    unit: Mapped[str] = mapped_column(String(4))
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)


class BatchUse(Record):
    """What was taken out of a batch, in mL, and what for."""

    __tablename__ = "batch_use"
    LETTER = "Y"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batch.id"), index=True)
    ml: Mapped[float]
    why: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("used_by", String(200))


class ChangeTable(Base):
    """One change in the log. hash: SHA-256 over the hash before it and this change's content."""

    __tablename__ = "change"

    n: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[datetime] = mapped_column(UtcMoment)
    by: Mapped[str] = mapped_column("changed_by", String(200))
    deed: Mapped[str] = mapped_column(String(80))
    why: Mapped[str] = mapped_column(Text)
    kind: Mapped[str] = mapped_column(String(40))
    record: Mapped[str] = mapped_column(String(40), index=True)
    before: Mapped[str | None] = mapped_column(Text)
    after: Mapped[str | None] = mapped_column(Text)
    previous: Mapped[str] = mapped_column(String(64))
    hash: Mapped[str] = mapped_column(String(64))


class ChainHead(Base):
    """The end of the log: how many changes there are and the hash of the last (one row)."""

    __tablename__ = "chain_head"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    n: Mapped[int]
    hash: Mapped[str] = mapped_column(String(64))
