"""The tables of matching: zones and terms of agreed finishes, who holds which tile, concessions, approvals,
and what was written down of how a piece was made.

Every row is added and never altered; what has changed is another row, and the newest counts.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import JsonText, Record, UtcMoment, now

_ONE_PIECE = "(tile_id IS NULL) <> (cast_id IS NULL)"


class MasterZoneTable(Record):
    """The agreed colour of one zone of an agreed finish.

    readings: each [reading's id or "", L*, a*, b*], as they were on the day. light_limit, dark_limit:
    [L*, a*, b*] of the limit tiles or None. parts: tones, each [L*, a*, b*, share]. fixed_u: expanded
    (95 %) uncertainty in ΔE that more readings do not lessen, None where nobody has said.
    """

    __tablename__ = "master_zone"
    __table_args__ = (UniqueConstraint("master_id", "zone"),)
    LETTER = "MZ"

    master_id: Mapped[int] = mapped_column(ForeignKey("master.id"), index=True)
    zone: Mapped[str] = mapped_column(String(200))
    illuminant: Mapped[str] = mapped_column(String(20))
    observer: Mapped[str] = mapped_column(String(20))
    readings: Mapped[list[list[Any]]] = mapped_column(JsonText)
    sd: Mapped[list[float] | None] = mapped_column(JsonText)
    n: Mapped[int]
    light_limit: Mapped[list[float] | None] = mapped_column(JsonText)
    dark_limit: Mapped[list[float] | None] = mapped_column(JsonText)
    parts: Mapped[list[list[float]]] = mapped_column(JsonText)
    fixed_u: Mapped[float | None]
    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    light_tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    dark_tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("agreed_with", String(400))


class MasterTermsTable(Record):
    """What else was agreed. aim: "as new" or "as today". limit_mottle: of tones and shares, in ΔE, None: as ΔE."""

    __tablename__ = "master_terms"
    LETTER = "MT"

    master_id: Mapped[int] = mapped_column(ForeignKey("master.id"), unique=True)
    aim: Mapped[str] = mapped_column(String(20))
    limit_mottle: Mapped[float | None]
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class TileHoldingTable(Record):
    """Who holds a tile from a day on. role: master, light limit, dark limit, sealed or twin. kept: dark, shelf,
    outdoors or empty. The newest row of a tile counts."""

    __tablename__ = "tile_holding"
    LETTER = "MH"

    master_id: Mapped[int | None] = mapped_column(ForeignKey("master.id"), index=True)
    tile_id: Mapped[int] = mapped_column(ForeignKey("tile.id"), index=True)
    holder: Mapped[str] = mapped_column(String(400))
    role: Mapped[str] = mapped_column(String(40))
    kept: Mapped[str] = mapped_column(String(40))
    place: Mapped[str] = mapped_column(String(400))
    since: Mapped[date | None]
    next_check: Mapped[date | None]
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))
    note: Mapped[str] = mapped_column(Text)


class ConcessionTable(Record):
    """A piece taken although it was outside. verdict: what was judged that day, in words."""

    __tablename__ = "concession"
    __table_args__ = (CheckConstraint(_ONE_PIECE, name="one_target"),)
    LETTER = "MC"

    master_id: Mapped[int] = mapped_column(ForeignKey("master.id"), index=True)
    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    zone: Mapped[str] = mapped_column(String(200))
    difference: Mapped[float]
    verdict: Mapped[str] = mapped_column(Text)
    reason: Mapped[str] = mapped_column(Text)
    agreed_by: Mapped[str] = mapped_column(String(400))
    agreed_on: Mapped[date]
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))


class ApprovalTable(Record):
    """A viewing, at which somebody looked at a piece and said yes or no.

    role: client, artist, studio, foundry, owner. state: wax state when seen, or wet. seen: "in hand" or
    "picture". answer: approved, approved with remarks, not approved, show again. shown: the figures
    that were on the table, as they were that day.
    """

    __tablename__ = "approval"
    __table_args__ = (CheckConstraint(_ONE_PIECE, name="one_target"),)
    LETTER = "P"

    master_id: Mapped[int | None] = mapped_column(ForeignKey("master.id"), index=True)
    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    who: Mapped[str] = mapped_column(String(400))
    role: Mapped[str] = mapped_column(String(40))
    place: Mapped[str] = mapped_column(String(400))
    light: Mapped[str] = mapped_column(String(400))
    state: Mapped[str] = mapped_column(String(40))
    seen: Mapped[str] = mapped_column(String(40))
    answer: Mapped[str] = mapped_column(String(40))
    remarks: Mapped[str] = mapped_column(Text)
    held_on: Mapped[date]
    shown: Mapped[Any] = mapped_column(JsonText)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))


class MakingFactTable(Record):
    """One circumstance of how a tile or cast was made, in words ("blast": "glass bead, new"). The newest counts."""

    __tablename__ = "making_fact"
    __table_args__ = (
        CheckConstraint(_ONE_PIECE, name="one_target"),
        Index(None, "tile_id", "fact"),
        Index(None, "cast_id", "fact"),
    )
    LETTER = "MF"

    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"))
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"))
    fact: Mapped[str] = mapped_column(String(80))
    value: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))
