"""One deed, one transaction: all of it is kept, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.orm import Session

from patina.records.studio.server import commit_and_know, take_the_right_to_write
from patina.records.studio.store import Store, troubles


class UnitOfWork:
    """A transaction that rolls back unless told to commit. session: for the stores only."""

    def __init__(self, session: Session, *, by: str, deed: str, why: str, where: str = ""):
        self.session, self._where = session, where
        self.by, self.deed, self.why = by, deed, why
        from patina.records.log.changes import Watch

        self._watch = Watch()
        self._watch.attach(session)

    def commit(self) -> None:
        """Write the log and keep everything, on disk before this returns."""
        from patina.records.finding.searching import index_words
        from patina.records.log.changes import write_log
        from patina.records.log.done_once import note_the_id

        last = write_log(self.session, self._watch, by=self.by, deed=self.deed, why=self.why)
        index_words(self.session, self._watch.other_words.values())
        note_the_id(self.session, self.deed, lambda: [row.public_id for row, _, _ in self._watch.entries()])
        commit_and_know(self.session, self._where, last)
        self._watch.clear()


@contextmanager
def unit(store: Store, deed: str, *, by: str = "", why: str = "") -> Iterator[UnitOfWork]:
    """A unit of work for the named deed. Everything not committed at the end is undone.

    by: who does it; where people are registered it is whoever is at work, whatever was typed. why: the
    reason, where one is asked for. Raises NotAllowed where the role of whoever is at work may not do it,
    Changed, Refused or StudioTrouble where the database refuses.
    """
    from patina.records.access.door import watch
    from patina.records.access.roles import require, session_reader
    from patina.records.log.withdrawn import leave_out_withdrawn

    writing = store.engine.execution_options(writing=True)
    with troubles(store.where), Session(writing, autoflush=False, expire_on_commit=False) as session:
        session.connection()  # takes the right to write before anything is read
        take_the_right_to_write(session)
        leave_out_withdrawn(session)
        watch(session, store.identity)
        reader = session_reader(session, store.identity)
        require(reader, deed)
        yield UnitOfWork(session, by=reader.name if reader.people else by, deed=deed, why=why, where=store.where)
