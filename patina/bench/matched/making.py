"""How a tile or cast was made: writing down a circumstance, and reading back all that is known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from patina.bench.entry_rules import Rules
from patina.bench.readings.tiles import target_of
from patina.errors import Refused
from patina.matching.circumstances import known_circumstances
from patina.records.matched import makings, masters_more
from patina.records.studio.unit import unit
from patina.records.tables.pieces import CastTable

if TYPE_CHECKING:
    from patina.bench.studio import Studio

_LONGEST = 2000


def fact_key(word: str) -> str:
    """The key of a circumstance as a person writes it ("weld rod", "blast"). Raises Refused naming all.

    >>> fact_key("Weld rod")
    'weld_rod'
    """
    known = known_circumstances()
    plain = word.strip().casefold()
    for key, circumstance in known.items():
        if plain in (key, key.replace("_", " "), circumstance.words.casefold()):
            return key
    raise Refused(
        f"'{word}' is no circumstance known here.",
        f"Use one of: {', '.join(k.replace('_', ' ') for k in known)}.",
        field="fact",
    )


def note_facts(studio: Studio, target: str, facts: Mapping[str, str], *, by: str = "") -> dict[str, str]:
    """Put circumstances of a tile or cast on record: all of them, or none. The newest word on each counts.

    facts: circumstance, as ``fact_key`` reads it, to its value in words. Returns all that is known of
    how the piece was made. Raises Refused, Incomplete, NotFound.
    """
    rules = Rules()
    if not facts:
        raise Refused("Nothing was said.", "Give a circumstance and its value: blast=glass bead, new.", field="fact")
    keyed = {fact_key(word): value.strip() for word, value in facts.items()}
    for key, value in keyed.items():
        rules.need(value, key, "The value")
        rules.short(value, key, _LONGEST)
    rules.done()
    with unit(studio.store, "note how it was made", by=studio.who(by)) as work:
        row = target_of(work.session, target)
        for key, value in keyed.items():
            masters_more.add_fact(work.session, row, key, value, by=studio.who(by))
        made = (
            makings.made_cast(work.session, row, row.number or row.public_id)
            if isinstance(row, CastTable)
            else makings.made_tile(work.session, row)
        )
        work.commit()
    return dict(made.facts)


def known_facts(studio: Studio, target: str) -> dict[str, str]:
    """All that is known of how a tile or cast was made, by key of the circumstance. Raises NotFound."""
    with studio.store.view() as session:
        row = target_of(session, target)
        if isinstance(row, CastTable):
            return dict(makings.made_cast(session, row, row.number or row.public_id).facts)
        return dict(makings.made_tile(session, row).facts)
