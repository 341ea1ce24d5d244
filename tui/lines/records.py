"""Lists and sheets of the five places, for the studio line by line."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from patina.errors import NotFound
from tui import format as show
from tui.widgets.prose import Prose

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Row = tuple[str, ...]  # id, then what tells it from others


def rows_of(studio: Studio, place: str) -> list[Row]:
    """The records of a place, or of one of its lists. Raises NotFound for a name that is none."""
    read = _LISTS.get(place)
    if read is None:
        raise NotFound(f"There is no list '{place}'.", f"Lists: {', '.join(_LISTS)}.")
    return read(studio)


def _finishes(studio: Studio) -> list[Row]:
    from patina.bench.recipes.finishes import list_recipes

    return [(r.id, r.name, r.finish, show.times(r.tiles, "tile")) for r in list_recipes(studio)]


def _tiles(studio: Studio) -> list[Row]:
    from patina.bench.readings.tiles import list_tiles

    rows: list[Row] = []
    for tile in list_tiles(studio):
        lab = tile.lab
        colour = "" if lab is None else f"{show.colour_words(lab.L, lab.a, lab.b)} {show.lab(lab.L, lab.a, lab.b)}"
        rows.append((tile.id, tile.engraved, tile.recipe, colour or "not read"))
    return rows


def _casts(studio: Studio) -> list[Row]:
    from patina.bench.pieces.casts import list_casts

    return [(c.id, f"{c.piece} {c.number}".strip(), c.alloy, c.owner) for c in list_casts(studio)]


def _pieces(studio: Studio) -> list[Row]:
    from patina.bench.pieces.casts import list_pieces

    return [(p.id, p.title, p.maker, show.times(p.casts, "cast")) for p in list_pieces(studio)]


def _masters(studio: Studio) -> list[Row]:
    from patina.bench.pieces.casts import list_masters

    return [(m.id, m.name, show.lab(m.lab.L, m.lab.a, m.lab.b)) for m in list_masters(studio)]


def _shelf(studio: Studio) -> list[Row]:
    from patina.bench.shelves.shelf import list_lots

    return [(r.id, r.substance, show.amount(r.left, r.unit), r.place, r.state) for r in list_lots(studio)]


def _pots(studio: Studio) -> list[Row]:
    from patina.bench.pots.batches import list_batches

    return [(b.id, f"{b.recipe}: {b.solution}", f"{show.volume(b.left_ml)} left") for b in list_batches(studio)]


def _works(studio: Studio) -> list[Row]:
    from patina.bench.torch.work import list_works

    return [(w.id, w.recipe, show.moment(w.started_at)) for w in list_works(studio)]


_LISTS: dict[str, Callable[[Studio], list[Row]]] = {
    "finishes": _finishes,
    "tiles": _tiles,
    "casts": _casts,
    "pieces": _pieces,
    "agreed": _masters,
    "shelf": _shelf,
    "bench": _pots,
    "works": _works,
}


def sheet_of(studio: Studio, id: str) -> Prose:
    """The sheet of a record. Raises NotFound for an id that is none."""
    read = _SHEETS.get(id[:1].upper())
    if read is None or not id[1:].isdigit():
        raise NotFound(f"There is no record '{id}'.", "Say 'find' and a few letters of its name.")
    return read(studio, id.upper())


def _recipe(studio: Studio, id: str) -> Prose:
    from patina.bench.recipes.finishes import recipe_sheet
    from tui.screens.recipe_words import history_words, recipe_words
    from tui.screens.release_words import released_and_safe

    sheet = recipe_sheet(studio, id)
    known = studio.catalogue()
    solutions = sheet.recipe.solutions
    keys = {i.substance for s in solutions for i in s.ingredients} | {s.solvent for s in solutions}
    prose = recipe_words(sheet, {key: known.get(key).name for key in keys})
    return prose.heading("Safety, as mixed").extend(released_and_safe(studio, sheet)).extend(history_words(sheet))


def _tile(studio: Studio, id: str) -> Prose:
    from patina.bench.readings.tiles import tile_sheet
    from tui.screens.record_words import tile_words

    return tile_words(tile_sheet(studio, id))


def _cast(studio: Studio, id: str) -> Prose:
    from patina.bench.pieces.casts import cast_sheet
    from tui.screens.record_words import cast_words

    return cast_words(cast_sheet(studio, id))


def _master(studio: Studio, id: str) -> Prose:
    from patina.bench.pieces.casts import master_sheet
    from tui.screens.record_words import master_words

    return master_words(master_sheet(studio, id))


def _lot(studio: Studio, id: str) -> Prose:
    from patina.bench.shelves.shelf import lot_movements, lot_row
    from tui.screens.record_words import lot_words

    return lot_words(lot_row(studio, id), lot_movements(studio, id))


def _pot(studio: Studio, id: str) -> Prose:
    from patina.bench.pots.batches import batch_sheet
    from tui.screens.mix_words import batch_words

    return batch_words(batch_sheet(studio, id))


_SHEETS: dict[str, Callable[[Studio, str], Prose]] = {
    "R": _recipe,
    "T": _tile,
    "C": _cast,
    "M": _master,
    "L": _lot,
    "B": _pot,
}
