"""The tables of stored photographs, and of what each of them shows."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from patina.records.tables.base import JsonText, Record, UtcMoment, now
from patina.records.tables.first import one_target


class PhotographTable(Record):
    """A stored photograph: its hash and what the file says of itself."""

    __tablename__ = "photograph"
    LETTER = "F"

    sha256: Mapped[str] = mapped_column(String(64), unique=True)
    size_bytes: Mapped[int]
    width_px: Mapped[int]
    height_px: Mapped[int]
    format: Mapped[str] = mapped_column(String(40))
    bits: Mapped[int]
    profile: Mapped[str] = mapped_column(Text)
    taken_at: Mapped[str] = mapped_column(String(80))
    camera: Mapped[str] = mapped_column(String(400))
    lens: Mapped[str] = mapped_column(String(400))
    exif: Mapped[Any] = mapped_column(JsonText)
    added_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class PhotographUse(Record):
    """A photograph as it belongs to a tile or a cast; one photograph may show several."""

    __tablename__ = "photograph_use"
    __table_args__ = (
        one_target(),
        UniqueConstraint("tile_id", "photograph_id"),
        UniqueConstraint("cast_id", "photograph_id"),
    )
    LETTER = "U"

    photograph_id: Mapped[int] = mapped_column(ForeignKey("photograph.id"), index=True)
    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"))
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"))
    name: Mapped[str] = mapped_column(String(400))
    state: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text)
    added_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    added_by: Mapped[str] = mapped_column(String(200))

    photograph: Mapped[PhotographTable] = relationship(lazy="joined", innerjoin=True)
