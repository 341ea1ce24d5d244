"""From one record to those that hang together with it."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.errors import NotFound
from patina.records import related as rows
from patina.sheets import Found

MOST_OF_A_KIND = 30


def related(studio: Studio, which: str) -> tuple[Found, ...]:
    """Records that a record names or that name it: a tile's recipe, pot and agreed finish, a recipe's
    tiles, a cast's finish and pots, and so on; of each kind the newest 30.

    which: id of a recipe, tile, batch, agreed finish, piece, cast, lot or conservator's treatment. Raises NotFound.
    """
    plain = which.strip().upper()
    if plain.startswith("CT"):
        return _of_treatment(studio, plain)
    with studio.store.view() as session:
        found = rows.related(session, which, MOST_OF_A_KIND)
    return found if not plain.startswith("C") else (*found, *_treatments(studio, plain))


def _treatments(studio: Studio, cast: str) -> tuple[Found, ...]:
    from patina.bench.treating.treat import list_treatments

    return tuple(Found("treatment", row.id, row.name) for row in list_treatments(studio, cast=cast)[:MOST_OF_A_KIND])


def _of_treatment(studio: Studio, which: str) -> tuple[Found, ...]:
    from patina.bench.treating.treat import list_treatments

    for row in list_treatments(studio):
        if row.id == which:
            return (Found("cast", row.cast, f"{row.title} {row.number}".strip()),)
    raise NotFound(f"There is no treatment '{which}'.", "patina treatment list shows them.")
