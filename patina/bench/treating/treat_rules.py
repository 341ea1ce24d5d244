"""What a part of a treatment must be before it is kept, where that hangs on the rest of the studio."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from patina.conservation.care import check_visit
from patina.conservation.kinds import Kind
from patina.conservation.values import CareVisit, ConditionMap, Image, Material, Patch, Statement, Zone
from patina.conservation.vocabulary import not_covered
from patina.errors import Incomplete, NotFound, PatinaError, Refused, UnknownSubstance
from patina.records.photographs.rows import find_photograph, require_use
from patina.records.tables.first import ReadingTable
from patina.records.tables.pieces import CastTable
from patina.records.treating import treatments as treatment_store

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.studio import Studio


def in_order(studio: Studio, session: Session, treatment: Any, kind: Kind, value: Any) -> Any:
    """The value as it is kept. Raises Incomplete, with every trouble and its field."""
    troubles: list[PatinaError] = []

    def trouble(what: str, remedy: str, field: str) -> None:
        troubles.append(Refused(what, remedy, field=field))

    day = getattr(value, "on", None)
    if isinstance(day, date) and day > date.today() + timedelta(days=1):
        trouble("The day lies in the future.", "Correct the date.", "on")
    cast = session.get_one(CastTable, treatment.cast_id)
    try:
        if isinstance(value, ConditionMap | Image):
            require_use(session, find_photograph(session, value.photograph), cast)
        if isinstance(value, Patch):
            _patch(session, treatment, value, trouble)
        if isinstance(value, Statement):
            _statement(session, treatment, value, trouble)
        if isinstance(value, Zone) and not value.polygons and not value.extent:
            trouble("It is not said how far the zone goes.", "Draw it, or give its extent.", "polygons")
        if isinstance(value, CareVisit):
            item = treatment_store.find_part(session, value.item, "item")
            check_visit(_kept(session, treatment, "care", item.public_id), value)
        if isinstance(value, Material):
            value = _material(studio, value)
    except PatinaError as found:
        troubles.append(found)
    if troubles:
        raise Incomplete(troubles)
    return value


def _kept(session: Session, treatment: Any, many: str, id: str) -> Any:
    parts, _ = treatment_store.kept_parts(session, treatment)
    for part in parts[many]:
        if part.id == id:
            return part.value
    raise NotFound(f"{id} does not stand in this treatment.", "Look at the treatment again.", field="item")


def _patch(session: Session, treatment: Any, value: Patch, trouble: Any) -> None:
    if value.strength is not None and not value.strength_unit:
        trouble("The strength has no unit.", "Say what it is in, such as % v/v or g/L.", "strength_unit")
    if (value.spot is None) != (value.map is None):
        trouble("A place on the map needs the map, and the other way round.", "Give both or neither.", "spot")
    for field in ("reading_before", "reading_after"):
        id = getattr(value, field)
        if id is None:
            continue
        number = treatment_store.split_id(id)[1]
        row = session.get(ReadingTable, number)
        if row is not None and row.cast_id != treatment.cast_id:
            trouble(f"{id} is no reading of this cast.", "Give a reading of the cast.", field)


def _statement(session: Session, treatment: Any, value: Statement, trouble: Any) -> None:
    if value.sort == "observation" and value.rests_on:
        trouble(
            "An observation rests on nothing but itself.", "Make it an interpretation, or leave that empty.", "rests_on"
        )
    if value.rests_on:
        parts, _ = treatment_store.kept_parts(session, treatment)
        seen = {part.id for part in parts["statements"] if part.value.sort == "observation"}
        unknown = [id for id in value.rests_on if id.upper() not in seen]
        if unknown:
            trouble(
                f"{', '.join(unknown)}: no observation of this treatment.", "Give ids of its observations.", "rests_on"
            )
    for scope in not_covered(value.method):
        trouble(f"{scope.mark} covers {scope.covers}: it cannot be the method here.", f"{scope.instead}.", "method")


def _material(studio: Studio, value: Material) -> Material:
    """The substance by its catalogue key, with its CAS number where none was said."""
    if not value.substance:
        return value
    try:
        substance = studio.catalogue().find(value.substance, field="substance")
    except UnknownSubstance as trouble:
        raise Refused(
            f"'{value.substance}' is not in the catalogue.",
            "Leave the substance empty and give composition and CAS, or add the substance to the studio.",
            field="substance",
        ) from trouble
    return replace(value, substance=substance.key, cas=value.cas or substance.cas or "")
