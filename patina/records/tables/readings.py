"""What is on record of a reading besides itself: its doubt, its grain, and how it was taken from its photograph, so
that it can be taken again; and which deeds were done under an id."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Base, JsonText, Record, UtcMoment, now


class ReadingDoubtTable(Record):
    """The two parts of a reading's expanded uncertainty, in CIEDE2000, where a photograph gave them: of the
    surface's own unevenness, and of camera, light and chart, which readings of one photograph share."""

    __tablename__ = "reading_doubt"
    LETTER = "DD"

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id"), unique=True)
    sampling_de00: Mapped[float]
    correction_de00: Mapped[float]


class ReadingGrainTable(Record):
    """How coarse the mottle of a reading is. grain_px: in pixels of its photograph. grain_mm: where the scale was
    known. scale_from: what gave the scale, empty where none did. A reading without a row: grain not known."""

    __tablename__ = "reading_grain"
    __table_args__ = (
        CheckConstraint("(grain_px IS NULL OR grain_px > 0) AND (grain_mm IS NULL OR grain_mm > 0)", name="above_zero"),
    )
    LETTER = "DG"

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id"), unique=True)
    grain_px: Mapped[float | None]
    grain_mm: Mapped[float | None]
    scale_from: Mapped[str] = mapped_column(String(200))


class ReadingHowTable(Record):
    """How a reading was taken; never altered. taken_by: "areas" or "placard". chart: "auto", "none", a card, the
    name of one of the studio's charts, or "file". corners: four points, empty where found; area: name, rect, polygon
    and whole_tile, in pixels of the upright picture. card: its reflectance in words, or "file". flat:
    whether a photograph of plain card was used. again_of_id: the reading that this one repeats. reader:
    mark of the reading program."""

    __tablename__ = "reading_how"
    LETTER = "DH"

    reading_id: Mapped[int] = mapped_column(ForeignKey("reading.id"), unique=True)
    taken_by: Mapped[str] = mapped_column(String(20))
    chart: Mapped[str] = mapped_column(String(200))
    edition: Mapped[str] = mapped_column(String(20))
    corners: Mapped[Any] = mapped_column(JsonText)
    area: Mapped[Any] = mapped_column(JsonText)
    card: Mapped[str] = mapped_column(Text)
    flat: Mapped[bool]
    chart_photograph_id: Mapped[int | None] = mapped_column(ForeignKey("photograph.id"), index=True)
    again_of_id: Mapped[int | None] = mapped_column(ForeignKey("reading.id"), index=True)
    reader: Mapped[str] = mapped_column(String(40))


class DeedDoneTable(Base):
    """A deed that was done under an id that its sender made. records: what it changed, as ids."""

    __tablename__ = "deed_done"

    uid: Mapped[str] = mapped_column(String(32), primary_key=True)
    deed: Mapped[str] = mapped_column(String(200))
    records: Mapped[list[str]] = mapped_column(JsonText)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
