"""One treatment put together: the record, the shelf and the cast it belongs to, and what is worked out from them."""

from __future__ import annotations

import math
from datetime import date
from typing import TYPE_CHECKING, Any

from patina.bench.shelves.shelf import lot_of_row
from patina.bench.treating.treat_care import earlier_care
from patina.conservation.care import care_status
from patina.conservation.completeness import PURPOSES, completeness
from patina.conservation.condition import latest_pairs, map_change, map_shares
from patina.conservation.consent import consent_flags, still_signed
from patina.conservation.images import image_pairs
from patina.conservation.patches import lowest_effective
from patina.conservation.record import Kept, ObjectFacts, Record, SignedOff
from patina.conservation.salts import judge_extraction
from patina.conservation.saying import sayings
from patina.conservation.signed import signed_facts
from patina.conservation.values import Layer, Material, Patch
from patina.errors import NotComparable, NotFound, PatinaError
from patina.own_words import meet
from patina.records.log import seals
from patina.records.pieces import casts
from patina.records.tables.ids import fetch
from patina.records.tables.pieces import CastTable, PieceTable
from patina.records.tables.shelf import LotTable
from patina.records.treating import treatments as treatment_store
from patina.sheets.treatment import LayerFacts, MaterialFacts, PatchChange, TreatmentSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio
    from patina.sheets import CastSheet, LotRow, ReadingRow, TreatmentRow


def _meet(value: Any) -> None:
    """Tell of what a person typed freely, lists too, so that none of it is translated."""
    for name, saying in sayings(type(value)).items():
        if saying.how in ("text", "words", "lines") and not saying.choices:
            said = getattr(value, name)
            for words in said if isinstance(said, tuple) else (said,):
                meet(words)


def record_of(session: Session, row: Any) -> tuple[Record, CastSheet]:
    """The record of a treatment and the sheet of its cast."""
    cast = casts.cast_sheet(session, session.get_one(CastTable, row.cast_id))
    parts, earlier = treatment_store.kept_parts(session, row)
    seal = seals.seal_row(session, row)
    record = Record(
        id=row.public_id,
        head=treatment_store.head_of(row),
        object=_object(session, cast),
        version=row.version,
        begun_at=row.created_at,
        earlier=tuple(earlier),
        uid=row.uid,
        cast_uid=session.get_one(CastTable, row.cast_id).uid,
        signed_off=None if seal is None else SignedOff(seal.by, seal.at),
        **{many: tuple(kept) for many, kept in parts.items()},
    )
    for value in (record.head, *(kept.value for _, kept in record.all_parts())):
        _meet(value)
    return record, cast


def _object(session: Session, cast: CastSheet) -> ObjectFacts:
    piece = session.get_one(PieceTable, int(cast.row.piece_id[1:]))
    return ObjectFacts(
        cast=cast.row.id,
        title=piece.title,
        maker=piece.maker,
        number=cast.row.number,
        edition=piece.edition,
        alloy=cast.row.alloy,
        owner=cast.row.owner,
        place=cast.row.place,
        height_mm=piece.height_mm,
        area_m2=cast.area_m2,
    )


def gather(studio: Studio, session: Session, row: Any, today: date) -> TreatmentSheet:
    """The whole sheet of a treatment."""
    record, cast = record_of(session, row)
    aspects = {p.sha256: p.width_px / p.height_px for p in cast.photographs}
    by_map = {m.id: aspects.get(m.value.photograph, 1.5) for m in record.maps}
    used: list[Kept[Material] | Kept[Layer]] = [*record.materials, *record.layers]
    named = dict.fromkeys(part.value.lot for part in used if part.value.lot)
    lots = {id: lot_of_row(studio, fetch(session, LotTable, id)) for id in named}
    return TreatmentSheet(
        record=record,
        today=today,
        maps=tuple(map_shares(m, record.zones, by_map[m.id]) for m in record.maps),
        changes=tuple(
            map_change(one, other, record.zones, aspects=(by_map[one.id], by_map[other.id]))
            for one, other in latest_pairs(record.maps)
        ),
        patches=lowest_effective(record.patches),
        patch_changes=tuple(_patch_change(p, cast.readings) for p in record.patches if _read(p.value)),
        extractions=tuple(judge_extraction(bath, record.bath_readings) for bath in record.baths),
        layers=tuple(_layer_facts(layer) for layer in record.layers),
        materials=tuple(_material_facts(studio, part, lots) for part in used),
        care=care_status(record, today),
        flags=consent_flags(record),
        completeness=tuple(completeness(record, purpose) for purpose in PURPOSES),
        pairs=image_pairs(record),
        unsigned=tuple(s.id for s in record.signatures if not still_signed(record, s)),
        signed=signed_facts(record),
        photographs=cast.photographs,
        readings=cast.readings,
        lots=tuple(lots.values()),
        studio_work=_studio_work(record, cast),
        hours=_hours(record),
        earlier_care=earlier_care(session, row, today),
    )


def _hours(record: Record) -> float | None:
    said = [a.value.hours for a in record.actions if a.value.hours is not None]
    return math.fsum(said) if said else None


def _studio_work(record: Record, cast: CastSheet) -> tuple[TreatmentRow, ...]:
    """What was put down on the cast itself between the first and the last day of the treatment."""
    days = [a.value.on for a in record.actions if a.value.on is not None]
    begun = record.head.started_on or min(days, default=None)
    if begun is None:
        return ()
    ended = record.head.finished_on or date.max
    return tuple(row for row in cast.treatments if row.done_on is not None and begun <= row.done_on <= ended)


def _read(patch: Patch) -> bool:
    return patch.reading_before is not None or patch.reading_after is not None


def _patch_change(patch: Kept[Patch], readings: tuple[ReadingRow, ...]) -> PatchChange:
    from patina.colour.difference import compare

    by_id = {r.id: r for r in readings}
    before, after = (by_id.get(id or "") for id in (patch.value.reading_before, patch.value.reading_after))
    if before is None or after is None:
        return PatchChange(patch.id, None, "one of the two readings is missing")
    try:
        found = compare(before.lab, after.lab)
    except NotComparable as trouble:
        return PatchChange(patch.id, None, trouble.what)
    doubts = [r.uncertainty_de00 for r in (before, after)]
    if None not in doubts and found.delta_e <= (u := math.hypot(*(d or 0.0 for d in doubts))):
        return PatchChange(patch.id, found, f"no change that can be told (± {u:.1f})")
    state = "" if before.wax_state == after.wax_state else f" (read {before.wax_state}, then {after.wax_state})"
    return PatchChange(patch.id, found, f"{found.words}{state}")


def _layer_facts(layer: Kept[Layer]) -> LayerFacts:
    from patina.surface.dew import check_dew

    said = layer.value
    weight = None if said.used_g is None or not said.area_m2 else said.used_g / said.area_m2
    each = None if weight is None or not said.coats else weight / said.coats
    if said.metal_c is None or said.air_c is None or said.humidity_pct is None:
        lacks = [
            w for w, v in (("metal", said.metal_c), ("air", said.air_c), ("humidity", said.humidity_pct)) if v is None
        ]
        return LayerFacts(layer.id, weight, each, None, None, None, f"not read: {', '.join(lacks)}")
    try:
        dew = check_dew(said.metal_c, said.air_c, said.humidity_pct)
    except PatinaError as trouble:
        return LayerFacts(layer.id, weight, each, None, None, None, trouble.what)
    return LayerFacts(layer.id, weight, each, dew.dew_c, dew.margin_k, dew.dry, dew.words)


def _material_facts(studio: Studio, part: Kept[Material] | Kept[Layer], lots: dict[str, LotRow]) -> MaterialFacts:
    said = part.value
    lot = lots.get(said.lot or "")
    name = said.name if isinstance(said, Material) else said.product
    substance = said.substance if isinstance(said, Material) else ""
    cas = said.cas if isinstance(said, Material) else ""
    supplier = said.supplier if isinstance(said, Material) else ""
    if substance and not cas:
        try:
            cas = studio.catalogue().find(substance).cas or ""
        except NotFound:
            cas = ""
    return MaterialFacts(
        id=part.id,
        name=name,
        substance=substance or ("" if lot is None else lot.substance),
        cas=cas or ("" if lot is None else lot.cas or ""),
        supplier=supplier or ("" if lot is None else lot.supplier),
        lot=said.batch_number or ("" if lot is None else lot.lot_number),
        grade="" if lot is None else lot.grade,
        composition=said.composition,
    )
