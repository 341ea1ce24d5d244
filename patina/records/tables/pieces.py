"""The tables of agreed finishes, of pieces with their casts, and of what was done to a cast."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Edited, JsonText, Record, UtcMoment, now


class MasterTable(Edited):
    """An agreed finish: the colour to be met, how near, and how it was agreed."""

    __tablename__ = "master"
    LETTER = "M"
    DERIVED = frozenset({"search_text"})

    name: Mapped[str] = mapped_column(String(400))
    lab_l: Mapped[float]
    lab_a: Mapped[float]
    lab_b: Mapped[float]
    formula: Mapped[str] = mapped_column(String(20))
    limit_de: Mapped[float]
    limit_dl: Mapped[float | None]
    limit_dc: Mapped[float | None]
    limit_dh: Mapped[float | None]
    uncertainty_de00: Mapped[float | None]
    zone: Mapped[str] = mapped_column(String(200))
    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"), index=True)
    recipe_id: Mapped[int | None] = mapped_column(ForeignKey("recipe.id"), index=True)
    light: Mapped[str] = mapped_column(String(400))
    geometry: Mapped[str] = mapped_column(String(40))
    wax_state: Mapped[str] = mapped_column(String(40))
    warmth: Mapped[str] = mapped_column(String(40))
    agreed_by: Mapped[str] = mapped_column(String(400))
    agreed_on: Mapped[date | None]
    holders: Mapped[str] = mapped_column(Text)
    next_check: Mapped[date | None]
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class PieceTable(Edited):
    """A work, of which one or more casts exist."""

    __tablename__ = "piece"
    LETTER = "W"
    DERIVED = frozenset({"search_text"})

    title: Mapped[str] = mapped_column(String(400))
    maker: Mapped[str] = mapped_column(String(400))
    edition: Mapped[int | None]
    height_mm: Mapped[float | None]
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class CastTable(Edited):
    """One cast of a piece; two unnumbered casts may exist."""

    __tablename__ = "cast_piece"
    LETTER = "C"
    DERIVED = frozenset({"search_text"})

    piece_id: Mapped[int] = mapped_column(ForeignKey("piece.id"), index=True)
    number: Mapped[str] = mapped_column(String(80))
    alloy: Mapped[str] = mapped_column(String(200))
    mass_g: Mapped[float | None]
    wall_mm: Mapped[float | None]
    area_m2: Mapped[float | None]
    owner: Mapped[str] = mapped_column(String(400))
    place: Mapped[str] = mapped_column(String(400))
    master_id: Mapped[int | None] = mapped_column(ForeignKey("master.id"), index=True)
    cast_on: Mapped[date | None]
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class TreatmentTable(Record):
    """One dated action on a cast; never edited."""

    __tablename__ = "treatment"
    LETTER = "A"

    cast_id: Mapped[int] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    did: Mapped[str] = mapped_column(Text)
    zone: Mapped[str] = mapped_column(String(200))
    revision_id: Mapped[int | None] = mapped_column(ForeignKey("revision.id"), index=True)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"), index=True)
    as_done: Mapped[list[str]] = mapped_column(JsonText)
    area_m2: Mapped[float | None]
    done_on: Mapped[date | None]
    done_by: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text)
    added_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
