"""Care that is due, of every treatment on record, by owner."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from patina.bench.studio import Studio
from patina.conservation.care import STATES, care_status
from patina.conservation.kinds import BY_NAME
from patina.conservation.record import ObjectFacts, Record
from patina.records import casts, treatment_store
from patina.records.tables import CastTable
from patina.sheets.treatment import CareRow

_CARE = (BY_NAME["care"], BY_NAME["care-visit"], BY_NAME["care-end"])


def care_rows(
    studio: Studio, today: date | None = None, *, owner: str = "", all_points: bool = False
) -> tuple[CareRow, ...]:
    """Points of care schedules that are due or soon due, by owner, the most pressing first. owner: only those
    whose name holds these words. all_points: also those that are in time."""
    day = today or date.today()
    found: list[CareRow] = []
    with studio.store.view() as session:
        heads = treatment_store.all_treatments(session)
        of_casts = {row.id: row for row in casts.cast_rows(session, CastTable.id.in_({h.cast_id for h in heads}))}
        for head in heads:
            parts, _ = treatment_store.kept_parts(session, head, _CARE)
            if not parts["care"]:
                continue
            cast = of_casts[f"C{head.cast_id}"]
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
            found += [
                CareRow(record.id, cast.id, cast.piece, cast.number, record.owner, status)
                for status in care_status(record, day)
                if all_points or status.state not in ("in time", "ended")
            ]
    wanted = owner.casefold().split()
    found = [row for row in found if all(word in row.owner.casefold() for word in wanted)]
    return tuple(sorted(found, key=lambda r: (r.owner.casefold(), STATES.index(r.status.state), -r.status.days)))
