"""From one record to those that hang together with it."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.records.finding import related as rows
from patina.sheets import Found

MOST_OF_A_KIND = 30


def related(studio: Studio, which: str) -> tuple[Found, ...]:
    """Records that a record names or that name it: a tile's recipe, pot, lots and agreed finish, a recipe's tiles
    and the lots of its substances, a cast's finish, pots and conservator's treatments, and so on, each way; of each
    kind the newest 30.

    which: id of a recipe, tile, batch, agreed finish, piece, cast, lot or conservator's treatment. Raises NotFound.
    """
    with studio.store.view() as session:
        return rows.related(session, which, MOST_OF_A_KIND)
