"""What a pot may be mixed for, and when it must be gone.

A pot of a revision that is not released is for test tiles only. Where the solution holds what explodes on standing
(silver with ammonia), a clock runs: it is gone the same day, and sooner where the rule says so.

Source: [AGN] for the clock of ammoniacal silver, through ``data/reactions.csv``
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from patina.bench.recipes.releases import state_in
from patina.errors import Refused
from patina.records.recipes import releases
from patina.records.tables.base import now

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from patina.chemistry.substances import Catalogue, Substance
    from patina.records.tables.first import RecipeTable, RevisionTable
    from patina.records.tables.shelf import BatchTable
    from patina.safety.values import Danger

PURPOSES = ("test tiles", "work")


def may_be_mixed(
    session: Session, known: Catalogue, recipe: RecipeTable, revision: RevisionTable, purpose: str
) -> None:
    """Raises Refused where a pot is asked for work on a piece and the revision is not released."""
    if purpose != releases.WORK:
        return
    state = state_in(session, known, recipe, revision)
    if not state.released:
        raise Refused(
            f"Revision {revision.number} of '{recipe.name}' is not released for work on pieces. "
            f"{' '.join(state.blocks)}".strip(),
            "Mix it for test tiles, or have it released first: a named person answers each critical danger.",
            field="purpose",
        )


def clock(name: str, substances: Iterable[Substance]) -> Danger | None:
    """The danger that makes a pot be thrown away soonest; None where none does."""
    from patina.safety.reactions import dangers_within, group_of

    running = [d for d in dangers_within(group_of(name, substances)) if d.discard_within_h is not None]
    return min(running, key=lambda d: d.discard_within_h or 0.0, default=None)


def gone_by(made_at: datetime, hours: float) -> datetime:
    """When a pot on the clock must be gone: after so many hours, and on the day it was mixed (this machine's day).

    >>> made = datetime(2026, 3, 2, 22, 30).astimezone()
    >>> gone_by(made, 8).astimezone().strftime("%H:%M:%S"), gone_by(made.replace(hour=7), 8).astimezone().hour
    ('23:59:59', 15)
    """
    midnight = made_at.astimezone().replace(hour=23, minute=59, second=59, microsecond=0)
    return min(made_at + timedelta(hours=hours), midnight).astimezone(UTC)


def mark(session: Session, row: BatchTable, substances: Iterable[Substance], purpose: str) -> None:
    """Start the clock of a pot just put on record, and keep what it was said to be for."""
    danger = clock(row.solution, substances)
    if danger is None:
        if purpose:
            releases.mark_batch(session, row, purpose=purpose, discard_by=None, discard_why="")
        return
    end = gone_by(row.made_at, danger.discard_within_h or 0.0)
    row.use_until = end if row.use_until is None else min(row.use_until, end)
    why = f"{' with '.join(danger.between)}: {danger.consequence}. {danger.instead[:1].upper()}{danger.instead[1:]}."
    releases.mark_batch(session, row, purpose=purpose, discard_by=end, discard_why=why)


def may_be_used(session: Session, row: BatchTable) -> None:
    """Raises Refused where the pot's clock has run out: it is not used, whatever is said."""
    found = releases.marks(session, [row.id]).get(row.id)
    if found is not None and found.discard_by is not None and found.discard_by < now():
        raise Refused(
            f"Pot {row.public_id} should have been gone by {found.discard_by:%Y-%m-%d %H:%M} UTC. {found.discard_why}",
            "Do not use, shake, dry or close it. Keep people away and have somebody competent dispose of it.",
            title="Do not touch this pot",
        )
