"""Finding any record by its words, for the palette."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.records.finding.everything import find, has_treatments, in_order
from patina.sheets import Found


def find_records(studio: Studio, text: str, *, limit: int = 20) -> tuple[Found, ...]:
    """Records that hold every word of the text, or bear that id: recipes, tiles, agreed finishes,
    pieces, casts, lots, batches and conservator's treatments, at most ``limit`` of each kind; first those whose
    name is the text, begins with it, or has its words, then those that have them elsewhere."""
    if not text.strip():
        return ()
    with studio.store.view() as session:
        found = find(session, text, limit)
        treated = has_treatments(session)
    if not treated:
        return found
    from patina.bench.treating.treat import list_treatments

    rows = [Found("treatment", row.id, row.name) for row in list_treatments(studio, text)[:limit]]
    return in_order((*found, *rows), text)
