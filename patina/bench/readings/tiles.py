"""Tiles, their photographs and readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from patina.bench.entry_rules import reading_in_order, tile_in_order
from patina.bench.studio import Studio
from patina.entries import NewReading, NewTile, NewTreatment
from patina.errors import NotFound, Refused
from patina.records.finding.record_words import revision_words
from patina.records.photographs import rows as photograph_rows
from patina.records.pieces.casts import cast_rows, find_piece
from patina.records.readings import readings, tiles
from patina.records.recipes.recipes import find_recipe, find_revision
from patina.records.studio.unit import unit
from patina.records.tables.first import ReadingTable, TileTable
from patina.records.tables.ids import fetch, letter_of
from patina.records.tables.pieces import CastTable, MasterTable
from patina.records.tables.shelf import BatchTable
from patina.sheets import Lab, PhotographRow, ReadingRow, TileRow, TileSheet
from patina.sheets.named import named

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.bench.readings.comparing import NamedColour


def list_tiles(
    studio: Studio, search: str = "", recipe: str | None = None, *, limit: int | None = None, offset: int = 0
) -> tuple[TileRow, ...]:
    """Tiles, newest first. search: every word must begin a word of the tile or of its recipe's name or look.
    recipe: only tiles of that recipe (id or name). limit, offset: one page of them."""
    with studio.store.view() as session:
        only = None if recipe is None else tiles.of_recipe(find_recipe(session, recipe))
        return tiles.tile_rows(session, only, search=search, limit=limit, offset=offset)


def tile_sheet(studio: Studio, which: str) -> TileSheet:
    """A tile by its id, or by what is engraved on it where only one bears that. Raises NotFound."""
    with studio.store.view() as session:
        return tiles.tile_sheet(session, tiles.find_tile(session, which))


def start_tile(studio: Studio, tile: NewTile) -> TileSheet:
    """Put a new tile on record. Raises Incomplete, NotFound, Refused."""
    entry = tile_in_order(tile)
    who = studio.who(entry.made_by)
    with unit(studio.store, "start tile", by=who) as work:
        revision_id, batch_id = made_with(work.session, entry)
        row = tiles.add_tile(
            work.session,
            replace(entry, made_by=who),
            revision_id=revision_id,
            batch_id=batch_id,
            words=revision_words(work.session, revision_id),
        )
        sheet = tiles.tile_sheet(work.session, row)
        work.commit()
    return sheet


def change_tile(studio: Studio, which: str, tile: NewTile, version: int | None = None, *, by: str = "") -> TileSheet:
    """Correct what is on record of a tile; the log keeps what it was. version: of the sheet that
    was edited. Raises Changed, Incomplete, NotFound, Refused."""
    entry = tile_in_order(tile)
    with unit(studio.store, "change tile", by=studio.who(by)) as work:
        row = tiles.find_tile(work.session, which)
        entry = _with_hidden(work.session, row, entry)
        revision_id, batch_id = made_with(work.session, entry)
        tiles.change_tile(
            work.session,
            row,
            entry,
            revision_id=revision_id,
            batch_id=batch_id,
            version=version,
            words=revision_words(work.session, revision_id),
        )
        sheet = tiles.tile_sheet(work.session, row)
        work.commit()
    return sheet


def _with_hidden(session: Session, row: TileTable, entry: NewTile) -> NewTile:
    """What somebody left as it was shown to them, without its amounts, stays as it is written."""
    seen = tiles.tile_sheet(session, row)
    note = row.note if entry.note.strip() == seen.note.strip() else entry.note
    as_done = tuple(row.as_done) if tuple(entry.as_done) == seen.as_done else entry.as_done
    return replace(entry, note=note, as_done=as_done)


def made_with(session: Session, entry: NewTile | NewTreatment) -> tuple[int | None, int | None]:
    """Rows of the revision and the batch that an entry names; a batch must be of that recipe."""
    revision_id = None
    if entry.recipe is not None:
        revision_id = find_revision(session, find_recipe(session, entry.recipe), entry.revision).id
    if entry.batch is None:
        return revision_id, None
    batch = fetch(session, BatchTable, entry.batch, field="batch")
    if revision_id is not None and batch.revision_id != revision_id:
        raise Refused(
            f"Batch {batch.public_id} was mixed by another recipe or revision.",
            "Give the recipe and revision that the batch was mixed by.",
            field="batch",
        )
    return batch.revision_id, batch.id


def target_of(session: Session, which: str) -> TileTable | CastTable:
    """The tile or cast of an id. Raises NotFound, for a piece with the casts that can be named."""
    if letter_of(which) == "C":
        return fetch(session, CastTable, which, field="target")
    try:
        return tiles.find_tile(session, which)
    except NotFound:
        _name_its_casts(session, which)
        raise


def _name_its_casts(session: Session, which: str) -> None:
    """Where somebody named a piece instead of a cast. Raises NotFound."""
    try:
        piece = find_piece(session, which)
    except NotFound:
        return
    casts = ", ".join(named(row.id, row.number) for row in cast_rows(session, CastTable.piece_id == piece.id)[:12])
    raise NotFound(
        f"{piece.public_id} is a piece: '{piece.title}'.",
        f"Name one of its casts: {casts}." if casts else "Put one of its casts on record first.",
        field="target",
    )


def add_reading(studio: Studio, target: str, reading: NewReading) -> ReadingRow:
    """Keep one reading with a tile or a cast. Raises Incomplete, NotFound."""
    return add_readings(studio, target, [reading])[0]


def add_readings(studio: Studio, target: str, entries: Sequence[NewReading]) -> tuple[ReadingRow, ...]:
    """Keep several readings with a tile or a cast: all of them, or none."""
    return keep_readings(studio, [(target, entry) for entry in entries])


def keep_readings(
    studio: Studio, entries: Sequence[tuple[str, NewReading]], *, why: str = ""
) -> tuple[ReadingRow, ...]:
    """Keep readings, each with the tile or cast named beside it: all of them, or none.

    Raises Incomplete, NotFound; Refused where a photograph is another record's or is not to be measured.
    """
    ordered = [(target, reading_in_order(entry)) for target, entry in entries]
    who = studio.who(ordered[0][1].read_by if ordered else "")
    kept: list[ReadingRow] = []
    with unit(studio.store, "add reading", by=who, why=why) as work:
        for target, entry in ordered:
            owner = target_of(work.session, target)
            photograph = None
            if entry.photograph is not None:
                photograph = photograph_rows.find_photograph(work.session, entry.photograph)
                photograph_rows.require_use(work.session, photograph, owner)
                if entry.instrument == photograph_rows.WITHOUT_CHART:
                    photograph_rows.require_measurable(work.session, photograph)
            row = readings.add_reading(work.session, owner, replace(entry, read_by=entry.read_by or who), photograph)
            kept.append(readings.kept_row(work.session, row))
        work.commit()
    return tuple(kept)


def import_readings_csv(studio: Studio, path: Path, *, default: str | None = None) -> tuple[ReadingRow, ...]:
    """Take in readings from a CSV file (columns L, a, b and optional others): every row, or none.

    default: the tile or cast of rows that name none. Columns and their meaning: see
    ``patina.bench.readings.readings_csv``. Raises BadQuantity naming row and column, NotFound.
    """
    from patina.bench.readings.readings_csv import read_readings

    return keep_readings(studio, read_readings(Path(path), default), why=f"imported from {Path(path).name}"[:400])


def reading_of(studio: Studio, which: str) -> ReadingRow:
    """A reading by its id. Raises NotFound."""
    with studio.store.view() as session:
        return readings.readings_of(session, ReadingTable.id == fetch(session, ReadingTable, which).id)[0]


def add_photograph(
    studio: Studio, target: str, path: Path, *, state: str = "", note: str = "", by: str = ""
) -> PhotographRow:
    """Store a photograph untouched and put it with a tile or a cast.

    state: what it shows ("before waxing"). The file's bytes, its EXIF and its profile are kept.
    Raises BadPhotograph, NotFound, Refused where it is there already, StudioTrouble.
    """
    from patina.colour.photograph import facts_of

    path = Path(path)
    with studio.store.view() as session:
        target_of(session, target)  # before the file is copied in for nothing
    facts = facts_of(path)
    kept = studio.store.files.keep(path)
    if kept != facts.sha256:
        raise Refused(f"'{path.name}' changed while it was being stored.", "Wait until it is whole and add it again.")
    who = studio.who(by)
    with unit(studio.store, "add photograph", by=who) as work:
        use = photograph_rows.add_photograph(
            work.session,
            target_of(work.session, target),
            facts,
            name=path.name[:400],
            size_bytes=studio.store.files.existing(kept).stat().st_size,
            state=state.strip()[:200],
            note=note.strip(),
            by=who,
        )
        row = photograph_rows.photograph_row(use)
        work.commit()
    return row


def photograph_path(studio: Studio, sha256: str) -> Path:
    """Where a stored photograph lies. Raises NotFound, Damaged where its file is gone."""
    with studio.store.view() as session:
        found = photograph_rows.find_photograph(session, sha256).sha256
    return studio.store.files.existing(found)


def colour_record(studio: Studio, which: str) -> NamedColour:
    """The colour of a reading (D1), of the latest reading of a tile (T1) or cast (C1), or of an
    agreed finish (M1). Raises NotFound."""
    with studio.store.view() as session:
        letter = letter_of(which)
        if letter == "M":
            return _master_colour(fetch(session, MasterTable, which))
        if letter == "D":
            return _reading_colour(session, fetch(session, ReadingTable, which), "")
        owner = target_of(session, which)
        latest = readings.latest_of(session, owner)
        if latest is None:
            raise NotFound(f"{owner.public_id} has no reading yet.", "Add a reading to it first.")
        return _reading_colour(session, latest, owner.public_id)


def _master_colour(row: MasterTable) -> NamedColour:
    from patina.bench.readings.comparing import NamedColour

    return NamedColour(
        name=f"{row.public_id} {row.name}",
        lab=Lab(row.lab_l, row.lab_a, row.lab_b),
        uncertainty_de00=row.uncertainty_de00,
        wax_state=row.wax_state,
        warmth=row.warmth,
        tile=None if row.tile_id is None else f"T{row.tile_id}",
    )


def _reading_colour(session: Session, row: ReadingTable, owner: str) -> NamedColour:
    from patina.bench.readings.comparing import NamedColour

    shown: Any = readings.readings_of(session, ReadingTable.id == row.id)[0]
    words = [shown.id, shown.area, f"of {owner or shown.tile or shown.cast}"]
    return NamedColour(
        name=" ".join(word for word in words if word),
        lab=shown.lab,
        uncertainty_de00=shown.uncertainty_de00,
        wax_state=shown.wax_state,
        warmth=shown.warmth,
        photograph=shown.photograph,
        tile=shown.tile,
        instrument=shown.instrument,
        doubt_de00=readings.doubt_of(session, row),
    )
