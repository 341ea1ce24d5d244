"""Ids that a form offers, with what they stand for: nobody knows them by heart, and gloves do not type them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tui.dialogs.form import Field

if TYPE_CHECKING:
    from patina.bench.studio import Studio

Known = tuple[tuple[str, str], ...]
MOST = 200  # tiles offered, the newest first


def offered(key: str, label: str, hint: str, known: Known, value: str = "", *, many: bool = False) -> Field:
    """A field that offers ids and says what they stand for."""
    return Field(key, label, hint, value, tuple(id for id, _ in known), known, many)


def tiles(studio: Studio) -> Known:
    """Tiles, the newest first."""
    from patina.bench.readings.tiles import list_tiles

    return tuple((row.id, f"{row.engraved}, {row.recipe or row.alloy}") for row in list_tiles(studio, limit=MOST))


def pots(studio: Studio) -> Known:
    """Pots that something is left in, the newest first."""
    from patina.bench.pots.batches import list_batches

    return tuple((row.id, f"{row.solution}, {row.recipe} rev. {row.revision}") for row in list_batches(studio))


def casts(studio: Studio, first: str = "") -> Known:
    """Casts; those of the piece that ``first`` was cast for before the others, itself left out."""
    from patina.bench.pieces.casts import list_casts

    rows = list_casts(studio)
    piece = next((row.piece_id for row in rows if row.id == first), "")
    ordered = sorted((row for row in rows if row.id != first), key=lambda row: row.piece_id != piece)
    return tuple((row.id, f"{row.piece} {row.number}".strip()) for row in ordered)


def agreed(studio: Studio) -> Known:
    """Agreed finishes."""
    from patina.bench.pieces.casts import list_masters

    return tuple((row.id, row.name) for row in list_masters(studio))


def tile_of(studio: Studio, master: str) -> str:
    """The tile that an agreed finish was read from; "" where none is on record."""
    from patina.bench.pieces.casts import list_masters

    return next((row.tile or "" for row in list_masters(studio) if row.id == master), "")


def agreed_for(studio: Studio, cast: str) -> str:
    """The agreed finish that a cast names; "" without one, and for a tile."""
    from patina.bench.pieces.casts import list_casts

    return next((row.master or "" for row in list_casts(studio) if row.id == cast), "")


def circumstances() -> Known:
    """What may be written down of how a piece was made, as it is begun: "blast="."""
    from patina.bench.matched.matching_forms import fact_fields

    return tuple((f"{key}=", words) for key, words in fact_fields())
