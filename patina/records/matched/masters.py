"""Agreed finishes."""

from __future__ import annotations

from sqlalchemy import ColumnElement, or_, select
from sqlalchemy.orm import Session

from patina.colour.values import Lab
from patina.entries import NewMaster
from patina.errors import NotFound
from patina.records.finding.ranking import by_name
from patina.records.finding.searching import found_by
from patina.records.tables.base import searchable
from patina.records.tables.first import RecipeTable, TileTable
from patina.records.tables.ids import number_of
from patina.records.tables.pieces import MasterTable
from patina.sheets import MasterSheet


def add_master(session: Session, entry: NewMaster, *, tile_id: int | None, recipe_id: int | None) -> MasterTable:
    """Put an agreed finish on record."""
    L, a, b = entry.colour
    row = MasterTable(
        name=entry.name,
        lab_l=L,
        lab_a=a,
        lab_b=b,
        formula=entry.formula,
        limit_de=entry.limit_de,
        limit_dl=entry.limit_dL,
        limit_dc=entry.limit_dC,
        limit_dh=entry.limit_dH,
        uncertainty_de00=entry.uncertainty_de00,
        zone=entry.zone,
        tile_id=tile_id,
        recipe_id=recipe_id,
        light=entry.light,
        geometry=entry.geometry,
        wax_state=entry.wax_state,
        warmth=entry.warmth,
        agreed_by=entry.agreed_by,
        agreed_on=entry.agreed_on,
        holders=entry.holders,
        next_check=entry.next_check,
        note=entry.note,
        search_text=searchable(entry.name, entry.zone, entry.agreed_by, entry.holders, entry.note),
    )
    session.add(row)
    session.flush()
    return row


def find_master(session: Session, which: str) -> MasterTable:
    """The agreed finish of that id, or the only one of that name. Raises NotFound."""
    number = number_of(which, "M")
    if number is not None and (row := session.get(MasterTable, number)) is not None:
        return row
    same = [m for m in session.scalars(select(MasterTable)) if m.name.casefold() == which.strip().casefold()]
    if len(same) == 1:
        return same[0]
    ids = ", ".join(m.public_id for m in same)
    raise NotFound(
        f"Several agreed finishes are called '{which}' ({ids})." if same else f"There is no agreed finish '{which}'.",
        "Give its id, such as M1; patina list masters shows them.",
        field="master",
    )


def master_sheets(
    session: Session, where: ColumnElement[bool] | None = None, *, search: str = ""
) -> tuple[MasterSheet, ...]:
    """Agreed finishes, newest first, in one query."""
    query = (
        select(MasterTable, RecipeTable.name, TileTable.engraved)
        .outerjoin(RecipeTable, RecipeTable.id == MasterTable.recipe_id)
        .outerjoin(TileTable, TileTable.id == MasterTable.tile_id)
        .order_by(MasterTable.id.desc())
    )
    if where is not None:
        query = query.where(where)
    if search.strip():
        number = number_of(search, "M")
        words = found_by(session, MasterTable, search)
        query = query.where(words if number is None else or_(words, MasterTable.id == number))
    sheets = (_sheet(row, recipe or "", tile or "") for row, recipe, tile in session.execute(query))
    return by_name(sheets, search, lambda sheet: sheet.name, lambda sheet: sheet.id)


def _sheet(row: MasterTable, recipe: str, tile: str) -> MasterSheet:
    return MasterSheet(
        id=row.public_id,
        name=row.name,
        lab=Lab(row.lab_l, row.lab_a, row.lab_b),
        formula=row.formula,
        limit_de=row.limit_de,
        limit_dL=row.limit_dl,
        limit_dC=row.limit_dc,
        limit_dH=row.limit_dh,
        uncertainty_de00=row.uncertainty_de00,
        zone=row.zone,
        tile=None if row.tile_id is None else f"T{row.tile_id}",
        recipe_id=None if row.recipe_id is None else f"R{row.recipe_id}",
        recipe=recipe,
        light=row.light,
        geometry=row.geometry,
        wax_state=row.wax_state,
        warmth=row.warmth,
        agreed_by=row.agreed_by,
        agreed_on=row.agreed_on,
        holders=row.holders,
        next_check=row.next_check,
        note=row.note,
        tile_name=tile,
    )
