"""Care that is due, of every treatment on record, by owner; and care of earlier treatments, handed on or ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from patina.bench.studio import Studio
from patina.conservation.care import STATES, care_status, counted_from
from patina.conservation.kinds import BY_NAME
from patina.conservation.reading_words import read_part
from patina.conservation.record import ObjectFacts, Record
from patina.conservation.values import CareEnd
from patina.errors import Incomplete, NotFound, PatinaError, Refused
from patina.records.log import seals
from patina.records.pieces import casts
from patina.records.studio.unit import unit
from patina.records.tables.pieces import CastTable
from patina.records.tables.treatments import ConservationTable
from patina.records.treating import treatments as treatment_store
from patina.sheets.treatment import CareRow

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.sheets import CastRow
    from patina.sheets.treatment import TreatmentSheet

_CARE = (BY_NAME["care"], BY_NAME["care-visit"], BY_NAME["care-end"])
GONE = ("in time", "ended")  # states that are not reminded of


def care_rows(
    studio: Studio, today: date | None = None, *, owner: str = "", all_points: bool = False
) -> tuple[CareRow, ...]:
    """Points of care schedules that are due or soon due, by owner, the most pressing first. owner: only those
    whose name holds these words. all_points: also those that are in time."""
    day = today or date.today()
    found: list[CareRow] = []
    with studio.store.view() as session:
        heads = treatment_store.all_treatments(session)
        of_casts = _casts_of(session, heads)
        for head in heads:
            rows = _rows_of(session, head, of_casts[f"C{head.cast_id}"], _later(head, heads), day)
            found += [row for row in rows if all_points or row.status.state not in GONE]
    wanted = owner.casefold().split()
    found = [row for row in found if all(word in row.owner.casefold() for word in wanted)]
    return tuple(sorted(found, key=lambda r: (r.owner.casefold(), STATES.index(r.status.state), -r.status.days)))


def earlier_care(session: Session, treatment: ConservationTable, today: date) -> tuple[CareRow, ...]:
    """Points of care that still remind though this later treatment of the same object was begun, oldest first."""
    heads = treatment_store.all_treatments(session, treatment.cast_id)
    before = [head for head in heads if _place(head) < _place(treatment)]
    if not before:
        return ()
    cast = _casts_of(session, before)[f"C{treatment.cast_id}"]
    return tuple(
        row
        for head in sorted(before, key=_place)
        for row in _rows_of(session, head, cast, _later(head, heads), today)
        if row.status.state != "ended"
    )


def hand_on_care(
    studio: Studio,
    which: str,
    *,
    take_over: Mapping[str, str],
    end: Mapping[str, str],
    on: date | None = None,
    by: str = "",
) -> TreatmentSheet:
    """Let a treatment take over points of care of earlier treatments of its object, or end them; the earlier records
    are added to, also where they were signed off, and nothing in them is altered.

    take_over, end: the id of each point, such as CI3, and why. A point that is taken over is written anew in this
    treatment's schedule and counts on from its last visit, or from the end of this treatment where that is later.
    on: the day it is done. Raises Incomplete with every trouble and its point as the field, NotFound.
    """
    from patina.bench.treating.treat_gather import gather

    day, who = on or date.today(), studio.who(by)
    with unit(studio.store, "hand on care", by=who) as work:
        row = treatment_store.find_treatment(work.session, which)
        open_points = {point.status.item.id: point for point in earlier_care(work.session, row, day)}
        taken, ended = ({id.strip().upper(): why for id, why in said.items()} for said in (take_over, end))
        _look_at(work.session, row, open_points, taken, ended)
        for reasons in (taken, ended):
            for id, why in reasons.items():
                point = open_points[id]
                value = read_part(CareEnd, {"item": point.status.item.id, "on": str(day), "by": who, "why": why})
                if reasons is taken:
                    since = counted_from(point.status, row.finished_on)
                    item = replace(point.status.item.value, from_day=since)
                    treatment_store.add_part(work.session, row, BY_NAME["care"], item, by=who, reason=why.strip())
                earlier = treatment_store.find_treatment(work.session, point.treatment)
                treatment_store.add_part(work.session, earlier, BY_NAME["care-end"], value, by=who)
        sheet = gather(studio, work.session, row, date.today())
        work.commit()
    return sheet


def _look_at(
    session: Session,
    row: ConservationTable,
    open_points: Mapping[str, CareRow],
    taken: Mapping[str, str],
    ended: Mapping[str, str],
) -> None:
    """Refuse what cannot be handed on, all of it at once. Raises Incomplete."""
    troubles: list[PatinaError] = []
    if not taken and not ended:
        troubles.append(Refused("No point of care is named.", "Name one to be taken over or ended."))
    for id in dict.fromkeys((*taken, *ended)):
        if id not in open_points:
            troubles.append(
                NotFound(
                    f"{id} is no open point of care of a treatment before {row.public_id}.",
                    f"patina treatment earlier-care {row.public_id} lists them.",
                    field=id,
                )
            )
    for id in taken.keys() & ended.keys():
        troubles.append(Refused(f"{id} is both taken over and ended.", "Choose one of the two.", field=id))
    if taken and seals.seal_row(session, row) is not None:
        troubles.append(
            Refused(
                f"{row.public_id} was signed off: its schedule stays as it was signed.",
                "End the earlier point with the reason, or let it stand.",
            )
        )
    for id in taken:
        point = open_points.get(id)
        if point is not None and point.status.state == "act" and row.finished_on is None:
            troubles.append(
                Refused(
                    f"{point.status.why}: {id} cannot be taken over before that is answered.",
                    "Say when this treatment was finished, or write down a visit that says what was done.",
                    field=id,
                )
            )
    if troubles:
        raise Incomplete(troubles)


def _place(head: ConservationTable) -> tuple[date, int]:
    """Where a treatment stands in the order in which its object was treated."""
    return head.started_on or head.created_at.date(), head.id


def _later(head: ConservationTable, heads: Sequence[ConservationTable]) -> tuple[tuple[str, str], ...]:
    """Id and name of each later treatment of the same object, oldest first."""
    after = [one for one in heads if one.cast_id == head.cast_id and _place(one) > _place(head)]
    return tuple((one.public_id, one.name) for one in sorted(after, key=_place))


def _casts_of(session: Session, heads: Sequence[ConservationTable]) -> dict[str, CastRow]:
    return {row.id: row for row in casts.cast_rows(session, CastTable.id.in_({h.cast_id for h in heads}))}


def _rows_of(
    session: Session, head: ConservationTable, cast: CastRow, later: tuple[tuple[str, str], ...], day: date
) -> list[CareRow]:
    """Every point of one treatment's schedule."""
    parts, _ = treatment_store.kept_parts(session, head, _CARE)
    if not parts["care"]:
        return []
    object_facts = ObjectFacts(
        cast.id, cast.piece, "", cast.number, None, cast.alloy, cast.owner, cast.place, None, None
    )
    record = Record(head.public_id, treatment_store.head_of(head), object_facts, head.version, head.created_at)
    record = replace(
        record,
        care=tuple(parts["care"]),
        care_visits=tuple(parts["care_visits"]),
        care_ends=tuple(parts["care_ends"]),
    )
    return [
        CareRow(record.id, cast.id, cast.piece, cast.number, record.owner, status, head.name, later)
        for status in care_status(record, day)
    ]
