"""The tables of the work on a piece: what was done at the torch and after it, strip checks, waste.

Everything that happens during the work is one row of `WorkEventTable`, added and never altered; going
back is another row that names the one it takes away. The number in the row, not the clock, is the order.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Edited, JsonText, Record, UtcMoment, now


class WorkTable(Edited):
    """The work on one tile or cast by one recipe revision. zones: name and area in m² (or None) of
    each, in the order of working. thermometer: kind, emissivity set, unit and range. ended_at: None
    while it goes on."""

    __tablename__ = "work"
    __table_args__ = (
        CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name="one_target"),
        Index(None, "ended_at"),
    )
    LETTER = "J"
    DERIVED = frozenset({"search_text"})

    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"), index=True)
    zones: Mapped[list[list[Any]]] = mapped_column(JsonText)
    texture: Mapped[float]
    tool: Mapped[str] = mapped_column(String(200))
    done_by: Mapped[str] = mapped_column(String(200))
    place: Mapped[str] = mapped_column(String(400))
    air_c: Mapped[float | None]
    air_rh_pct: Mapped[float | None]
    thermometer: Mapped[Any] = mapped_column(JsonText)
    started_at: Mapped[datetime] = mapped_column(UtcMoment)
    ended_at: Mapped[datetime | None] = mapped_column(UtcMoment)
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class WorkEventTable(Record):
    """One thing that happened. seq: 1, 2, 3 … within the work. step: of the recipe, from 1. left_ml:
    in the pot after it; used_ml: since the last such figure. true_c: of the metal, corrected, in °C.
    cancels_id: the row that this one takes away. said: what else belongs to its kind."""

    __tablename__ = "work_event"
    __table_args__ = (UniqueConstraint("work_id", "seq"),)
    LETTER = "E"

    work_id: Mapped[int] = mapped_column(ForeignKey("work.id"))
    seq: Mapped[int]
    kind: Mapped[str] = mapped_column(String(20))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("done_by", String(200))
    step: Mapped[int]
    zone: Mapped[str] = mapped_column(String(200))
    pass_number: Mapped[int | None]
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"), index=True)
    left_ml: Mapped[float | None]
    used_ml: Mapped[float | None]
    true_c: Mapped[float | None]
    cancels_id: Mapped[int | None] = mapped_column(ForeignKey("work_event.id"), unique=True)
    note: Mapped[str] = mapped_column(Text)
    said: Mapped[Any] = mapped_column(JsonText)


class StripCheckTable(Record):
    """Seconds until a clean copper strip is brown in a batch, at an age in hours."""

    __tablename__ = "strip_check"
    LETTER = "K"

    batch_id: Mapped[int] = mapped_column(ForeignKey("batch.id"), index=True)
    age_h: Mapped[float]
    seconds: Mapped[float]
    temperature_c: Mapped[float | None]
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("checked_by", String(200))
    note: Mapped[str] = mapped_column(Text)


class WasteTable(Record):
    """What went into a waste drum, or that the drum was fetched (emptied: what stood in it is gone).
    amount in unit "mL" or "g". substances: catalogue keys."""

    __tablename__ = "waste"
    __table_args__ = (CheckConstraint("unit IN ('g', 'mL')", name="unit"),)
    LETTER = "Z"

    drum: Mapped[str] = mapped_column(String(200), index=True)
    emptied: Mapped[bool]
    what: Mapped[str] = mapped_column(Text)
    amount: Mapped[float]
    unit: Mapped[str] = mapped_column(String(4))
    substances: Mapped[list[str]] = mapped_column(JsonText)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"), index=True)
    work_id: Mapped[int | None] = mapped_column(ForeignKey("work.id"), index=True)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("logged_by", String(200))
    note: Mapped[str] = mapped_column(Text)
