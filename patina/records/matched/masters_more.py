"""What belongs to an agreed finish besides its colour: zones, terms, holders of tiles, concessions, approvals."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.errors import Refused
from patina.records.finding.naming import name_of
from patina.records.readings.readings import part_values
from patina.records.tables.first import TileTable
from patina.records.tables.matching import (
    ApprovalTable,
    ConcessionTable,
    MakingFactTable,
    MasterTermsTable,
    MasterZoneTable,
    TileHoldingTable,
)
from patina.records.tables.pieces import CastTable, MasterTable
from patina.records.tables.readings import ReadingDoubtTable
from patina.sheets import ReadingRow
from patina.sheets.matching import ApprovalRow, ConcessionRow, HoldingRow, ZoneRow

Target = TileTable | CastTable


def add_zone(session: Session, master: MasterTable, zone: ZoneRow, *, by: str) -> None:
    """Put the agreed colour of a zone on record. Raises Refused where the zone is agreed already."""
    if any(z.zone.casefold() == zone.zone.casefold() for z in zones_of(session, master)):
        raise Refused(
            f"{master.public_id} has an agreed colour for '{zone.zone}' already; an agreed finish never moves.",
            "Agree a new finish where another colour is wanted.",
            field="zone",
        )
    session.add(
        MasterZoneTable(
            master_id=master.id,
            zone=zone.zone,
            illuminant=zone.lab.illuminant,
            observer=zone.lab.observer,
            readings=[[id, lab.L, lab.a, lab.b] for id, lab in zone.readings],
            sd=None if zone.sd is None else list(zone.sd),
            n=zone.n,
            light_limit=_three(zone.light_limit),
            dark_limit=_three(zone.dark_limit),
            parts=[[p.lab.L, p.lab.a, p.lab.b, p.share] for p in zone.parts],
            fixed_u=zone.fixed_u,
            tile_id=_number(zone.tile),
            light_tile_id=_number(zone.light_tile),
            dark_tile_id=_number(zone.dark_tile),
            by=by,
        )
    )
    session.flush()


def _three(lab: Lab | None) -> list[float] | None:
    return None if lab is None else [lab.L, lab.a, lab.b]


def _number(tile: str | None) -> int | None:
    return None if tile is None else int(tile[1:])


def zones_of(session: Session, master: MasterTable) -> tuple[ZoneRow, ...]:
    """The zones written down for an agreed finish, in the order they were agreed; its own colour is not among them."""
    query = select(MasterZoneTable).where(MasterZoneTable.master_id == master.id).order_by(MasterZoneTable.id)
    return tuple(_zone(row) for row in session.scalars(query))


def _zone(row: MasterZoneTable) -> ZoneRow:
    def lab(values: Sequence[float]) -> Lab:
        return Lab(values[0], values[1], values[2], row.illuminant, row.observer)

    readings = tuple((str(id), lab(values)) for id, *values in row.readings)
    n = len(readings)
    mean = lab([sum(getattr(r, c) for _, r in readings) / n for c in ("L", "a", "b")])
    return ZoneRow(
        zone=row.zone,
        lab=mean,
        readings=readings,
        sd=None if row.sd is None else (row.sd[0], row.sd[1], row.sd[2]),
        n=row.n,
        light_limit=None if row.light_limit is None else lab(row.light_limit),
        dark_limit=None if row.dark_limit is None else lab(row.dark_limit),
        parts=part_values(row.parts, row.illuminant, row.observer),
        fixed_u=row.fixed_u,
        tile=None if row.tile_id is None else f"T{row.tile_id}",
        light_tile=None if row.light_tile_id is None else f"T{row.light_tile_id}",
        dark_tile=None if row.dark_tile_id is None else f"T{row.dark_tile_id}",
    )


def set_terms(session: Session, master: MasterTable, aim: str, limit_mottle: float | None) -> None:
    """Put on record what else was agreed. Raises Refused where it is on record already."""
    if terms_of(session, master) is not None:
        raise Refused(
            f"The terms of {master.public_id} are on record already; an agreed finish never moves.",
            "Agree a new finish where other terms are wanted.",
        )
    session.add(MasterTermsTable(master_id=master.id, aim=aim, limit_mottle=limit_mottle))
    session.flush()


def terms_of(session: Session, master: MasterTable) -> tuple[str, float | None] | None:
    """Aim and limit of mottle, None where nothing was said."""
    row = session.scalars(select(MasterTermsTable).where(MasterTermsTable.master_id == master.id)).one_or_none()
    return None if row is None else (row.aim, row.limit_mottle)


def add_holding(session: Session, master: MasterTable | None, tile: TileTable, *, by: str, **said: Any) -> None:
    """Put on record who holds a tile. said: holder, role, kept, place, since, next_check, note."""
    session.add(TileHoldingTable(master_id=None if master is None else master.id, tile_id=tile.id, by=by, **said))
    session.flush()


def holdings(session: Session, where: ColumnElement[bool], today: date) -> tuple[HoldingRow, ...]:
    """Who holds which tile now: the newest word on each tile."""
    query = (
        select(TileHoldingTable, TileTable.engraved)
        .join(TileTable, TileTable.id == TileHoldingTable.tile_id)
        .where(where)
        .order_by(TileHoldingTable.id)
    )
    newest = {row.tile_id: (row, engraved) for row, engraved in session.execute(query)}
    return tuple(
        HoldingRow(
            f"T{row.tile_id}",
            engraved,
            row.holder,
            row.role,
            row.kept,
            row.place,
            row.since,
            row.next_check,
            row.next_check is not None and row.next_check <= today,
            row.note,
        )
        for row, engraved in newest.values()
    )


def corrections(session: Session, rows: Sequence[ReadingRow]) -> dict[str, float]:
    """Of readings from photographs the part of their uncertainty (ΔE, 95 %) that camera, light and chart make, by
    id; those whose parts were not kept are left out."""
    numbers = [int(r.id[1:]) for r in rows if r.source == "photograph"]
    query = select(ReadingDoubtTable.reading_id, ReadingDoubtTable.correction_de00)
    found = session.execute(query.where(ReadingDoubtTable.reading_id.in_(numbers[:500])))
    return {f"D{number}": part for number, part in found}


def of_master(master: MasterTable) -> ColumnElement[bool]:
    """The condition that a holding belongs to an agreed finish."""
    return TileHoldingTable.master_id == master.id


def twins(session: Session) -> dict[int, str]:
    """Where twin tiles are kept (dark, shelf, outdoors), by number of the tile; the newest word counts."""
    query = select(TileHoldingTable.tile_id, TileHoldingTable.kept).where(TileHoldingTable.kept != "")
    found: dict[int, str] = {}
    for tile, kept in session.execute(query.order_by(TileHoldingTable.id)):
        found[tile] = kept
    return found


def _target(target: Target) -> dict[str, int | None]:
    cast = isinstance(target, CastTable)
    return {"cast_id": target.id if cast else None, "tile_id": None if cast else target.id}


def _piece(row: ConcessionTable | ApprovalTable) -> str:
    return f"T{row.tile_id}" if row.cast_id is None else f"C{row.cast_id}"


def _called(session: Session, row: ConcessionTable | ApprovalTable) -> str:
    piece = session.get(TileTable, row.tile_id) if row.cast_id is None else session.get(CastTable, row.cast_id)
    return "" if piece is None else name_of(session, piece)


def add_concession(session: Session, master: MasterTable, target: Target, *, by: str, **said: Any) -> None:
    """Put a concession on record. said: zone, difference, verdict, reason, agreed_by, agreed_on."""
    session.add(ConcessionTable(master_id=master.id, by=by, **_target(target), **said))
    session.flush()


def concessions(session: Session, master: MasterTable) -> tuple[ConcessionRow, ...]:
    """Pieces taken although outside, oldest first."""
    query = select(ConcessionTable).where(ConcessionTable.master_id == master.id).order_by(ConcessionTable.id)
    return tuple(
        ConcessionRow(
            _piece(r), r.zone, r.difference, r.verdict, r.reason, r.agreed_by, r.agreed_on, _called(session, r)
        )
        for r in session.scalars(query)
    )


def add_approval(
    session: Session, master: MasterTable | None, target: Target, *, by: str, **said: Any
) -> ApprovalTable:
    """Put a viewing on record. said: the columns of ApprovalTable."""
    row = ApprovalTable(master_id=None if master is None else master.id, by=by, **_target(target), **said)
    session.add(row)
    session.flush()
    return row


def approvals(session: Session, where: ColumnElement[bool] | None = None) -> tuple[ApprovalRow, ...]:
    """Viewings, newest first."""
    query = select(ApprovalTable).order_by(ApprovalTable.held_on.desc(), ApprovalTable.id.desc())
    if where is not None:
        query = query.where(where)
    return tuple(approval_row(session, row) for row in session.scalars(query))


def approval_row(session: Session, row: ApprovalTable) -> ApprovalRow:
    """A viewing as it is shown."""
    master = None if row.master_id is None else f"M{row.master_id}"
    words = (row.who, row.role, row.place, row.light, row.state, row.seen, row.answer, row.remarks)
    name = _called(session, row)
    return ApprovalRow(row.public_id, master, _piece(row), *words, row.held_on, row.by, row.at, name)


def of_target(target: Target) -> ColumnElement[bool]:
    """The condition that a viewing was about that tile or cast."""
    if isinstance(target, CastTable):
        return ApprovalTable.cast_id == target.id
    return ApprovalTable.tile_id == target.id


def add_fact(session: Session, target: Target, fact: str, value: str, *, by: str) -> None:
    """Put on record one circumstance of how a tile or cast was made."""
    session.add(MakingFactTable(fact=fact, value=value, by=by, **_target(target)))
    session.flush()


def facts_of(session: Session) -> tuple[dict[int, dict[str, str]], dict[int, dict[str, str]]]:
    """Circumstances written down, by number of tile and of cast; the newest word on each counts."""
    tiles: dict[int, dict[str, str]] = {}
    casts: dict[int, dict[str, str]] = {}
    for row in session.scalars(select(MakingFactTable).order_by(MakingFactTable.id)):
        if row.tile_id is not None:
            tiles.setdefault(row.tile_id, {})[row.fact] = row.value
        elif row.cast_id is not None:
            casts.setdefault(row.cast_id, {})[row.fact] = row.value
    return tiles, casts
