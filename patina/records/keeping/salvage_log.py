"""The log of changes begun anew over records that were saved out of a damaged studio."""

from __future__ import annotations

from typing import Any

from sqlalchemy import delete, exc, insert, select
from sqlalchemy.orm import Session

from patina.errors import PatinaError
from patina.records.finding.searching import index_words
from patina.records.log.chain import FIRST, entry_hash
from patina.records.log.snapshots import kept_columns, snapshot_of
from patina.records.studio.store import Store
from patina.records.tables.base import Edited, canonical, now
from patina.records.tables.first import GramRow, ReadingTable, WordRow
from patina.records.tables.kinds import record_kinds
from patina.records.tables.seals import WithdrawalTable
from patina.records.tables.shelf import ChainHead, ChangeTable

DEED = "salvage"
WHY = "saved out of a damaged studio; the log before it is lost"


def begin_log_anew(store: Store, lost: list[str]) -> None:
    """One change for each record that was saved, chained from the first; and the words that find them."""
    writing = store.engine.execution_options(writing=True)
    with Session(writing, autoflush=False) as session:
        session.execute(delete(WordRow))
        session.execute(delete(GramRow))
        n, previous, at = 0, FIRST, now()
        for kind in record_kinds():
            for values in _readable(session, kind, lost):
                n += 1
                after = snapshot_of(kind, values)
                entry = ChangeTable(
                    n=n, at=at, by="", deed=DEED, why=WHY, kind=kind.__tablename__,
                    record=f"{kind.LETTER}{after['id']}", before=None, after=canonical(after), previous=previous,
                )  # fmt: skip
                previous = entry.hash = entry_hash(entry)
                session.add(entry)
            session.flush()
            session.expunge_all()
        for kind in record_kinds():
            if issubclass(kind, Edited):
                index_words(session, session.scalars(select(kind)).all())
                session.flush()
        _mark_latest(session)
        session.execute(delete(ChainHead))
        session.execute(insert(ChainHead).values(id=1, n=n, hash=previous))
        session.commit()


def _readable(session: Session, kind: Any, lost: list[str]) -> list[Any]:
    """The rows of a kind whose columns hold what they should; others are taken out and named."""
    found = []
    for id in session.scalars(select(kind.id).order_by(kind.id)).all():
        try:
            found.append(session.execute(select(*kept_columns(kind)).where(kind.id == id)).one())
            canonical(snapshot_of(kind, found[-1]))
        except (PatinaError, ValueError, TypeError, exc.SQLAlchemyError) as trouble:
            del found[len(found) - (len(found) and found[-1][0] == id) :]
            lost.append(f"{kind.LETTER}{id} ({kind.__tablename__}) holds what cannot be read: {trouble}.")
    return found


def _mark_latest(session: Session) -> None:
    """The newest reading of each tile and cast is the one that is shown."""

    newest: dict[tuple[Any, Any], tuple[Any, int]] = {}
    gone = select(WithdrawalTable.reading_id)
    query = select(ReadingTable.id, ReadingTable.tile_id, ReadingTable.cast_id, ReadingTable.read_at)
    for id, tile, cast, at in session.execute(query.where(ReadingTable.id.not_in(gone))):
        newest[tile, cast] = max(newest.get((tile, cast), (at, id)), (at, id))
    shown = {id for _, id in newest.values()}
    for row in session.scalars(select(ReadingTable)):
        if row.latest != (row.id in shown):
            row.latest = row.id in shown
    session.flush()
