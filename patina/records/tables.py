"""The tables of a studio. Every change to a `Record` goes into the log (see `log.py`).

Recipes and their revisions, tiles, photographs, readings, agreed finishes, pieces and casts. The
shelf and the batches are in `shelf_tables.py`.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from patina.records.base import Base, Edited, JsonText, Record, UtcMoment, now


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


def _one_target() -> CheckConstraint:
    return CheckConstraint("(tile_id IS NULL) <> (cast_id IS NULL)", name="one_target")


class PhotographUse(Record):
    """A photograph as it belongs to a tile or a cast; one photograph may show several."""

    __tablename__ = "photograph_use"
    __table_args__ = (
        _one_target(),
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


class ReadingTable(Record):
    """A colour reading of a tile or a cast; never edited. latest: whether none is newer."""

    __tablename__ = "reading"
    __table_args__ = (
        _one_target(),
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
