"""A studio on a database server: its connections, one writer at a time, and what the server says in words.

Whoever writes takes the studio's one right to write first, as on SQLite. So two deeds never wait for
each other in a circle, and what a deed has read stays true until it is done.
"""

from __future__ import annotations

import time
from typing import Any

from sqlalchemy import Engine, create_engine, event, exc, text
from sqlalchemy.engine import URL
from sqlalchemy.orm import Session

from patina.errors import Contended, PatinaError, Refused, StudioTrouble, Unreachable

LOCK_WAIT_S = 10
CONNECT_S = 5
WRITERS_LOCK = 1_885_435_241  # any number, the same for all
LOOKS_S = (0.0, 0.3, 0.7, 1.5)  # waits before each look at what became of a commit
# A machine that lost its network must not hold the right to write for hours.
_SESSION = (
    f"SET lock_timeout = '{LOCK_WAIT_S}s'",
    "SET idle_in_transaction_session_timeout = '60s'",
    "SET tcp_keepalives_idle = 10",
    "SET tcp_keepalives_interval = 5",
    "SET tcp_keepalives_count = 3",
)
_LIBPQ = {
    "connect_timeout": CONNECT_S,
    "keepalives_idle": 5,
    "keepalives_interval": 2,
    "keepalives_count": 3,
    "tcp_user_timeout": 1000 * LOCK_WAIT_S,
}


def server_engine(url: URL) -> Engine:
    """An engine that notices a dead connection within seconds and does not wait for ever for a lock."""
    known = url.get_driver_name() in ("psycopg", "psycopg2")
    arguments = {k: v for k, v in _LIBPQ.items() if k not in url.query} if known else {}
    engine = create_engine(url, pool_pre_ping=True, connect_args=arguments)
    if url.get_backend_name() == "postgresql":

        @event.listens_for(engine, "connect")
        def _connected(connection: Any, _record: Any) -> None:
            cursor = connection.cursor()
            for statement in _SESSION:
                cursor.execute(statement)
            cursor.close()
            connection.commit()

    return engine


def take_the_right_to_write(session: Session) -> None:
    """Until the end of the transaction nobody else writes in this studio. SQLite does so by itself."""
    if session.get_bind().dialect.name == "postgresql":
        session.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITERS_LOCK})


def commit_and_know(session: Session, where: str, last: tuple[int, str] | None) -> None:
    """Commit; where the connection is lost under way, look up what became of it.

    last: number and hash of the last entry that this transaction added to the log of changes: whether that
    stands there is the proof. (A transaction's own number is none: after a crash it is given out again.)
    Raises Unreachable, saying whether it was saved, not saved, or cannot be known yet.
    """
    if session.get_bind().dialect.name != "postgresql":
        session.commit()
        return
    engine = session.get_bind().engine
    try:
        session.commit()
    except exc.DBAPIError as trouble:
        if not is_lost(trouble):
            raise
        saved = _became(engine, last)
        if saved:
            return
        if saved is None:
            raise Unreachable(
                f"The connection to '{where}' was lost while this was being saved: whether it was is not known.",
                "Look at the record when the database is back, before you do it again.",
            ) from None
        raise lost(where) from None


def _became(engine: Engine, last: tuple[int, str] | None) -> bool | None:
    """Whether a transaction was committed; None where that cannot be known."""
    if last is None:
        return None
    query = text("SELECT count(*) FROM change WHERE n = :n AND hash = :hash")
    for wait in LOOKS_S:
        time.sleep(wait)
        engine.dispose()
        try:
            with engine.connect() as connection:
                # whoever gets the right to write knows that the transaction that had it is over
                connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": WRITERS_LOCK})
                return bool(connection.execute(query, {"n": last[0], "hash": last[1]}).scalar())
        except exc.DBAPIError:
            continue
    return None


def lost(where: str) -> Unreachable:
    """The trouble of a connection that was lost in the middle of a deed."""
    return Unreachable(
        f"The database of '{where}' does not answer: this was not saved.",
        "Nothing is half-saved. Do it again when the database is back.",
    )


_GONE = ("08", "57P01", "57P02", "57P03", "57P05", "25P03")
_STARTING = ("starting up", "shutting down", "recovery", "terminating connection")


def is_lost(trouble: BaseException) -> bool:
    """Whether the server is out of reach, as against one that answered and refused."""
    said = trouble.orig if isinstance(trouble, exc.DBAPIError) else trouble
    if isinstance(trouble, exc.DBAPIError) and trouble.connection_invalidated:
        return True
    state = getattr(said, "sqlstate", None)
    if state is not None:
        return str(state).startswith(_GONE)
    if type(said).__name__ not in ("OperationalError", "ConnectionTimeout", "InterfaceError"):
        return False
    words = str(said)
    return "FATAL" not in words or any(part in words for part in _STARTING)


_WORDS: dict[str, tuple[str, str]] = {
    "55P03": ("is being written to by somebody else", "Wait a moment and do it again; nothing was saved."),
    "57014": ("took too long to answer and was stopped", "Do it again later; nothing was saved."),
    "53100": ("could not be written: the server's disk is full", "Make room there; nothing was half-saved."),
    "53200": ("could not be used: the server has no memory left", "Do it again later; nothing was saved."),
    "53300": ("takes no more connections", "Close other programs, or let the server take more; nothing was saved."),
    "25006": ("can only be read", "Ask whoever runs the server for its main database; nothing was saved."),
    "3D000": ("is not there: the server has no database of that name", "Make it with createdb, or correct the URL."),
    "42501": ("does not let this person do that", "Ask whoever keeps the studio for the role; nothing was saved."),
}


def server_trouble(trouble: exc.DBAPIError, where: str) -> PatinaError | None:
    """What a server said, as a trouble that a person can act on; None where it is none that is known here."""
    if is_lost(trouble):
        return lost(where)
    state = str(getattr(trouble.orig, "sqlstate", None) or "")
    if state in ("40001", "40P01"):
        return Contended(
            "Two changes came at the same moment, and this one gave way.", "Do it again; nothing was saved."
        )
    if state == "P0001":  # what our own triggers say
        said = str(trouble.orig).splitlines()[0]
        return Refused(f"The records would no longer agree with each other ({said}).", "Nothing was saved.")
    if isinstance(trouble, exc.DataError):  # a number without end, a sign that no text may hold
        return Refused("There is a sign or a number that cannot be kept.", "Type it again; nothing was saved.")
    if state in _WORDS:
        what, remedy = _WORDS[state]
        return StudioTrouble(f"The database of '{where}' {what}.", remedy)
    return None
