"""Variation of a piece's readings, split into within a cast, between casts and the gauge."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from patina.bench.matched.agreed import spot_of
from patina.errors import NotFound
from patina.matching.three_sources import HOW_GAUGE, ThreeSources, three_sources
from patina.records.pieces import casts
from patina.records.readings.readings import readings_of
from patina.records.readings.repeats import read_again
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch, number_of
from patina.records.tables.pieces import CastTable, PieceTable
from patina.sheets import PieceRow, ReadingRow
from patina.sheets.variation import VariationSheet

if TYPE_CHECKING:
    from patina.bench.studio import Studio

COMPONENTS = (("L*", "L"), ("a*", "a"), ("b*", "b"))
# Names that do not say which spot was read.
_NO_SPOT = ("", "whole")


def variation(studio: Studio, piece: str, *, zone: str | None = None) -> VariationSheet:
    """How far readings of a piece's casts differ within a cast, between casts and by the gauge, in L*, a* and b*.

    piece: id or title, or the id of one of its casts. zone: only areas of that name or whose name begins with it
    ("back", "back 1"); None, blank or "whole" for all. Looked at are D50/2° readings in the wax state and
    warmth that most of them have.

    Repeats of one spot, which tell the gauge, are single readings of one cast or tile with the same area name
    ("whole" and a blank name no spot), by the same named instrument, in the same wax state and warmth, on the
    same day by this computer's clock. Repeats on any cast or tile of the studio count, if their instrument also read
    this piece. Areas of a photograph are no repeats. Of a spot repeated on several days the newest counts
    for the casts. Every other reading is a spot of its own; a mean of n with its spread is n spots.
    Raises NotFound for an unknown piece, or a zone in which nothing was read.
    """
    if zone is not None and zone.strip().casefold() in _NO_SPOT:
        zone = None
    with studio.store.view() as session:
        row = _piece(session, piece)
        listed = casts.cast_rows(session, CastTable.piece_id == row.id)
        ids = [int(c.id[1:]) for c in listed]
        every = readings_of(session, ReadingTable.cast_id.in_(ids))
        of_zone = [r for r in every if _in_zone(r, zone)]
        if zone is not None and every and not of_zone:
            names = ", ".join(sorted({r.area for r in every if r.area})) or "none has a name"
            raise NotFound(
                f"No cast of {row.title} was read in an area '{zone}'.", f"Areas read: {names}.", field="zone"
            )
        read, state = _in_one_state(of_zone)
        used = {r.instrument for r in read if r.instrument.strip()}
        kept = read_again(session, used)
    sets = [s for s in _sets(kept).values() if len(s) > 1 and _usual_light(s[0])]
    by_cast: dict[str, list[ReadingRow]] = {}
    for r in read:
        by_cast.setdefault(r.cast or "", []).append(r)
    spots = [_spots(rows) for rows in by_cast.values()]
    first, second, third = (
        three_sources(
            [[(means[i], n) for means, n in cast] for cast in spots],
            [[getattr(r.lab, attribute) for r in one] for one in sets],
            name,
        )
        for i, (name, attribute) in enumerate(COMPONENTS)
    )
    return VariationSheet(
        piece=PieceRow(row.public_id, row.title, row.maker, row.edition, len(listed)),
        zone=zone,
        state=" and ".join(state),
        casts=len(spots),
        spots=sum(len(cast) for cast in spots),
        repeat_sets=len(sets),
        repeats=sum(len(one) for one in sets),
        instruments=tuple(sorted({one[0].instrument for one in sets})),
        components=(first, second, third),
        words=_words(len(listed), (zone, state), spots, sets, (first, second, third)),
    )


def _piece(session: Any, which: str) -> PieceTable:
    if number_of(which, "C") is not None:
        found: PieceTable = session.get_one(PieceTable, fetch(session, CastTable, which).piece_id)
        return found
    return casts.find_piece(session, which)


def _in_zone(reading: ReadingRow, zone: str | None) -> bool:
    if zone is None:
        return True
    area, wanted = reading.area.strip().casefold(), zone.strip().casefold()
    return area == wanted or area.startswith(f"{wanted} ")


def _in_one_state(readings: Sequence[ReadingRow]) -> tuple[list[ReadingRow], tuple[str, str]]:
    states = [(r.wax_state, r.warmth) for r in readings]
    state = max(states, key=states.count) if states else ("not stated", "not stated")
    same = [r for r in readings if (r.wax_state, r.warmth) == state]
    return [r for r in same if _usual_light(r)], state


def _usual_light(reading: ReadingRow) -> bool:
    return (reading.lab.illuminant, reading.lab.observer) == ("D50", "2")


def _sets(readings: Iterable[ReadingRow]) -> dict[tuple[Any, ...], list[ReadingRow]]:
    """Readings that name their spot and instrument, by spot, instrument, state and day."""
    found: dict[tuple[Any, ...], list[ReadingRow]] = {}
    for r in readings:
        area = r.area.strip().casefold()
        if area in _NO_SPOT or not r.instrument.strip() or r.n != 1 or r.source == "photograph":
            continue
        where = (r.cast, r.tile, area)
        how = (r.instrument.strip().casefold(), r.geometry, r.wax_state, r.warmth, r.lab.illuminant, r.lab.observer)
        found.setdefault((where, how, r.read_at.astimezone().date()), []).append(r)
    return found


def _spots(readings: Sequence[ReadingRow]) -> list[tuple[tuple[float, ...], int]]:
    """The spots of one cast, each with its mean L*, a*, b* and how many readings that is the mean of."""
    sets = _sets(readings)
    named = {r.id for one in sets.values() for r in one}
    newest: dict[Any, list[ReadingRow]] = {}
    for (where, _, _), one in sets.items():
        if where not in newest or one[0].read_at > newest[where][0].read_at:
            newest[where] = one
    found = [(_mean(one), len(one)) for one in newest.values()]
    for r in readings:
        if r.id not in named:
            found += [(values, 1) for values in _singles(r)]
    return found


def _mean(readings: Sequence[ReadingRow]) -> tuple[float, ...]:
    return tuple(math.fsum(getattr(r.lab, c) for r in readings) / len(readings) for _, c in COMPONENTS)


def _singles(reading: ReadingRow) -> list[tuple[float, ...]]:
    """Of a mean of n with its spread, n values of that mean and spread; an analysis of variance asks no more."""
    n = spot_of(reading).counted
    steps = [k - (n - 1) / 2 for k in range(n)]
    size = math.sqrt(sum(s * s for s in steps) / (n - 1)) if n > 1 else 1.0
    sd = reading.sd if reading.sd is not None and n > 1 else (0.0, 0.0, 0.0)
    lab = (reading.lab.L, reading.lab.a, reading.lab.b)
    return [tuple(x + s * step / size for x, s in zip(lab, sd, strict=True)) for step in steps]


def _words(
    on_record: int,
    what: tuple[str | None, tuple[str, str]],
    spots: Sequence[Sequence[Any]],
    sets: Sequence[Sequence[ReadingRow]],
    told: Sequence[ThreeSources],
) -> tuple[str, ...]:
    """The three sources of each component, what they rest on, and what to do where one is not known."""
    said = [t.words for t in told]
    number = sum(len(cast) for cast in spots)
    zone, state = what
    said.append(
        f"Standard deviations of {zone or 'all areas'}, {' and '.join(state)}, from {number} spots on {len(spots)} "
        f"of {on_record} casts on record."
    )
    if sets:
        again = "one spot" if len(sets) == 1 else f"{len(sets)} spots"
        said.append(f"The gauge rests on {sum(len(s) for s in sets)} readings of {again} read again.")
    else:
        said.append(f"The gauge is not known: no spot was read again. {HOW_GAUGE}")
    if told[0].within.sd is None:
        said.append("For the variation within a piece read each cast on five spots.")
    if len(spots) < 2:
        said.append("Too few pieces: the variation between pieces needs two casts read in the same state.")
    elif told[0].between.sd is not None and len(spots) < 5:
        said.append(f"{len(spots)} casts are too few to rely on for the variation between pieces.")
    return tuple(said)
