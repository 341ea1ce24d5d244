"""Which deeds were done under an id that their sender made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar

from sqlalchemy.orm import Session

from patina.errors import Refused
from patina.records.tables.readings import DeedDoneTable

_ID: ContextVar[str | None] = ContextVar("id of the deed", default=None)


@contextmanager
def under_id(uid: str) -> Iterator[None]:
    """What is committed meanwhile is one deed under this id."""
    token = _ID.set(uid)
    try:
        yield
    finally:
        _ID.reset(token)


def done_under(session: Session, uid: str) -> tuple[str, ...] | None:
    """Ids of what a deed changed; None where nothing was done under this id."""
    row = session.get(DeedDoneTable, uid)
    return None if row is None else tuple(row.records)


def note_the_id(session: Session, deed: str, records: Callable[[], Sequence[str]]) -> None:
    """Write the id with the deed, where it has one. Raises Refused where that id was used before."""
    uid = _ID.get()
    if uid is None:
        return
    if session.get(DeedDoneTable, uid) is not None:
        raise Refused("This deed was done before.", "There is nothing to do.")
    session.add(DeedDoneTable(uid=uid, deed=deed, records=list(dict.fromkeys(records()))))
    session.flush()
