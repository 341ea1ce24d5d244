"""The tables of a studio. Every change to a `Record` goes into the log (see `log/changes.py`).

Recipes and their revisions, tiles and readings: what the first screen asks for. Each further table costs the start
as much as twenty questions, so the others stand in modules of their own (`pieces.py`, `photographs.py`,
`readings.py`, `shelf.py` ...).
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from patina.records.tables.base import Base, Edited, JsonText, Record, UtcMoment, now


class SettingRow(Base):
    """A setting of the studio: its own uid, who works here."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(String(80), primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class WordRow(Base):
    """One word of one record's search text. letter: of the record's id. Worked out, so not logged."""

    __tablename__ = "word"
    # whether one record has a word is answered by this index alone
    __table_args__ = (Index(None, "letter", "record_id", "word"),)

    letter: Mapped[str] = mapped_column(String(1), primary_key=True)
    word: Mapped[str] = mapped_column(
        # compared character by character, whatever the language of the database
        String(80).with_variant(String(80, collation="C"), "postgresql"),
        primary_key=True,
    )
    record_id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)


_EXACTLY = "C"  # compared sign by sign, whatever the language of the database


class GramRow(Base):
    """Three signs of one word that records of a kind have, or the one or two that end it, by which it is found
    from its middle. Worked out."""

    __tablename__ = "gram"

    letter: Mapped[str] = mapped_column(String(4), primary_key=True)
    gram: Mapped[str] = mapped_column(
        String(3).with_variant(String(3, collation=_EXACTLY), "postgresql"), primary_key=True
    )
    word: Mapped[str] = mapped_column(
        String(80).with_variant(String(80, collation=_EXACTLY), "postgresql"), primary_key=True
    )


class SubstanceRow(Record):
    """A substance added in this studio, as the catalogue's own value."""

    __tablename__ = "substance"
    LETTER = "S"

    key: Mapped[str] = mapped_column(String(120), unique=True)
    document: Mapped[Any] = mapped_column(JsonText)


class RecipeTable(Edited):
    """A recipe: a name that its revisions share. revision: number of the latest."""

    __tablename__ = "recipe"
    __table_args__ = (Index(None, "name_folded", unique=True),)
    LETTER = "R"
    DERIVED = frozenset({"search_text", "name_folded"})

    name: Mapped[str] = mapped_column(String(400))
    name_folded: Mapped[str] = mapped_column(String(400))
    revision: Mapped[int] = mapped_column(default=1)

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


class RevisionTable(Record):
    """A recipe as it stood; frozen once written. document: the whole recipe; content_sha256: its
    hash; the other columns repeat what lists show."""

    __tablename__ = "revision"
    __table_args__ = (UniqueConstraint("recipe_id", "number"),)
    LETTER = "V"

    recipe_id: Mapped[int] = mapped_column(ForeignKey("recipe.id"))
    number: Mapped[int]
    reason: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("made_by", String(200))
    made_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    finish: Mapped[str] = mapped_column(Text)
    provenance: Mapped[str] = mapped_column(Text)
    alloys: Mapped[list[str]] = mapped_column(JsonText)
    methods: Mapped[list[str]] = mapped_column(JsonText)
    document: Mapped[Any] = mapped_column(JsonText)
    content_sha256: Mapped[str] = mapped_column(String(64))

    recipe: Mapped[RecipeTable] = relationship()


class RevisionSubstance(Base):
    """Which substances a revision uses, for "what do I make with this?"."""

    __tablename__ = "revision_substance"

    revision_id: Mapped[int] = mapped_column(ForeignKey("revision.id"), primary_key=True)
    substance: Mapped[str] = mapped_column(String(120), primary_key=True, index=True)


class TileTable(Edited):
    """A test tile and how it was really made."""

    __tablename__ = "tile"
    __table_args__ = (Index(None, "revision_id"), Index(None, "engraved"))
    LETTER = "T"
    DERIVED = frozenset({"search_text"})

    engraved: Mapped[str] = mapped_column(String(200))
    alloy: Mapped[str] = mapped_column(String(200))
    preparation: Mapped[str] = mapped_column(Text)
    wall_mm: Mapped[float | None]
    size: Mapped[str] = mapped_column(String(200))
    revision_id: Mapped[int | None] = mapped_column(ForeignKey("revision.id"))
    as_done: Mapped[list[str]] = mapped_column(JsonText)
    made_on: Mapped[date | None]
    made_by: Mapped[str] = mapped_column(String(200))
    wax_state: Mapped[str] = mapped_column(String(40))
    note: Mapped[str] = mapped_column(Text)
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id"))

    __mapper_args__ = {"version_id_col": Edited.version}  # noqa: RUF012


def one_target() -> CheckConstraint:
    """A reading and a photograph belong to a tile or to a cast, never to both."""
    return CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name="one_target")


class ReadingTable(Record):
    """A colour reading of a tile or a cast; never edited. latest: whether none is newer."""

    __tablename__ = "reading"
    __table_args__ = (
        one_target(),
        Index(None, "tile_id", "latest"),
        Index(None, "cast_id", "latest"),
        # all that the search by colour looks at, in order of lightness
        Index("ix_reading_by_colour", "illuminant", "observer", "latest", "lab_l", "lab_a", "lab_b", "tile_id"),
    )
    LETTER = "D"
    DERIVED = frozenset({"latest"})

    tile_id: Mapped[int | None] = mapped_column(ForeignKey("tile.id"))
    cast_id: Mapped[int | None] = mapped_column(ForeignKey("cast_piece.id"))
    photograph_id: Mapped[int | None] = mapped_column(ForeignKey("photograph.id"), index=True)
    lab_l: Mapped[float]
    lab_a: Mapped[float]
    lab_b: Mapped[float]
    illuminant: Mapped[str] = mapped_column(String(20))
    observer: Mapped[str] = mapped_column(String(20))
    source: Mapped[str] = mapped_column(String(40))
    area: Mapped[str] = mapped_column(String(200))
    geometry: Mapped[str] = mapped_column(String(40))
    instrument: Mapped[str] = mapped_column(String(400))
    sd: Mapped[list[float] | None] = mapped_column(JsonText)
    n: Mapped[int]
    uncertainty_de00: Mapped[float | None]
    wax_state: Mapped[str] = mapped_column(String(40))
    warmth: Mapped[str] = mapped_column(String(40))
    read_at: Mapped[datetime] = mapped_column(UtcMoment)
    read_by: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text)
    parts: Mapped[list[list[float]]] = mapped_column(JsonText)
    added_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    latest: Mapped[bool] = mapped_column(default=False)
