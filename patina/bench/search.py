"""Finding any record by its words, for the palette."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.records.finding import find
from patina.sheets import Found


def find_records(studio: Studio, text: str, *, limit: int = 20) -> tuple[Found, ...]:
    """Records that hold every word of the text, or bear that id: recipes, tiles, agreed finishes,
    pieces, casts, lots and batches, at most ``limit`` of each kind."""
    if not text.strip():
        return ()
    with studio.store.view() as session:
        return find(session, text, limit)
