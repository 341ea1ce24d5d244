"""The agreed finish in full: zones, limit tiles, who holds which tile, concessions that never move it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from patina.bench.entry_rules import Rules
from patina.bench.matched.surfaces import Seen, seen_of, with_surface
from patina.bench.readings.tiles import target_of
from patina.bench.studio import Studio
from patina.colour.values import Lab
from patina.entries import HOLDING_ROLES, KEPT, NewConcession, NewHolding, NewZone
from patina.errors import NotComparable, NotFound, Refused
from patina.matching.pooled import Spot, pool
from patina.records.matched import masters, masters_more
from patina.records.readings import tiles
from patina.records.readings.readings import readings_of
from patina.records.studio.unit import unit
from patina.records.tables.first import ReadingTable, TileTable
from patina.records.tables.ids import fetch, letter_of
from patina.records.tables.pieces import MasterTable
from patina.sheets import MasterSheet, ReadingRow
from patina.sheets.matching import AgreedSheet, HoldingRow, ZoneRow

AIMS = ("as new", "as today")


def agreed_sheet(studio: Studio, which: str) -> AgreedSheet:
    """An agreed finish with its zones, holders, concessions and approvals, by id or name. Raises NotFound."""
    with studio.store.view() as session:
        return sheet_of(session, masters.find_master(session, which))


def sheet_of(session: Any, row: MasterTable) -> AgreedSheet:
    """The same within a session."""
    from patina.records.tables.matching import ApprovalTable

    master = masters.master_sheets(session, MasterTable.id == row.id)[0]
    aim, mottle = masters_more.terms_of(session, row) or ("as new", None)
    held = masters_more.holdings(session, masters_more.of_master(row), date.today())
    return AgreedSheet(
        master=master,
        zones=_zones(session, master, row),
        aim=aim,
        limit_mottle=mottle,
        holdings=tuple(_with_drift(session, h) for h in held),
        concessions=masters_more.concessions(session, row),
        approvals=masters_more.approvals(session, ApprovalTable.master_id == row.id),
    )


def _zones(session: Any, master: MasterSheet, row: MasterTable) -> tuple[ZoneRow, ...]:
    """The zones, the finish's own first: its colour as agreed, unless that zone was written down in full."""
    written = tuple(_as_read(session, zone) for zone in masters_more.zones_of(session, row))
    if any(z.zone.casefold() == master.zone.casefold() for z in written):
        return _with_names(session, written)
    own = ZoneRow(master.zone, master.lab, fixed_u=master.uncertainty_de00, tile=master.tile)
    return _with_names(session, (with_surface(own, _surface_of(session, master)), *written))


def _with_names(session: Any, zones: tuple[ZoneRow, ...]) -> tuple[ZoneRow, ...]:
    """The zones with what is engraved on their tiles."""
    ids = {id for zone in zones for id in (zone.tile, zone.light_tile, zone.dark_tile) if id}
    rows = (session.get(TileTable, int(id[1:])) for id in ids)
    names = {row.public_id: row.engraved for row in rows if row is not None}
    return tuple(
        replace(
            zone,
            tile_name=names.get(zone.tile or "", ""),
            light_tile_name=names.get(zone.light_tile or "", ""),
            dark_tile_name=names.get(zone.dark_tile or "", ""),
        )
        for zone in zones
    )


def _as_read(session: Any, zone: ZoneRow) -> ZoneRow:
    """The zone with the spread and grain of the reading its tones came from."""
    numbers = [int(id[1:]) for id, _ in zone.readings if id]
    rows = {r.id: r for r in readings_of(session, ReadingTable.id.in_(numbers[:500]))} if numbers else {}
    in_order = [rows[id] for id in dict.fromkeys(id for id, _ in zone.readings) if id in rows]
    return with_surface(zone, seen_of(in_order))


def _surface_of(session: Any, master: MasterSheet) -> Seen | None:
    """The agreed tile's surface, from its reading in the agreed state that is nearest to the agreed colour."""
    from patina.colour.difference import compare

    if master.tile is None:
        return None
    rows = readings_of(session, ReadingTable.tile_id == int(master.tile[1:]))
    near = [r for r in rows if in_state(r, master) and r.lab.illuminant == master.lab.illuminant]
    near = [r for r in near if compare(master.lab, r.lab).delta_e <= master.limit_de]
    return seen_of(sorted(near, key=lambda r: compare(master.lab, r.lab).delta_e))


def starting_limit() -> float:
    """The limit in CIEDE2000 that one begins with where nothing else is agreed. Source: [PRACTICE]."""
    from patina.matching.master import starting_tolerance

    return starting_tolerance().delta_e


def in_state(reading: ReadingRow, master: MasterSheet) -> bool:
    """Whether a reading was taken in the agreed state; what nobody has said of either does not speak against it."""
    pairs = ((reading.wax_state, master.wax_state), (reading.warmth, master.warmth))
    return all("not stated" in pair or pair[0] == pair[1] for pair in pairs)


def _with_drift(session: Any, held: HoldingRow) -> HoldingRow:
    from patina.colour.difference import compare

    rows = readings_of(session, ReadingTable.tile_id == int(held.tile[1:]))
    if not rows:
        return replace(held, drift_words="never read")
    newest = rows[0]
    same = [
        r
        for r in rows
        if (r.wax_state, r.warmth, r.lab.illuminant, r.lab.observer)
        == (newest.wax_state, newest.warmth, newest.lab.illuminant, newest.lab.observer)
    ]
    first = same[-1]
    if first is newest:
        return replace(held, drift_words=f"read once so, {newest.read_at:%Y-%m-%d}")
    d = compare(first.lab, newest.lab)
    days = (newest.read_at - first.read_at).days
    words = f"{d.delta_e:.1f} ΔE00 from its first reading {days} days before: {d.words}"
    return replace(held, drift_de=d.delta_e, drift_words=words)


def spot_of(reading: ReadingRow, fixed: float | None = None) -> Spot:
    """A reading as the statistics take it. fixed: the part of its uncertainty that more readings do not lessen."""
    photograph = reading.source == "photograph"
    return Spot(reading.lab, reading.n, reading.sd, reading.uncertainty_de00, photograph, fixed)


def agree_zone(studio: Studio, entry: NewZone, *, by: str = "") -> AgreedSheet:
    """Put the colour of a zone on record with its limit tiles. Raises Incomplete, NotFound, Refused, NotComparable."""
    rules = Rules()
    rules.need(entry.zone, "zone", "The zone")
    rules.short(entry.zone, "zone", 200)
    rules.within(entry.fixed_u, "fixed_u", 0.0, 100.0, "ΔE")
    if not entry.readings:
        rules.troubles.append(
            Refused("No reading of the zone was named.", "Name readings or a tile.", field="readings")
        )
    rules.done()
    with unit(studio.store, "agree zone", by=studio.who(by)) as work:
        master = masters.find_master(work.session, entry.master)
        agreed = masters.master_sheets(work.session, MasterTable.id == master.id)[0]
        found = [r for text in entry.readings for r in _readings(work.session, text, agreed)]
        pooled = pool([spot for _, spot, _ in found])
        light, dark = (_limit(studio, text) for text in (entry.light, entry.dark))
        _limits_in_order(pooled.mean, light[0], dark[0])
        zone = ZoneRow(
            zone=entry.zone.strip(),
            lab=pooled.mean,
            readings=tuple((id, spot.lab) for id, spot, _ in found for _ in range(spot.counted)),
            sd=pooled.sd,
            n=pooled.n,
            light_limit=light[0],
            dark_limit=dark[0],
            parts=next((parts for _, _, parts in found if parts), ()),
            fixed_u=pooled.fixed_u if entry.fixed_u is None else entry.fixed_u,
            tile=next((t for t in map(_tile_of, entry.readings) if t), None),
            light_tile=light[1],
            dark_tile=dark[1],
        )
        masters_more.add_zone(work.session, master, zone, by=studio.who(by))
        sheet = sheet_of(work.session, master)
        work.commit()
    return sheet


def _limits_in_order(agreed: Lab, light: Lab | None, dark: Lab | None) -> None:
    for limit, field, wrong in ((light, "light", -1), (dark, "dark", 1)):
        if limit is not None and wrong * (limit.L - agreed.L) > 0:
            side = "darker" if field == "light" else "lighter"
            raise Refused(
                f"The {field} limit (L* {limit.L:.1f}) is {side} than the agreed colour (L* {agreed.L:.1f}).",
                "Look whether the two limit tiles were exchanged.",
                field=field,
            )


def _tile_of(text: str) -> str | None:
    return text.strip().upper() if letter_of(text) == "T" else None


def _readings(session: Any, text: str, agreed: MasterSheet) -> list[tuple[str, Spot, Any]]:
    """(id, spot, tones) of what a person named: a reading, all readings of a tile in the agreed state, or L,a,b."""
    from patina.bench.readings.comparing import is_triple, parse_triple

    if is_triple(text):
        return [("", Spot(parse_triple(text)), ())]
    if letter_of(text) == "D":
        row = fetch(session, ReadingTable, text, field="readings")
        rows = readings_of(session, ReadingTable.id == row.id)
        if not in_state(rows[0], agreed):
            raise NotComparable(
                f"{rows[0].id} was read {rows[0].wax_state} and {rows[0].warmth}, agreed is {agreed.wax_state} and "
                f"{agreed.warmth}.",
                "Name readings in the agreed state.",
                field="readings",
            )
    else:
        tile = tiles.find_tile(session, text)
        rows = tuple(r for r in readings_of(session, ReadingTable.tile_id == tile.id) if in_state(r, agreed))
        if not rows:
            raise NotFound(
                f"{tile.public_id} has no reading in the agreed state ({agreed.wax_state}, {agreed.warmth}).",
                "Read it so first.",
                field="readings",
            )
    fixed = masters_more.corrections(session, rows)
    return [(r.id, spot_of(r, fixed.get(r.id)), r.parts) for r in rows]


def _limit(studio: Studio, text: str | None) -> tuple[Lab | None, str | None]:
    from patina.bench.readings.comparing import colour_of

    if not text or not text.strip():
        return None, None
    found = colour_of(studio, text)
    return found.lab, found.tile


def agree_terms(
    studio: Studio, which: str, *, aim: str = "as new", limit_mottle: float | None = None, by: str = ""
) -> AgreedSheet:
    """Put on record what else was agreed: the aim, and the limit of tones and shares in ΔE.

    Raises Incomplete, NotFound, Refused where it is on record already."""
    rules = Rules()
    rules.among(aim, "aim", AIMS)
    rules.above_zero(limit_mottle, "limit_mottle", 100.0, "ΔE")
    rules.done()
    with unit(studio.store, "agree terms", by=studio.who(by)) as work:
        master = masters.find_master(work.session, which)
        masters_more.set_terms(work.session, master, aim, limit_mottle)
        sheet = sheet_of(work.session, master)
        work.commit()
    return sheet


def hold_tile(studio: Studio, entry: NewHolding, *, by: str = "") -> HoldingRow:
    """Put on record who holds a tile, as what, and when it is read again. The newest word on a tile counts.

    Raises Incomplete, NotFound."""
    rules = Rules()
    rules.need(entry.holder, "holder", "Who holds it")
    rules.short(entry.holder, "holder", 400)
    rules.among(entry.role, "role", HOLDING_ROLES)
    rules.among(entry.kept, "kept", KEPT)
    if entry.since is not None and entry.next_check is not None and entry.next_check < entry.since:
        rules.troubles.append(
            Refused("The next check lies before it was handed over.", "Correct a date.", field="next_check")
        )
    rules.done()
    said = {name: getattr(entry, name) for name in ("holder", "role", "kept", "place", "since", "next_check", "note")}
    with unit(studio.store, "hold tile", by=studio.who(by)) as work:
        master = None if not entry.master else masters.find_master(work.session, entry.master)
        tile = tiles.find_tile(work.session, entry.tile)
        masters_more.add_holding(work.session, master, tile, by=studio.who(by), **said)
        from patina.records.tables.matching import TileHoldingTable

        row = masters_more.holdings(work.session, TileHoldingTable.tile_id == tile.id, date.today())[0]
        held = _with_drift(work.session, row)
        work.commit()
    return held


def concede(studio: Studio, entry: NewConcession, *, by: str = "") -> AgreedSheet:
    """Take a piece although it is outside. What was judged is kept with it; the agreed finish stays what it was.

    Raises Incomplete, NotFound, Refused where the piece has not failed."""
    from patina.bench.matched.judging import judge

    rules = Rules()
    rules.need(entry.reason, "reason", "The reason")
    rules.need(entry.agreed_by, "agreed_by", "Who takes it so")
    rules.done()
    verdict = judge(studio, entry.master, entry.piece)
    if verdict.verdict == "pass":
        raise Refused(f"{entry.piece} passes; there is nothing to concede.", "Leave it as it is.", field="piece")
    with unit(studio.store, "concede", by=studio.who(by), why=entry.reason[:400]) as work:
        master = masters.find_master(work.session, entry.master)
        masters_more.add_concession(
            work.session,
            master,
            target_of(work.session, entry.piece),
            by=studio.who(by),
            zone=entry.zone or (verdict.findings[0].zone if verdict.findings else master.zone),
            difference=verdict.comparison.difference.delta_e,
            verdict=f"{verdict.verdict}: {verdict.why}",
            reason=entry.reason.strip(),
            agreed_by=entry.agreed_by.strip(),
            agreed_on=entry.agreed_on or date.today(),
        )
        sheet = sheet_of(work.session, master)
        work.commit()
    return sheet


def checks_due(studio: Studio, today: date | None = None) -> tuple[HoldingRow, ...]:
    """Tiles whose next check has come, the longest due first."""
    from patina.records.tables.matching import TileHoldingTable

    with studio.store.view() as session:
        held = masters_more.holdings(session, TileHoldingTable.id > 0, today or date.today())
        due = sorted((h for h in held if h.due), key=lambda h: h.next_check or date.max)
        return tuple(_with_drift(session, h) for h in due)
