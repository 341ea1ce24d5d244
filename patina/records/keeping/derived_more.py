"""More of what is worked out and kept, proved anew: readings, agreed colours, viewings, the torch, seals.

The table of all of it stands in ``derived.py``.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.errors import NotFound, PatinaError
from patina.records.log.seals import covered, hash_of, sealables, signed_rows, table_named
from patina.records.tables.first import ReadingTable
from patina.records.tables.matching import ApprovalTable, ConcessionTable, MasterZoneTable
from patina.records.tables.pieces import CastTable, MasterTable
from patina.records.tables.readings import ReadingDoubtTable
from patina.records.tables.seals import AmendmentTable, SealTable
from patina.records.tables.work import WorkEventTable, WorkTable
from patina.records.torch.work_state import state_of

# figures of a colour are kept as doubles; they are worked out again in another order of adding up
TINY = 1e-6
CRUMB_ML = 1e-3


# -- readings --------------------------------------------------------------------------------------


def doubts(session: Session) -> Iterator[str]:
    """The expanded uncertainty of a reading is the root of the squares of its two parts. Source: [GUM]."""
    query = select(ReadingTable.id, ReadingTable.uncertainty_de00, ReadingDoubtTable).join(
        ReadingDoubtTable, ReadingDoubtTable.reading_id == ReadingTable.id
    )
    for id, whole, parts in session.execute(query.execution_options(yield_per=1000)):
        made = math.hypot(parts.sampling_de00, parts.correction_de00)
        if whole is None or abs(made - whole) > 1e-3 * max(1.0, made):
            yield f"The uncertainty of reading D{id} does not follow from its parts ({made:.2f} CIEDE2000)."


def tones(session: Session) -> Iterator[str]:
    """The tones of an uneven surface make one whole."""
    query = select(ReadingTable.id, ReadingTable.parts)
    for id, parts in session.execute(query.execution_options(yield_per=1000)):
        shares = [part[3] for part in parts or ()]
        if shares and (min(shares) < 0 or math.fsum(shares) > 1 + 0.005):
            yield f"The tones of reading D{id} come to {100 * math.fsum(shares):.1f} % of the surface."


# -- agreed colours --------------------------------------------------------------------------------


def zones(session: Session) -> Iterator[str]:
    """The readings of an agreed zone are those on record; their number and spread follow from them."""
    for row in session.scalars(select(MasterZoneTable)):
        known = _readings(session, [id for id, *_ in row.readings])
        for id, *values in row.readings:
            if id and (id not in known or _far(_three(known[id]), values)):
                yield f"Zone '{row.zone}' of M{row.master_id} rests on {id} with another colour than {id} has."
        if len(row.readings) != row.n:
            yield f"Zone '{row.zone}' of M{row.master_id} says {row.n} readings and holds {len(row.readings)}."
            continue
        spread = _spread(row, known)
        if row.sd is not None and spread is not None and _far(spread, row.sd):
            yield f"The spread of zone '{row.zone}' of M{row.master_id} does not follow from its readings."


def _readings(session: Session, ids: Sequence[str]) -> dict[str, ReadingTable]:
    numbers = [int(id[1:]) for id in ids if id]
    rows = session.scalars(select(ReadingTable).where(ReadingTable.id.in_(numbers)))
    return {row.public_id: row for row in rows}


def _three(row: Any) -> list[float]:
    return [row.lab_l, row.lab_a, row.lab_b]


def _far(one: Sequence[float], other: Sequence[float], slack: float = TINY) -> bool:
    return len(one) != len(other) or any(abs(a - b) > slack * max(1.0, abs(b)) for a, b in zip(one, other, strict=True))


def _spread(row: MasterZoneTable, known: dict[str, ReadingTable]) -> Sequence[float] | None:
    """The spread of the single readings behind a zone, None where one of them is only known as typed."""
    from patina.matching.pooled import Spot, pool

    spots = []
    for id, _ in groupby(id for id, *_ in row.readings):
        if id not in known:
            return None
        r = known[id]
        sd = None if r.sd is None else (r.sd[0], r.sd[1], r.sd[2])
        lab = Lab(r.lab_l, r.lab_a, r.lab_b, r.illuminant, r.observer)
        spots.append(Spot(lab, r.n, sd, r.uncertainty_de00, r.source == "photograph"))
    return pool(spots).sd


def viewings(session: Session) -> Iterator[str]:
    """The difference that was on the table at a viewing follows from the two colours beside it."""
    for row in session.scalars(select(ApprovalTable)):
        shown = row.shown or {}
        if not {"agreed", "piece", "delta_e", "formula"} <= set(shown):
            continue
        made = _difference(shown["agreed"], shown["piece"], shown["formula"])
        if made is None or abs(made - shown["delta_e"]) > 1e-4 * max(1.0, made):
            yield f"The difference shown at viewing {row.public_id} does not follow from the colours shown."


def _difference(reference: Sequence[float], sample: Sequence[float], formula: str) -> float | None:
    from patina.colour.difference import compare

    try:
        return float(compare(_lab(reference), _lab(sample), formula).delta_e)
    except (PatinaError, TypeError, IndexError):
        return None


def _lab(values: Sequence[float]) -> Lab:
    return Lab(values[0], values[1], values[2])


def concessions(session: Session) -> Iterator[str]:
    """The difference of a concession is that of a colour the piece had before, from the agreed one.

    What was judged is the mean of the readings of that day, so it lies between the readings' own differences.
    """
    for row in session.scalars(select(ConcessionTable)):
        master = session.get(MasterTable, row.master_id)
        owner = ReadingTable.tile_id == row.tile_id if row.cast_id is None else ReadingTable.cast_id == row.cast_id
        readings = session.scalars(select(ReadingTable).where(owner)).all()
        if master is None or not readings:
            continue
        agreed = [_three(master), *_zone_means(session, master, row.zone)]
        made = [d for one in agreed for r in readings if (d := _difference(one, _three(r), master.formula)) is not None]
        if made and not -TINY <= row.difference <= max(made) + 1e-3:
            yield f"The difference of concession {row.public_id} follows from no reading of the piece."


def _zone_means(session: Session, master: MasterTable, zone: str) -> list[list[float]]:
    found = []
    query = select(MasterZoneTable).where(MasterZoneTable.master_id == master.id, MasterZoneTable.zone == zone)
    for row in session.scalars(query):
        found.append([math.fsum(r[i] for r in row.readings) / len(row.readings) for i in (1, 2, 3)])
    return found


# -- the torch -------------------------------------------------------------------------------------


def passes(session: Session) -> Iterator[str]:
    """Passes count on from those that stand, and what was used is what the pot lost."""

    query = select(WorkEventTable).order_by(WorkEventTable.work_id, WorkEventTable.seq)
    rows = session.scalars(query.execution_options(yield_per=500))
    for work_id, group in groupby(rows, key=lambda e: e.work_id):
        events = list(group)
        for place, event in enumerate(events):
            if event.kind == "pass" and event.pass_number is not None:
                before = state_of(events[:place])
                expected = before.passes.get((event.step, event.zone), 0) + 1
                if event.pass_number != expected:
                    yield f"Number {event.seq} of work J{work_id} says pass {event.pass_number}; it was {expected}."
        yield from _used(events, work_id)


def _used(events: Sequence[WorkEventTable], work_id: int) -> Iterator[str]:
    gone = {e.cancels_id for e in events if e.cancels_id is not None}
    last: dict[int, float] = {}
    for event in events:
        if event.batch_id is None or event.left_ml is None or event.used_ml is None:
            continue
        if event.id in gone or event.cancels_id is not None:
            last.pop(event.batch_id, None)  # what was taken back went into the pot again
            continue
        before = last.get(event.batch_id)
        # another work may have used of the same pot in between, which leaves less than this one's sum
        if event.used_ml < -CRUMB_ML or (before is not None and before - event.left_ml < event.used_ml - CRUMB_ML):
            yield f"Number {event.seq} of work J{work_id} says {event.used_ml:g} mL used; the pot did not lose as much."
        last[event.batch_id] = event.left_ml


def areas(session: Session) -> Iterator[str]:
    """Zones of a work that come to another area than the cast has."""
    query = select(WorkTable.id, WorkTable.zones, CastTable.area_m2).join(CastTable, CastTable.id == WorkTable.cast_id)
    for id, said, area in session.execute(query.where(CastTable.area_m2.is_not(None))):
        known = [zone[1] for zone in said if zone[1] is not None]
        if known and len(known) == len(said) and math.fsum(known) > area * 1.02:
            yield f"The zones of work J{id} come to {math.fsum(known):.3g} m²; the cast has {area:.3g} m²."


# -- signing off -----------------------------------------------------------------------------------


def seals(session: Session) -> Iterator[str]:
    """What was signed is still what it was, and amendments are numbered without a gap."""

    kinds = {kind.table.__tablename__: kind for kind in sealables()}
    for seal in session.scalars(select(SealTable).order_by(SealTable.id)):
        name = f"{table_named(seal.kind).LETTER}{seal.record_id}"
        rows = signed_rows(session, seal)
        root = None if rows is None else rows[0]
        if rows is None or root is None or root.id != seal.record_id or hash_of(session, rows) != seal.sha256:
            yield f"{name} is not what {seal.by} signed off on {seal.at:%Y-%m-%d}."
        elif kinds[seal.kind].closed and len(covered(session, kinds[seal.kind], root)) != len(rows):
            yield f"Something was put into {name} after {seal.by} signed it off."
    numbers: dict[tuple[str, int], list[int]] = defaultdict(list)
    query = select(AmendmentTable.kind, AmendmentTable.record_id, AmendmentTable.number)
    for kind, record_id, number in session.execute(query.order_by(AmendmentTable.number)):
        numbers[kind, record_id].append(number)
    for (kind, record_id), found in numbers.items():
        try:
            table = table_named(kind)
        except NotFound:
            yield f"An amendment belongs to a kind of record that there is not: {kind}."
            continue
        if session.get(table, record_id) is None:
            yield f"An amendment belongs to {table.LETTER}{record_id}, which is not there."
        if found != list(range(1, len(found) + 1)):
            yield f"The amendments of {table.LETTER}{record_id} are not numbered 1 to {len(found)}."
