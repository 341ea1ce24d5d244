"""The conservator's treatment record: its head, and identification, examination, condition, proposal and tests.

The head may be edited, with a version. A part is added and never altered: a correction is another row that
``replaces`` it, and what is taken back is a row that replaces it and is ``withdrawn``.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, declared_attr, mapped_column

from patina.records.tables.base import JsonText, Record, UtcMoment, now


class ConservationTable(Record):
    """The head of a treatment record."""

    __tablename__ = "conservation"
    LETTER = "CT"

    version: Mapped[int] = mapped_column(default=1)
    created_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    cast_id: Mapped[int] = mapped_column(ForeignKey("cast_piece.id"), index=True)
    name: Mapped[str] = mapped_column(String(400))
    accession: Mapped[str] = mapped_column(String(400))
    measurements: Mapped[str] = mapped_column(String(400))
    marks: Mapped[str] = mapped_column(String(400))
    made_when: Mapped[str] = mapped_column(String(400))
    site: Mapped[str] = mapped_column(String(400))
    owner: Mapped[str] = mapped_column(String(400))
    legal_status: Mapped[str] = mapped_column(String(400))
    purpose: Mapped[str] = mapped_column(Text)
    reference_appearance: Mapped[str] = mapped_column(Text)
    alloy_known_by: Mapped[str] = mapped_column(String(400))
    documenter: Mapped[str] = mapped_column(String(400))
    started_on: Mapped[date | None]
    finished_on: Mapped[date | None]
    state_after: Mapped[str] = mapped_column(Text)
    result: Mapped[str] = mapped_column(Text)
    limits: Mapped[str] = mapped_column(Text)
    recommendations: Mapped[str] = mapped_column(Text)
    health_and_waste: Mapped[str] = mapped_column(Text)
    note: Mapped[str] = mapped_column(Text)

    __mapper_args__ = {"version_id_col": version}  # noqa: RUF012


class PartTable(Record):
    """What every part shares. replaces_id: the part that this one corrects or takes back."""

    __abstract__ = True

    conservation_id: Mapped[int] = mapped_column(ForeignKey("conservation.id"), index=True)
    written_at: Mapped[datetime] = mapped_column(UtcMoment, default=now)
    written_by: Mapped[str] = mapped_column(String(200))
    withdrawn: Mapped[bool] = mapped_column(default=False)
    reason: Mapped[str] = mapped_column(Text, default="")

    @declared_attr
    def replaces_id(cls) -> Mapped[int | None]:  # noqa: N805  SQLAlchemy calls it with the class
        """The part that this one stands in place of."""
        return mapped_column(ForeignKey(f"{cls.__tablename__}.id"), unique=True)


class PersonTable(PartTable):
    """Somebody who worked on it or decided about it."""

    __tablename__ = "conservation_person"
    LETTER = "CP"

    name: Mapped[str] = mapped_column(String(400))
    role: Mapped[str] = mapped_column(String(400))
    affiliation: Mapped[str] = mapped_column(String(400))


class AuthorityTable(PartTable):
    """Leave to treat, to a proposal or to a deviation."""

    __tablename__ = "conservation_authority"
    LETTER = "CY"

    what: Mapped[str] = mapped_column(String(400))
    who: Mapped[str] = mapped_column(String(400))
    capacity: Mapped[str] = mapped_column(String(400))
    in_writing: Mapped[str] = mapped_column(String(400))
    dated: Mapped[date | None]
    proposal: Mapped[int | None]
    deviation_id: Mapped[int | None] = mapped_column(ForeignKey("conservation_action.id"), index=True)
    scope: Mapped[str] = mapped_column(Text)


class StatementTable(PartTable):
    """One thing seen, or one thing concluded."""

    __tablename__ = "conservation_statement"
    LETTER = "CO"

    sort: Mapped[str] = mapped_column(String(400))
    topic: Mapped[str] = mapped_column(String(400))
    text: Mapped[str] = mapped_column(Text)
    place: Mapped[str] = mapped_column(String(400))
    method: Mapped[str] = mapped_column(String(400))
    circumstances: Mapped[str] = mapped_column(String(400))
    rests_on: Mapped[Any] = mapped_column(JsonText)
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")


class MapTable(PartTable):
    """A photograph that zones are drawn on. outline: polygons in fractions of it."""

    __tablename__ = "conservation_map"
    LETTER = "CM"

    visit: Mapped[str] = mapped_column(String(400))
    view: Mapped[str] = mapped_column(String(400))
    photograph_id: Mapped[int] = mapped_column(ForeignKey("photograph.id"), index=True)
    outline: Mapped[Any] = mapped_column(JsonText)
    seen_on: Mapped[date | None]
    seen_by: Mapped[str] = mapped_column(String(400))
    circumstances: Mapped[str] = mapped_column(String(400))


class ZoneTable(PartTable):
    """A zone of a condition map. polygons: in fractions of the map's photograph."""

    __tablename__ = "conservation_zone"
    LETTER = "CZ"

    map_id: Mapped[int] = mapped_column(ForeignKey("conservation_map.id"), index=True)
    name: Mapped[str] = mapped_column(String(400))
    term: Mapped[str] = mapped_column(String(400))
    polygons: Mapped[Any] = mapped_column(JsonText)
    extent: Mapped[str] = mapped_column(String(400))
    severity: Mapped[int | None]
    activity: Mapped[str] = mapped_column(String(400))
    adhesion: Mapped[str] = mapped_column(String(400))
    bead: Mapped[str] = mapped_column(String(400))
    note: Mapped[str] = mapped_column(Text)


class ProposalTable(PartTable):
    """A version of what is proposed. number: counted within its treatment."""

    __tablename__ = "conservation_proposal"
    __table_args__ = (UniqueConstraint("conservation_id", "number"),)
    LETTER = "CV"

    aim: Mapped[str] = mapped_column(Text)
    steps: Mapped[Any] = mapped_column(JsonText)
    alternatives: Mapped[Any] = mapped_column(JsonText)
    retreatability: Mapped[str] = mapped_column(Text)
    risks: Mapped[str] = mapped_column(Text)
    reference_appearance: Mapped[str] = mapped_column(Text)
    hours_low: Mapped[float | None]
    hours_high: Mapped[float | None]
    visits: Mapped[int | None]
    cost: Mapped[str] = mapped_column(String(400))
    drafted_by: Mapped[str] = mapped_column(String(400))
    drafted_on: Mapped[date | None]
    why: Mapped[str] = mapped_column(Text)
    number: Mapped[int]


class PatchTable(PartTable):
    """A test patch. spot: its place on the map, in fractions."""

    __tablename__ = "conservation_patch"
    LETTER = "CX"

    place: Mapped[str] = mapped_column(String(400))
    agent: Mapped[str] = mapped_column(String(400))
    strength: Mapped[float | None]
    strength_unit: Mapped[str] = mapped_column(String(400))
    dwell_min: Mapped[float | None]
    tool: Mapped[str] = mapped_column(String(400))
    area_cm2: Mapped[float | None]
    effect: Mapped[str] = mapped_column(String(400))
    harm: Mapped[str] = mapped_column(String(400))
    result: Mapped[str] = mapped_column(Text)
    mildness: Mapped[int | None]
    map_id: Mapped[int | None] = mapped_column(ForeignKey("conservation_map.id"), index=True)
    spot: Mapped[Any] = mapped_column(JsonText, nullable=True)
    reading_before_id: Mapped[int | None] = mapped_column(ForeignKey("reading.id"), index=True)
    reading_after_id: Mapped[int | None] = mapped_column(ForeignKey("reading.id"), index=True)
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")


class ActionTable(PartTable):
    """An entry of the log."""

    __tablename__ = "conservation_action"
    LETTER = "CA"

    on: Mapped[date | None] = mapped_column("done_on")
    by: Mapped[str] = mapped_column("done_by", String(400))
    did: Mapped[str] = mapped_column(String(400))
    zone: Mapped[str] = mapped_column(String(400))
    how: Mapped[str] = mapped_column(Text)
    tool: Mapped[str] = mapped_column(String(400))
    agent: Mapped[str] = mapped_column(String(400))
    temperature_c: Mapped[float | None]
    temperature_by: Mapped[str] = mapped_column(String(400))
    passes: Mapped[int | None]
    dwell_min: Mapped[float | None]
    air_c: Mapped[float | None]
    humidity_pct: Mapped[float | None]
    metal_c: Mapped[float | None]
    result: Mapped[str] = mapped_column(Text)
    hours: Mapped[float | None]
    proposal: Mapped[int | None]
    deviation: Mapped[str] = mapped_column(Text)
    deviation_why: Mapped[str] = mapped_column(Text)
    consent: Mapped[str] = mapped_column(String(400))
