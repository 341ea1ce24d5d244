"""Releases of recipe revisions: what was answered by whom, what was released, what a pot was mixed for."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.first import RevisionTable
from patina.records.tables.safety import BatchMarkTable, DangerAnswerTable, RecipeReleaseTable
from patina.records.tables.shelf import BatchTable
from patina.sheets.safety import DangerAnswer, ReleaseEvent

WORK, TILES = "work", "test tiles"


def add_answer(
    session: Session,
    revision: RevisionTable,
    *,
    danger: str,
    between: Sequence[str],
    consequence: str,
    reason: str,
    by: str,
) -> None:
    """Put on record why a danger of a revision is safe."""
    session.add(
        DangerAnswerTable(
            revision_id=revision.id,
            danger=danger,
            between=list(between),
            consequence=consequence,
            reason=reason,
            by=by,
        )
    )
    session.flush()


def answers(session: Session, recipe_id: int) -> dict[str, tuple[DangerAnswer, ...]]:
    """What was written for every revision of a recipe, by danger, oldest first."""
    query = (
        select(DangerAnswerTable, RevisionTable.number)
        .join(RevisionTable, RevisionTable.id == DangerAnswerTable.revision_id)
        .where(RevisionTable.recipe_id == recipe_id)
        .order_by(DangerAnswerTable.id)
    )
    found: dict[str, list[DangerAnswer]] = {}
    for row, number in session.execute(query):
        found.setdefault(row.danger, []).append(DangerAnswer(row.reason, row.by, row.at, number))
    return {danger: tuple(rows) for danger, rows in found.items()}


def add_release(session: Session, revision: RevisionTable, released: bool, *, by: str, note: str) -> None:
    """Put on record that a revision was released, or that its release was taken back."""
    session.add(RecipeReleaseTable(revision_id=revision.id, released=released, by=by, note=note))
    session.flush()


def history(session: Session, recipe_id: int) -> tuple[ReleaseEvent, ...]:
    """Releases of all revisions of a recipe, oldest first."""
    query = (
        select(RecipeReleaseTable, RevisionTable.number)
        .join(RevisionTable, RevisionTable.id == RecipeReleaseTable.revision_id)
        .where(RevisionTable.recipe_id == recipe_id)
        .order_by(RecipeReleaseTable.id)
    )
    return tuple(ReleaseEvent(number, row.released, row.by, row.at, row.note) for row, number in session.execute(query))


def mark_batch(
    session: Session, batch: BatchTable, *, purpose: str, discard_by: datetime | None, discard_why: str
) -> None:
    """Put on record what a pot is for and until when it must be gone."""
    session.add(BatchMarkTable(batch_id=batch.id, purpose=purpose, discard_by=discard_by, discard_why=discard_why))
    session.flush()


def marks(session: Session, batch_ids: Iterable[int]) -> dict[int, BatchMarkTable]:
    """The marks of pots, by the number of the pot; pots without a mark are left out."""
    wanted = set(batch_ids)
    query = select(BatchMarkTable)
    if len(wanted) <= 500:
        query = query.where(BatchMarkTable.batch_id.in_(wanted))
    return {row.batch_id: row for row in session.scalars(query) if row.batch_id in wanted}


def tiles_only(session: Session, batches: Sequence[BatchTable]) -> set[int]:
    """Numbers of the pots that are for test tiles only: said so, or mixed while the revision was not released."""
    said = marks(session, [b.id for b in batches])
    revisions = {b.revision_id for b in batches}
    query = select(RecipeReleaseTable).order_by(RecipeReleaseTable.id)
    if len(revisions) <= 500:
        query = query.where(RecipeReleaseTable.revision_id.in_(revisions))
    events: dict[int, list[RecipeReleaseTable]] = {}
    for row in session.scalars(query):
        events.setdefault(row.revision_id, []).append(row)
    found = set()
    for batch in batches:
        purpose = said[batch.id].purpose if batch.id in said else ""
        before = [e.released for e in events.get(batch.revision_id, ()) if e.at <= batch.made_at]
        if purpose == TILES or (purpose == "" and not (before and before[-1])):
            found.add(batch.id)
    return found
