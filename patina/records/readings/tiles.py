"""Test tiles."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, Select, Text, func, or_, select, type_coerce
from sqlalchemy.orm import Session, aliased

from patina.colour.values import Lab, Part
from patina.errors import NotFound
from patina.records.access.rows import shown_text
from patina.records.finding.listing import Same, in_parts
from patina.records.finding.ranking import by_name, ranked_page
from patina.records.finding.searching import LONGEST_PAGE, found_by
from patina.records.log.meanwhile import changed_meanwhile
from patina.records.photographs.rows import photographs_of
from patina.records.readings.readings import part_values, readings_of
from patina.records.tables.base import parsed, searchable
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable, TileTable
from patina.records.tables.ids import number_of
from patina.records.tables.photographs import PhotographUse
from patina.sheets import TileRow, TileSheet

if TYPE_CHECKING:
    from patina.entries import NewTile


def add_tile(
    session: Session, entry: NewTile, *, revision_id: int | None, batch_id: int | None, words: Sequence[str] = ()
) -> TileTable:
    """A new tile, made by that revision and from that batch. words: of its recipe, for searching."""
    tile = TileTable()
    _fill(tile, entry, revision_id, batch_id, words)
    session.add(tile)
    session.flush()
    return tile


def change_tile(
    session: Session,
    tile: TileTable,
    entry: NewTile,
    *,
    revision_id: int | None,
    batch_id: int | None,
    version: int | None,
    words: Sequence[str] = (),
) -> None:
    """What is on record of a tile, corrected; the log keeps what it was. Raises Changed."""
    if version is not None and version != tile.version:
        raise changed_meanwhile(session, tile, version, f"Tile {tile.public_id}")
    _fill(tile, entry, revision_id, batch_id, words)
    session.flush()


def _fill(tile: TileTable, entry: NewTile, revision_id: int | None, batch_id: int | None, words: Sequence[str]) -> None:
    tile.engraved, tile.alloy, tile.preparation = entry.engraved, entry.alloy, entry.preparation
    tile.wall_mm, tile.size, tile.as_done = entry.wall_mm, entry.size, list(entry.as_done)
    tile.made_on, tile.made_by = entry.made_on, entry.made_by
    tile.wax_state, tile.note = entry.wax_state, entry.note
    tile.revision_id, tile.batch_id = revision_id, batch_id
    tile.search_text = searchable(
        entry.engraved, entry.alloy, entry.preparation, entry.size, entry.made_by, entry.note, *entry.as_done, *words
    )


def _query() -> Select[*tuple[Any, ...]]:
    every = aliased(ReadingTable)
    readings = select(func.count(every.id)).where(every.tile_id == TileTable.id).scalar_subquery()
    photographs = select(func.count(PhotographUse.id)).where(PhotographUse.tile_id == TileTable.id).scalar_subquery()
    return (
        select(
            TileTable.id,
            TileTable.engraved,
            TileTable.alloy,
            RevisionTable.recipe_id,
            RecipeTable.name,
            RevisionTable.number,
            TileTable.made_on,
            TileTable.wax_state,
            ReadingTable.lab_l,
            ReadingTable.lab_a,
            ReadingTable.lab_b,
            ReadingTable.illuminant,
            ReadingTable.observer,
            type_coerce(ReadingTable.parts, Text),
            ReadingTable.wax_state,
            readings,
            photographs,
        )
        .outerjoin(RevisionTable, RevisionTable.id == TileTable.revision_id)
        .outerjoin(RecipeTable, RecipeTable.id == RevisionTable.recipe_id)
        .outerjoin(ReadingTable, (ReadingTable.tile_id == TileTable.id) & ReadingTable.latest.is_(True))
        .order_by(TileTable.id.desc())
    )


def tile_rows(
    session: Session,
    where: ColumnElement[bool] | None = None,
    *,
    search: str = "",
    limit: int | None = None,
    offset: int = 0,
) -> tuple[TileRow, ...]:
    """Tiles, newest first, of those found the ones called so before all others; each with its latest colour."""
    query = _query()
    if where is not None:
        query = query.where(where)
    if search.strip() and where is None and limit is not None and limit + offset <= LONGEST_PAGE:
        page = ranked_page(session, TileTable, search, TileTable.id, backwards=True, limit=limit, offset=offset)
        return _ranked(session.execute(query.where(TileTable.id.in_(page))), search)
    if search.strip():
        number = number_of(search, "T")
        words = found_by(session, TileTable, search)
        query = query.where(words if number is None else or_(words, TileTable.id == number))
    if limit is not None:
        query = query.limit(limit).offset(offset)
    return _ranked(in_parts(session, query) if limit is None else session.execute(query), search)


def _ranked(found: Iterable[Any], search: str) -> tuple[TileRow, ...]:
    same = Same()
    return by_name((_row(one, same) for one in found), search, lambda row: row.engraved, lambda row: row.id)


def _row(found: Any, same: Same) -> TileRow:
    id, engraved, alloy, recipe_id, recipe, revision, made_on, wax_state, *read, readings, photographs = found
    L, a, b, illuminant, observer, parts, read_wax = read
    lab: Lab | None = None
    tones: tuple[Part, ...] = ()
    if L is not None:
        illuminant, observer = same.word(illuminant), same.word(observer)
        lab = Lab(L, a, b, illuminant, observer)
        tones = () if parts == "[]" else part_values(parsed(parts), illuminant, observer)
    return TileRow(
        id=f"T{id}",
        engraved=engraved,
        alloy=same.word(alloy),
        recipe_id=None if recipe_id is None else same.word(f"R{recipe_id}"),
        recipe=same.word(recipe or ""),
        revision=revision,
        made_on=made_on,
        wax_state=same.word(wax_state),
        lab=lab,
        parts=tones,
        readings=readings,
        photographs=photographs,
        read_wax="not stated" if lab is None else same.word(read_wax),
    )


def tile_sheet(session: Session, tile: TileTable) -> TileSheet:
    """A tile with how it was made, its photographs and its readings (newest first)."""
    (row,) = tile_rows(session, TileTable.id == tile.id)
    recipe_id = None if row.recipe_id is None else int(row.recipe_id[1:])

    def shown(text: str) -> str:
        return shown_text(session, recipe_id, row.revision, text)

    return TileSheet(
        row=row,
        preparation=tile.preparation,
        wall_mm=tile.wall_mm,
        size=tile.size,
        as_done=tuple(shown(line) for line in tile.as_done),
        made_by=tile.made_by,
        note=shown(tile.note),
        batch=None if tile.batch_id is None else f"B{tile.batch_id}",
        photographs=photographs_of(session, PhotographUse.tile_id == tile.id),
        readings=readings_of(session, ReadingTable.tile_id == tile.id),
        version=tile.version,
        batch_name=_in_the_pot(session, tile.batch_id),
    )


def _in_the_pot(session: Session, batch_id: int | None) -> str:
    from patina.records.tables.shelf import BatchTable

    pot = None if batch_id is None else session.get(BatchTable, batch_id)
    return "" if pot is None else pot.solution


def of_recipe(recipe: RecipeTable) -> ColumnElement[bool]:
    """The condition that a tile was made by any revision of a recipe."""
    return RevisionTable.recipe_id == recipe.id


def find_tile(session: Session, which: str) -> TileTable:
    """The tile of that id, or the only one so engraved. Raises NotFound."""
    if number_of(which, "T") is not None:
        number = number_of(which, "T")
        found = session.get(TileTable, number)
        if found is not None:
            return found
    engraved = session.scalars(select(TileTable).where(TileTable.engraved == which.strip()).limit(3)).all()
    if len(engraved) == 1:
        return engraved[0]
    if engraved:
        ids = ", ".join(tile.public_id for tile in engraved)
        raise NotFound(f"Several tiles are engraved '{which}' ({ids}).", "Give the id of the one you mean.")
    raise NotFound(
        f"There is no tile '{which}'.",
        "Give its id, such as T1 (patina list tiles shows them), or the id of a reading, cast or agreed finish.",
    )
