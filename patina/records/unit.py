"""One deed, one transaction: all of it is kept, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.orm import Session

from patina.records.engine import Store, troubles


class UnitOfWork:
    """A transaction that rolls back unless told to commit. session: for the stores only."""

    def __init__(self, session: Session, *, by: str, deed: str, why: str):
        self.session = session
        self.by, self.deed, self.why = by, deed, why
        from patina.records.log import Watch

        self._watch = Watch()
        self._watch.attach(session)

    def commit(self) -> None:
        """Write the log and keep everything, on disk before this returns."""
        from patina.records.log import write_log
        from patina.records.searching import index_words

        write_log(self.session, self._watch, by=self.by, deed=self.deed, why=self.why)
        index_words(self.session, self._watch.other_words.values())
        self.session.commit()
        self._watch.clear()


@contextmanager
def unit(store: Store, deed: str, *, by: str = "", why: str = "") -> Iterator[UnitOfWork]:
    """A unit of work for the named deed. Everything not committed at the end is undone.

    by: who does it. why: the reason, where one is asked for. Raises Changed, Refused or
    StudioTrouble where the database refuses.
    """
    writing = store.engine.execution_options(writing=True)
    with troubles(store.where), Session(writing, autoflush=False, expire_on_commit=False) as session:
        session.connection()  # takes the right to write before anything is read
        yield UnitOfWork(session, by=by, deed=deed, why=why)
