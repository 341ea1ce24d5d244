"""What a work at the torch leaves on record of its tile or cast when it ends."""

from __future__ import annotations

from typing import TYPE_CHECKING

from patina.bench.torch.work_told import as_done, without_planned
from patina.entries import NewTreatment
from patina.records.access.rows import words_held
from patina.records.pieces.casts import add_treatment
from patina.records.tables.base import searchable
from patina.records.tables.first import TileTable
from patina.records.tables.pieces import CastTable
from patina.records.tables.shelf import BatchTable
from patina.records.tables.work import WorkTable
from patina.records.torch.work_state import State
from patina.sheets import WorkSheet

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


def keep_what_was_done(session: Session, row: WorkTable, sheet: WorkSheet, state: State) -> None:
    """On a cast as a treatment, on a tile as how it was made and out of which pot."""
    lines = as_done(sheet)
    if row.tile_id is not None:
        tile = session.get_one(TileTable, row.tile_id)
        if words_held(session, tile):  # a server keeps them from whoever is at work; the work itself tells the lines
            return
        mark = f"{row.public_id}: "  # taken up after its end, a work is told once
        before = [said for said in without_planned(tile.as_done, sheet) if not said.startswith(mark)]
        tile.as_done = [*before, *(mark + s for s in lines)]
        tile.search_text = searchable(tile.search_text, *tile.as_done)
        if tile.batch_id is None and (pot := _only_pot(session, state)) and pot.revision_id == tile.revision_id:
            tile.batch_id = pot.id
        return
    areas = [z.area_m2 for z in sheet.zones]
    entry = NewTreatment(
        cast=sheet.row.target,
        did=f"worked at the torch: {sheet.row.id}",
        zone=", ".join(z.name for z in sheet.zones),
        as_done=lines,
        area_m2=None if None in areas else sum(a for a in areas if a is not None),
        done_on=row.started_at.date(),
        done_by=row.done_by,
        note=row.note,
    )
    cast = session.get_one(CastTable, row.cast_id)
    pot = _only_pot(session, state)
    add_treatment(session, entry, cast, revision_id=row.revision_id, batch_id=None if pot is None else pot.id)


def _only_pot(session: Session, state: State) -> BatchTable | None:
    """The pot of a work, where it was worked out of one alone."""
    return session.get(BatchTable, state.pots[-1]) if len(set(state.pots)) == 1 else None
