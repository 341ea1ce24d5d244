"""The tables of who works in the studio, whose eyes a recipe is for, and who has been given what."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Edited, JsonText, Record, UtcMoment, now


class PersonTable(Edited):
    """Somebody who works with the records. role: a role of ``data/roles.csv``. login: the name by which a database
    server knows this person, empty in a studio in a folder. active: False for who has left; nobody is removed."""

    __tablename__ = "person"
    __table_args__ = (Index(None, "name_folded", unique=True), Index(None, "login"))
    LETTER = "PE"
    DERIVED = frozenset({"search_text", "name_folded"})

    name: Mapped[str] = mapped_column(String(200))
    name_folded: Mapped[str] = mapped_column(String(200))
    role: Mapped[str] = mapped_column(String(40))
    login: Mapped[str] = mapped_column(String(63))
    contact: Mapped[str] = mapped_column(String(400))
    active: Mapped[bool] = mapped_column(default=True)
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class WithholdingTable(Record):
    """Whether the quantities of a recipe are withheld from that day on; the newest row counts.

    number: of the one revision meant, None for all of the recipe's. open_to: roles and names of persons who may
    see them beside those whose role always may.
    """

    __tablename__ = "withholding"
    LETTER = "WH"

    recipe_id: Mapped[int] = mapped_column(ForeignKey("recipe.id"), index=True)
    number: Mapped[int | None]
    withheld: Mapped[bool]
    open_to: Mapped[list[str]] = mapped_column(JsonText)
    why: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))


class OpenSafetyTable(Record):
    """The safety notes of a withheld revision without its strengths, for those who may not read the recipe itself.
    document: as ``SafetySheet.as_json`` has it. The newest row of a revision and regime counts."""

    __tablename__ = "open_safety"
    __table_args__ = (Index(None, "revision_id", "regime"),)
    LETTER = "OS"

    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"))
    regime: Mapped[str] = mapped_column(String(10))
    document: Mapped[Any] = mapped_column(JsonText)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class HandoverTable(Record):
    """Something given to somebody, or taken back; never altered.

    kind: one of ``HANDED`` in the sheets. record: what it is or is of (C1, R1, T3), empty for the whole studio.
    record_version: number of the revision or version given, None where there is none. sha256, file_name,
    size_bytes: of a file given. terms: what was agreed about it, in words. back_by: the day it is to be back or
    the licence ends. ends_id: the earlier row that this one ends, where something came back.
    """

    __tablename__ = "handover"
    LETTER = "GV"

    kind: Mapped[str] = mapped_column(String(40))
    record: Mapped[str] = mapped_column(String(40), index=True)
    record_version: Mapped[int | None]
    what: Mapped[str] = mapped_column(Text)
    given_to: Mapped[str] = mapped_column(String(400))
    as_what: Mapped[str] = mapped_column(String(80))
    terms: Mapped[str] = mapped_column(Text)
    file_name: Mapped[str] = mapped_column(String(400))
    sha256: Mapped[str] = mapped_column(String(64))
    size_bytes: Mapped[int | None]
    given_on: Mapped[date]
    back_by: Mapped[date | None]
    ends_id: Mapped[int | None] = mapped_column(ForeignKey("handover.id"), unique=True)
    note: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))


class OwnerCareTable(Record):
    """What the owner of a cast is told: care, the next check, the wax on it, whom to ask. The newest counts."""

    __tablename__ = "owner_care"
    LETTER = "OC"

    cast_id: Mapped[int] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    care: Mapped[str] = mapped_column(Text)
    wax: Mapped[str] = mapped_column(String(400))
    next_check: Mapped[date | None]
    ask: Mapped[str] = mapped_column(String(400))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    by: Mapped[str] = mapped_column("written_by", String(200))


class RecipeDraftTable(Edited):
    """A recipe's text that could not be saved because somebody else had been there; kept until it is resolved.

    based_on: the revision it was written on. met: the revision that was there. resolved: empty while it waits,
    else "kept" (saved on top), "dropped" (the other one was taken).
    """

    __tablename__ = "recipe_draft"
    LETTER = "RD"
    DERIVED = frozenset({"search_text"})

    recipe_id: Mapped[int] = mapped_column(ForeignKey("recipe.id"), index=True)
    based_on: Mapped[int]
    met: Mapped[int]
    document: Mapped[Any] = mapped_column(JsonText)
    reason: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("made_by", String(200))
    resolved: Mapped[str] = mapped_column(String(40))
    saved_as: Mapped[int | None]

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012
