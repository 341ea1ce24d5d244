"""The conservator's treatment record: materials, samples, salt extraction, protection, images, care, signatures.

Rows are added and never altered, as in ``treatments``.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from patina.records.tables.base import JsonText
from patina.records.tables.treatments import PartTable


class MaterialTable(PartTable):
    """A material brought onto the object or taken off it."""

    __tablename__ = "conservation_material"
    LETTER = "CW"

    way: Mapped[str] = mapped_column(String(400))
    name: Mapped[str] = mapped_column(String(400))
    action_id: Mapped[int | None] = mapped_column(ForeignKey("conservation_action.id"), index=True)
    substance: Mapped[str] = mapped_column(String(400))
    cas: Mapped[str] = mapped_column(String(400))
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    composition: Mapped[Any] = mapped_column(JsonText)
    supplier: Mapped[str] = mapped_column(String(400))
    batch_number: Mapped[str] = mapped_column(String(400))
    quantity: Mapped[float | None]
    quantity_unit: Mapped[str] = mapped_column(String(400))
    left_g: Mapped[float | None]
    left_words: Mapped[str] = mapped_column(String(400))
    zone: Mapped[str] = mapped_column(String(400))
    kept: Mapped[str] = mapped_column(String(400))


class SampleTable(PartTable):
    """A sample that was taken."""

    __tablename__ = "conservation_sample"
    LETTER = "CS"

    what: Mapped[str] = mapped_column(String(400))
    place: Mapped[str] = mapped_column(String(400))
    purpose: Mapped[str] = mapped_column(String(400))
    label: Mapped[str] = mapped_column(String(400))
    kept: Mapped[str] = mapped_column(String(400))
    result: Mapped[str] = mapped_column(Text)
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")


class BathTable(PartTable):
    """A salt extraction."""

    __tablename__ = "conservation_bath"
    LETTER = "CB"

    name: Mapped[str] = mapped_column(String(400))
    measured: Mapped[str] = mapped_column(String(400))
    scheme: Mapped[str] = mapped_column(String(400))
    solution: Mapped[str] = mapped_column(String(400))
    supply: Mapped[float | None]
    object_g: Mapped[float | None]
    target_share: Mapped[float | None]
    note: Mapped[str] = mapped_column(Text)


class BathReadingTable(PartTable):
    """A reading of one bath."""

    __tablename__ = "conservation_bath_reading"
    LETTER = "CR"

    bath_id: Mapped[int] = mapped_column(ForeignKey("conservation_bath.id"), index=True)
    number: Mapped[int | None] = mapped_column("bath_number")
    hours: Mapped[float | None]
    value: Mapped[float | None] = mapped_column("reading_value")
    volume_ml: Mapped[float | None]
    temperature_c: Mapped[float | None]
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")


class LayerTable(PartTable):
    """A layer of protection."""

    __tablename__ = "conservation_layer"
    LETTER = "CL"

    product: Mapped[str] = mapped_column(String(400))
    sort: Mapped[str] = mapped_column(String(400))
    composition: Mapped[Any] = mapped_column(JsonText)
    lot_id: Mapped[int | None] = mapped_column(ForeignKey("lot.id"), index=True)
    batch_number: Mapped[str] = mapped_column(String(400))
    coats: Mapped[int | None]
    used_g: Mapped[float | None]
    area_m2: Mapped[float | None]
    thickness_um: Mapped[float | None]
    application: Mapped[str] = mapped_column(String(400))
    cure_h: Mapped[float | None]
    air_c: Mapped[float | None]
    humidity_pct: Mapped[float | None]
    metal_c: Mapped[float | None]
    zone: Mapped[str] = mapped_column(String(400))
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")


class ImageTable(PartTable):
    """A photograph's place in the record."""

    __tablename__ = "conservation_image"
    LETTER = "CF"

    photograph_id: Mapped[int] = mapped_column(ForeignKey("photograph.id"), index=True)
    role: Mapped[str] = mapped_column(String(400))
    view: Mapped[str] = mapped_column(String(400))
    light: Mapped[str] = mapped_column(String(400))
    position: Mapped[str] = mapped_column(String(400))
    in_frame: Mapped[Any] = mapped_column(JsonText)
    by: Mapped[str] = mapped_column("done_by", String(400))
    on: Mapped[date | None] = mapped_column("done_on")
    note: Mapped[str] = mapped_column(Text)


class CareTable(PartTable):
    """A point of the care schedule."""

    __tablename__ = "conservation_care"
    LETTER = "CI"

    trigger: Mapped[str] = mapped_column(String(400))
    task: Mapped[str] = mapped_column(String(400))
    limit: Mapped[float | None] = mapped_column("limit_value")
    every_months: Mapped[float | None]
    responsible: Mapped[str] = mapped_column(String(400))
    from_day: Mapped[date | None]


class CareVisitTable(PartTable):
    """A look at a point of the care schedule."""

    __tablename__ = "conservation_care_visit"
    LETTER = "CK"

    item_id: Mapped[int] = mapped_column(ForeignKey("conservation_care.id"), index=True)
    on: Mapped[date | None] = mapped_column("done_on")
    by: Mapped[str] = mapped_column("done_by", String(400))
    value: Mapped[float | None] = mapped_column("reading_value")
    finding: Mapped[str] = mapped_column(String(400))
    done: Mapped[str] = mapped_column(Text)


class CareEndTable(PartTable):
    """A point of the care schedule that is looked at no more."""

    __tablename__ = "conservation_care_end"
    LETTER = "CN"

    item_id: Mapped[int] = mapped_column(ForeignKey("conservation_care.id"), index=True)
    on: Mapped[date | None] = mapped_column("done_on")
    by: Mapped[str] = mapped_column("done_by", String(400))
    why: Mapped[str] = mapped_column(Text)


class SignatureTable(PartTable):
    """A name under a proposal or the report. sha256: of the content that was signed."""

    __tablename__ = "conservation_signature"
    LETTER = "CG"

    of: Mapped[str] = mapped_column("signed", String(400))
    version: Mapped[int | None]
    who: Mapped[str] = mapped_column(String(400))
    capacity: Mapped[str] = mapped_column(String(400))
    how: Mapped[str] = mapped_column(String(400))
    dated: Mapped[date | None]
    sha256: Mapped[str] = mapped_column(String(64))


class CopyTable(PartTable):
    """A copy of the record that was given away."""

    __tablename__ = "conservation_copy"
    LETTER = "CE"

    to: Mapped[str] = mapped_column("given_to", String(400))
    what: Mapped[str] = mapped_column(String(400))
    form: Mapped[str] = mapped_column(String(400))
    on: Mapped[date | None] = mapped_column("done_on")
    receipt: Mapped[str] = mapped_column(String(400))
