"""The tables of bundles that were taken in: what came, when, by whom, and the log of changes that came with it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import Base, JsonText, Record, UtcMoment, now


class TakenBundleTable(Record):
    """An archive bundle of another studio that was taken in; never altered.

    sha256: of the file. target: what it was made of there, empty for a whole studio. name: what that is called.
    studio: whose it was. log_n, log_sha256: number and hash of the last change in the log it came from. given_sha256:
    over what is kept of that log. renumbered: [id there, id here] of every record whose id is another here.
    """

    __tablename__ = "taken_bundle"
    LETTER = "TB"

    file_name: Mapped[str] = mapped_column(String(400))
    sha256: Mapped[str] = mapped_column(String(64))
    target: Mapped[str] = mapped_column(String(40))
    name: Mapped[str] = mapped_column(String(400))
    studio: Mapped[str] = mapped_column(String(400))
    program: Mapped[str] = mapped_column(String(40))
    log_n: Mapped[int]
    log_sha256: Mapped[str] = mapped_column(String(64))
    given_sha256: Mapped[str] = mapped_column(String(64))
    renumbered: Mapped[list[list[str]]] = mapped_column(JsonText)
    by: Mapped[str] = mapped_column("taken_by", String(200))
    at: Mapped[datetime] = mapped_column(UtcMoment, default=now)


class GivenChangeRow(Base):
    """A change of the log that came with a bundle. hash: its place in the chain there. record: the id here of what
    it is about. entry: the whole entry as it was given, None where only its hash was."""

    __tablename__ = "given_change"
    __table_args__ = (Index(None, "record"),)

    bundle_id: Mapped[int] = mapped_column(ForeignKey("taken_bundle.id"), primary_key=True, autoincrement=False)
    n: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    hash: Mapped[str] = mapped_column(String(64))
    record: Mapped[str | None] = mapped_column(String(40))
    entry: Mapped[str | None] = mapped_column(Text)
