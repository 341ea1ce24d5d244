"""An edition as a series: each cast against the agreed finish and the others, and what changed on the way."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from patina.bench.matched.agreed import in_state, sheet_of, spot_of
from patina.bench.matched.judging import judge
from patina.bench.matched.variation import variation
from patina.colour.difference import compare
from patina.colour.values import Lab
from patina.errors import BadQuantity, NotFound
from patina.matching.circumstances import Making, compare_makings, known_circumstances
from patina.matching.piece import edition_spread
from patina.matching.pooled import Pooled, pool
from patina.matching.series import SeriesView, look_at_series
from patina.matching.tolerance import ToleranceInterval, tolerance_interval
from patina.records.matched import makings, masters
from patina.records.pieces import casts
from patina.records.readings.readings import readings_of
from patina.records.tables.first import ReadingTable
from patina.records.tables.ids import fetch, number_of
from patina.records.tables.pieces import CastTable, MasterTable, PieceTable
from patina.sheets import CastRow, PieceRow, ReadingRow
from patina.sheets.matching import AgreedSheet
from patina.sheets.series import SeriesCast, SeriesSheet, SharedRow

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Vector = tuple[float, float, float]
COMPONENTS = ("L*", "a*", "b*")
# What a change of is marked on the charts.
MARKED = ("chemical_lot", "batch", "alloy", "blast", "hand", "recipe_revision", "preparation")
_NUMBER = re.compile(r"(\d+)\s*/\s*(\d+)")


@dataclass(frozen=True)
class _Read:
    """A cast with its readings in the state looked at, pooled; None where it has none."""

    row: CastRow
    cast_on: Any
    pooled: Pooled | None
    making: Making
    batch: str


def series(studio: Studio, piece: str, *, order: str = "number", zone: str = "", master: str = "") -> SeriesSheet:
    """The casts of a piece as a series.

    piece: id or title. order: "number" (edition number, artist's proofs after) or "date" (of casting).
    zone: an agreed zone, empty for the first. master: an agreed finish, empty for the one that most
    casts name. Readings are those in the agreed state; without an agreed finish those in the state
    that most readings have. Raises NotFound, BadQuantity.
    """
    if order not in ("number", "date"):
        raise BadQuantity(f"'{order}' is no order of casts.", "Use number or date.", field="order")
    with studio.store.view() as session:
        row = _piece(session, piece)
        listed = casts.cast_rows(session, CastTable.piece_id == row.id)
        agreed = _agreed(session, listed, master)
        wanted = _zone(agreed, zone)
        state = _state(session, listed, agreed)
        ordered = sorted(listed, key=_by_number if order == "number" else lambda c: _by_date(session, c))
        read = [_read(session, c, agreed, wanted, state) for c in ordered]
        sd, df, source = _usual_spread(session, row, agreed, state)
    edition = PieceRow(row.public_id, row.title, row.maker, row.edition, len(listed))
    sheet = _sheet(edition, order, state, wanted, agreed, read, sd, df, source)
    sheet = replace(sheet, variation=_variation(studio, sheet))
    if agreed is None:
        return sheet
    told = {c.id: judge(studio, agreed.master.id, c.id).verdict for c in sheet.casts if c.lab is not None}
    return replace(sheet, casts=tuple(replace(c, verdict=told.get(c.id, "")) for c in sheet.casts))


def _piece(session: Any, which: str) -> PieceTable:
    if number_of(which, "C") is not None:
        return session.get_one(PieceTable, fetch(session, CastTable, which).piece_id)
    return casts.find_piece(session, which)


def _agreed(session: Any, listed: Sequence[CastRow], which: str) -> AgreedSheet | None:
    if which:
        return sheet_of(session, masters.find_master(session, which))
    named = [c.master for c in listed if c.master]
    if not named:
        return None
    return sheet_of(session, fetch(session, MasterTable, max(set(named), key=named.count)))


def _zone(agreed: AgreedSheet | None, zone: str) -> str:
    if agreed is None or not zone:
        return zone or (agreed.zones[0].zone if agreed else "whole")
    for known in agreed.zones:
        if known.zone.casefold() == zone.strip().casefold():
            return known.zone
    raise NotFound(
        f"{agreed.master.name} has no zone '{zone}'.", f"Choose one of {', '.join(z.zone for z in agreed.zones)}."
    )


def _state(session: Any, listed: Sequence[CastRow], agreed: AgreedSheet | None) -> tuple[str, str]:
    if agreed is not None and agreed.master.wax_state != "not stated":
        return agreed.master.wax_state, agreed.master.warmth
    ids = [int(c.id[1:]) for c in listed]
    states = [(r.wax_state, r.warmth) for r in readings_of(session, ReadingTable.cast_id.in_(ids))]
    return max(states, key=states.count) if states else ("not stated", "not stated")


def _by_number(cast: CastRow) -> tuple[int, int, str]:
    found = _NUMBER.search(cast.number)
    if found is None or not cast.number.strip()[:1].isdigit():
        digits = re.search(r"\d+", cast.number)
        return 1, int(digits[0]) if digits else 0, cast.number
    return 0, int(found[1]), cast.number


def _by_date(session: Any, cast: CastRow) -> tuple[bool, Any, tuple[int, int, str]]:
    on = fetch(session, CastTable, cast.id).cast_on
    return on is None, on or "", _by_number(cast)


def _read(session: Any, cast: CastRow, agreed: AgreedSheet | None, zone: str, state: tuple[str, str]) -> _Read:
    row = fetch(session, CastTable, cast.id)
    label = cast.number or cast.id
    made = makings.made_cast(session, row, label)
    rows = _fitting(session, cast, agreed, zone, state)
    pooled = pool([spot_of(r) for r in rows]) if rows else None
    making = Making(label, made.facts, None if pooled is None else pooled.mean)
    return _Read(cast, row.cast_on, pooled, making, made.batch or "")


def _fitting(
    session: Any, cast: CastRow, agreed: AgreedSheet | None, zone: str, state: tuple[str, str]
) -> list[ReadingRow]:
    rows = readings_of(session, ReadingTable.cast_id == int(cast.id[1:]))
    if agreed is not None:
        rows = tuple(r for r in rows if in_state(r, agreed.master))
        names = {z.zone.casefold() for z in agreed.zones}
        of_zone = [r for r in rows if r.area.strip().casefold() == zone.casefold()]
        if of_zone or len(names) > 1:
            rows = tuple(of_zone)
        light = agreed.zones[0].lab
        return [r for r in rows if (r.lab.illuminant, r.lab.observer) == (light.illuminant, light.observer)]
    same = [r for r in rows if (r.wax_state, r.warmth) == state]
    return [r for r in same if (r.lab.illuminant, r.lab.observer) == ("D50", "2")]


def _usual_spread(
    session: Any, piece: PieceTable, agreed: AgreedSheet | None, state: tuple[str, str]
) -> tuple[Vector | None, float, str]:
    """Spread between casts of other editions of the same recipe, with its degrees of freedom."""
    none = (None, 0.0, "this series alone")
    if agreed is None or agreed.master.recipe_id is None:
        return none
    like = [m for m in masters.master_sheets(session) if m.recipe_id == agreed.master.recipe_id]
    by_piece: dict[str, list[Lab]] = {}
    for cast in casts.cast_rows(session, CastTable.master_id.in_([int(m.id[1:]) for m in like])):
        if cast.piece_id == piece.public_id:
            continue
        rows = readings_of(session, ReadingTable.cast_id == int(cast.id[1:]))
        fitting = [r for r in rows if (r.wax_state, r.warmth) == state and r.lab.illuminant == "D50"]
        if fitting:
            by_piece.setdefault(cast.piece_id, []).append(pool([spot_of(r) for r in fitting]).mean)
    groups = [labs for labs in by_piece.values() if len(labs) > 1]
    df = sum(len(labs) - 1 for labs in groups)
    if df < 2:
        return none
    squares = []
    for c in ("L", "a", "b"):
        means = [sum(getattr(x, c) for x in labs) / len(labs) for labs in groups]
        away = sum((getattr(x, c) - m) ** 2 for labs, m in zip(groups, means, strict=True) for x in labs)
        squares.append(max(away / df, 1e-4) ** 0.5)
    return (squares[0], squares[1], squares[2]), float(df), f"{len(groups)} other editions of this recipe"


def _sheet(
    piece: PieceRow,
    order: str,
    state: tuple[str, str],
    zone: str,
    agreed: AgreedSheet | None,
    read: Sequence[_Read],
    sd: Vector | None,
    df: float,
    source: str,
) -> SeriesSheet:
    centre = None if agreed is None else next((z.lab for z in agreed.zones if z.zone == zone), agreed.zones[0].lab)
    told = [r for r in read if r.pooled is not None]
    view = _view(told, centre, sd, df)
    labs = [r.pooled.mean for r in told if r.pooled is not None]
    widest = edition_spread(labs, "de2000" if agreed is None else agreed.master.formula) if len(labs) > 1 else None
    intervals = _intervals(labs, agreed, sd, df)
    shared = tuple(_shared(a, b) for a, b in pairwise(read))
    on_record = {n for r in read if (n := _number(r.row.number)) is not None}
    missing = [n for n in range(1, (piece.edition or 0) + 1) if n not in on_record]
    return SeriesSheet(
        piece=piece,
        order=order,
        state=" and ".join(state),
        zone=zone,
        casts=_rows(read, agreed, centre),
        unnumbered=sum(1 for r in read if not r.row.number),
        not_on_record=tuple(f"{n}/{piece.edition}" for n in missing),
        master=None if agreed is None else agreed.master.id,
        centre=centre,
        labels=() if view is None else view.labels,
        charts=() if view is None else view.charts,
        alarms=() if view is None else view.alarms,
        changes=() if view is None else view.changes,
        widest_de=None if widest is None else widest[0],
        widest_inside=None if widest is None else widest[1],
        intervals=intervals,
        variation=(),
        shared=shared,
        spread_from=source,
        words=_words(piece, read, view, widest, intervals, missing, source),
        master_name="" if agreed is None else agreed.master.name,
    )


def _number(text: str) -> int | None:
    found = _NUMBER.fullmatch(text.strip())
    return None if found is None else int(found[1])


def _view(told: Sequence[_Read], centre: Lab | None, sd: Vector | None, df: float) -> SeriesView | None:
    if len(told) < 2:
        return None
    facts = [{_words_of(k): _fact(r, k) for k in MARKED} for r in told]
    labs = [r.pooled.mean for r in told if r.pooled is not None]
    rows: list[Vector] = [(x.L, x.a, x.b) for x in labs]
    middle = None if centre is None else (centre.L, centre.a, centre.b)
    return look_at_series([r.making.name for r in told], rows, facts, centre=middle, sd=sd, sd_df=df)


def _fact(read: _Read, key: str) -> str:
    return read.batch if key == "batch" else read.making.fact(key)


def _words_of(key: str) -> str:
    known = known_circumstances().get(key)
    return known.words if known is not None else key.replace("_", " ")


def _rows(read: Sequence[_Read], agreed: AgreedSheet | None, centre: Lab | None) -> tuple[SeriesCast, ...]:
    formula = "de2000" if agreed is None else agreed.master.formula
    found: list[SeriesCast] = []
    last: Lab | None = None
    before: _Read | None = None
    for r in read:
        lab = None if r.pooled is None else r.pooled.mean
        changed = () if before is None else compare_makings(before.making, r.making).different
        found.append(
            SeriesCast(
                id=r.row.id,
                label=r.making.name,
                cast_on=r.cast_on,
                lab=lab,
                n=0 if r.pooled is None else r.pooled.n,
                delta_e=None if lab is None or centre is None else compare(centre, lab, formula).delta_e,
                to_before=None if lab is None or last is None else compare(last, lab, formula).delta_e,
                verdict="",
                changed=tuple(f"{c.words}: {c.before} → {c.now}" for c in changed),
            )
        )
        last, before = lab or last, r
    return tuple(found)


def _intervals(
    labs: Sequence[Lab], agreed: AgreedSheet | None, sd: Vector | None, df: float
) -> tuple[ToleranceInterval, ...]:
    if len(labs) < 2 and (sd is None or not labs):
        return ()
    found = []
    for i, (name, c) in enumerate(zip(COMPONENTS, ("L", "a", "b"), strict=True)):
        allowed = None
        if agreed is not None:
            limit = (agreed.master.limit_dL if c == "L" else None) or agreed.master.limit_de
            allowed = 2 * limit
        found.append(
            tolerance_interval(
                [getattr(x, c) for x in labs],
                pooled_sd=None if sd is None else sd[i],
                pooled_df=None if sd is None else df,
                allowed_spread=allowed,
                what=name,
            )
        )
    return tuple(found)


def _variation(studio: Studio, sheet: SeriesSheet) -> tuple[str, ...]:
    """What gauge, spots and casts add, in words; nothing where fewer than two casts are read."""
    if sum(c.lab is not None for c in sheet.casts) < 2:
        return ()
    try:
        return variation(studio, sheet.piece.id, zone=sheet.zone).words
    except NotFound:  # the areas read are not named after the zone
        return variation(studio, sheet.piece.id).words


def _shared(before: _Read, now: _Read) -> SharedRow:
    compared = compare_makings(before.making, now.making)
    return SharedRow(
        cast=now.making.name,
        before=before.making.name,
        same=tuple(_words_of(k) for k in compared.same),
        different=tuple(f"{c.words}: {c.before} → {c.now}" for c in compared.different),
        blank=tuple(_words_of(k) for k in compared.blank),
        tiles=tuple(c.words for c in compared.tiles),
        words=compared.words,
    )


def _words(
    piece: PieceRow,
    read: Sequence[_Read],
    view: SeriesView | None,
    widest: tuple[float, bool] | None,
    intervals: Sequence[ToleranceInterval],
    missing: Sequence[int],
    source: str,
) -> tuple[str, ...]:
    told = sum(1 for r in read if r.pooled is not None)
    said = [f"{len(read)} casts on record" + (f" of an edition of {piece.edition}" if piece.edition else "") + "."]
    if told < len(read):
        unread = ", ".join(r.making.name for r in read if r.pooled is None)
        said.append(f"Not read in this state: {unread}.")
    if view is None:
        said.append("A series begins with two casts read in the same state.")
        return tuple(said)
    said += [a.words for a in view.alarms] or ["No drift and no jump is told."]
    if view.charts[0].provisional:
        said.append(f"The limits are provisional: {told} casts, spread from {source}.")
    if widest is not None:
        inside = "inside" if widest[1] else "outside"
        said.append(f"The two casts farthest apart differ by {widest[0]:.1f}, {inside} the usual starting limit.")
    if told <= 3 and intervals:
        said.append(f"{told} casts prove nothing of the next; take limit tiles or earlier editions.")
    return tuple(said)
