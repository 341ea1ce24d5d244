"""The door that every session stands behind: what whoever is at work may not see is left out of its questions."""

from __future__ import annotations

from typing import Any

from sqlalchemy import event
from sqlalchemy.orm import Session

from patina.records.access.roles import READER, Identity, session_reader


def watch(session: Session, identity: Identity) -> None:
    """Let every question of this session leave out what the person at work may not see.

    Who it is is asked with the first question. A studio with nobody registered pays one small question for it.
    """

    def ask(state: Any) -> None:
        if not state.is_select or state.execution_options.get("of_the_door"):
            return
        reader = session_reader(session, identity, named=False)
        if reader.people and not reader.sees_withheld:
            from patina.records.access.rows import left_out

            state.statement = state.statement.options(*left_out(session, reader))

    session.info[READER] = None
    event.listen(session, "do_orm_execute", ask)
