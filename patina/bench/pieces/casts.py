"""Pieces, casts, what is done to them, and the finishes that were agreed."""

from __future__ import annotations

from dataclasses import replace

from patina.bench.entry_rules import cast_in_order, master_in_order, piece_in_order, treatment_in_order
from patina.bench.readings.tiles import made_with
from patina.bench.studio import Studio
from patina.entries import NewCast, NewMaster, NewPiece, NewTreatment
from patina.records.matched import masters
from patina.records.pieces import casts
from patina.records.readings import tiles
from patina.records.recipes.recipes import find_recipe
from patina.records.studio.unit import unit
from patina.records.tables.ids import fetch
from patina.records.tables.pieces import CastTable, MasterTable
from patina.sheets import CastRow, CastSheet, MasterSheet, PieceRow


def list_pieces(studio: Studio, search: str = "") -> tuple[PieceRow, ...]:
    """Works in order of title. search: every word must stand in title, maker or note."""
    with studio.store.view() as session:
        return casts.piece_rows(session, search)


def add_piece(studio: Studio, piece: NewPiece, *, by: str = "") -> PieceRow:
    """Put a work on record. Raises Incomplete."""
    entry = piece_in_order(piece)
    with unit(studio.store, "add piece", by=studio.who(by)) as work:
        row = casts.add_piece(work.session, entry)
        work.commit()
    return PieceRow(row.public_id, row.title, row.maker, row.edition, 0)


def list_casts(studio: Studio, piece: str | None = None, search: str = "") -> tuple[CastRow, ...]:
    """Casts in order of title. piece: only those of that piece (id or title)."""
    with studio.store.view() as session:
        only = None if piece is None else CastTable.piece_id == casts.find_piece(session, piece).id
        return casts.cast_rows(session, only, search=search)


def cast_sheet(studio: Studio, which: str) -> CastSheet:
    """A cast by its id, with treatments, photographs and readings. Raises NotFound."""
    with studio.store.view() as session:
        return casts.cast_sheet(session, fetch(session, CastTable, which, field="cast"))


def add_cast(studio: Studio, cast: NewCast, *, by: str = "") -> CastSheet:
    """Put a cast of a piece on record. Raises Incomplete, NotFound, Refused where its number is taken."""
    entry = cast_in_order(cast)
    with unit(studio.store, "add cast", by=studio.who(by)) as work:
        piece = casts.find_piece(work.session, entry.piece)
        master = None if entry.master is None else masters.find_master(work.session, entry.master).id
        row = casts.add_cast(work.session, entry, piece, master)
        sheet = casts.cast_sheet(work.session, row)
        work.commit()
    return sheet


def change_cast(studio: Studio, which: str, cast: NewCast, version: int | None = None, *, by: str = "") -> CastSheet:
    """Correct what is on record of a cast; the log keeps what it was. version: of the sheet that
    was edited. Raises Changed, Incomplete, NotFound, Refused."""
    entry = cast_in_order(cast)
    with unit(studio.store, "change cast", by=studio.who(by)) as work:
        row = fetch(work.session, CastTable, which, field="cast")
        piece = casts.find_piece(work.session, entry.piece)
        master = None if entry.master is None else masters.find_master(work.session, entry.master).id
        if entry.note.strip() == casts.cast_sheet(work.session, row).note.strip():
            entry = replace(entry, note=row.note)  # left as it was shown, perhaps without amounts
        casts.change_cast(work.session, row, entry, piece, master_id=master, version=version)
        sheet = casts.cast_sheet(work.session, row)
        work.commit()
    return sheet


def add_treatment(studio: Studio, treatment: NewTreatment) -> CastSheet:
    """Put a dated action on a cast on record; it is never edited. Raises Incomplete, NotFound, Refused."""
    entry = treatment_in_order(treatment)
    who = studio.who(entry.done_by)
    with unit(studio.store, "add treatment", by=who) as work:
        cast = fetch(work.session, CastTable, entry.cast, field="cast")
        revision_id, batch_id = made_with(work.session, entry)
        casts.add_treatment(work.session, replace(entry, done_by=who), cast, revision_id=revision_id, batch_id=batch_id)
        sheet = casts.cast_sheet(work.session, cast)
        work.commit()
    return sheet


def list_masters(studio: Studio, search: str = "") -> tuple[MasterSheet, ...]:
    """Agreed finishes, newest first. search: every word must stand in name, zone, people or note."""
    with studio.store.view() as session:
        return masters.master_sheets(session, search=search)


def master_sheet(studio: Studio, which: str) -> MasterSheet:
    """An agreed finish by id or name. Raises NotFound."""
    with studio.store.view() as session:
        found = masters.find_master(session, which)
        return masters.master_sheets(session, MasterTable.id == found.id)[0]


def agree_master(studio: Studio, master: NewMaster, *, by: str = "") -> MasterSheet:
    """Put an agreed finish on record. Raises Incomplete, NotFound."""
    entry = master_in_order(master)
    with unit(studio.store, "agree finish", by=studio.who(by)) as work:
        tile = None if entry.tile is None else tiles.find_tile(work.session, entry.tile).id
        recipe = None if entry.recipe is None else find_recipe(work.session, entry.recipe).id
        row = masters.add_master(work.session, entry, tile_id=tile, recipe_id=recipe)
        sheet = masters.master_sheets(work.session, MasterTable.id == row.id)[0]
        work.commit()
    return sheet
