"""Who reads and who writes: the one door for both, after ``data/roles.csv`` and ``data/role_tables.csv``.

Where nobody is registered, one person does everything. As soon as somebody is, a deed needs a person whose role may
do it, and what a role may not see is left out of every question to the database.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from sqlalchemy import exc, text
from sqlalchemy.orm import Session

from patina.datafile import any_text, one_of, read_table, yes_or_no
from patina.datafile import text as words
from patina.errors import NotAllowed

# key in the data files -> what it is called
ROLES = {
    "head": "studio head",
    "patineur": "patineur",
    "assistant": "assistant",
    "conservator": "conservator",
    "client": "client view",
}
SEES_WITHHELD = "read withheld"
READS_ALL = "read all"
READER = "reader"  # of a session's info


@dataclass
class Identity:
    """Who a program says is at work: set by ``--as``, the environment or this machine. how: which of them."""

    name: str = ""
    how: str = ""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who is at work, as the records know it.

    role: key of ROLES, empty where nobody is registered (everything is allowed) or the name is not a person's.
    people: whether anybody is registered. proved: the database vouches for the name.
    """

    name: str = ""
    role: str = ""
    people: bool = False
    proved: bool = False
    how: str = ""

    def may(self, deed: str) -> bool:
        """Whether this person may do a deed, or see what a "read" row of the table of roles is about."""
        return not self.people or deed_allowed(self.role, deed)

    @property
    def sees_withheld(self) -> bool:
        """Whether withheld quantities are shown to this person in any case."""
        return self.may(SEES_WITHHELD)


@cache
def deeds() -> dict[str, dict[str, Any]]:
    """The rows of the table of roles, by deed."""
    columns = {"deed": words, **dict.fromkeys(ROLES, yes_or_no), "words": words, "source": words}
    return {row["deed"]: row for row in read_table("roles.csv", columns)}


@cache
def tables() -> dict[str, dict[str, str]]:
    """What each role may read and write, by table: "rw", "r", "o", "ow" or "-"."""
    columns = {
        "table": words,
        **dict.fromkeys(ROLES, one_of("rw", "r", "o", "ow", "-")),
        "source": any_text,
    }
    return {row["table"]: {role: row[role] for role in ROLES} for row in read_table("role_tables.csv", columns)}


def row_of(deed: str) -> dict[str, Any] | None:
    """The row of a deed: its own, or that of the beginning of its name with a star."""
    known = deeds()
    if deed in known:
        return known[deed]
    return next((row for name, row in known.items() if name.endswith("*") and deed.startswith(name[:-1])), None)


def deed_allowed(role: str, deed: str) -> bool:
    """Whether a role may do a deed. A deed that the table lacks is left to the head of the studio."""
    row = row_of(deed)
    if row is None:
        return role == "head"
    return bool(role and row[role])


def access_of_table(role: str, table: str) -> str:
    """What a role may do with a table; one that is not listed is not shown to clients and read by the others."""
    known = tables().get(table)
    if known is not None and role in known:
        return known[role]
    return {"head": "rw", "patineur": "rw", "conservator": "rw", "assistant": "rw"}.get(role, "-")


def reader_of(session: Session, identity: Identity, *, named: bool = True) -> Reader:
    """Who is at work in a session. named: False leaves the name out where nobody is registered.

    On a database server its login decides; in a folder the name that was said, else the studio's setting "who".
    """
    connection = session.connection()
    rows = connection.execute(text("SELECT name, name_folded, role, login FROM person WHERE active")).all()
    if not rows and not named:
        return Reader()
    server = connection.dialect.name != "sqlite"
    login = str(connection.execute(text("SELECT session_user")).scalar_one()) if server else ""
    if not rows:
        name, how = _said(connection, identity)
        return Reader(name=name, how=how)
    if server:
        found = next((r for r in rows if r.login == login), None)
        if found is not None:
            return Reader(found.name, found.role, True, True, f"the login {login}")
        return Reader("", "", True, True, f"the login {login}, which is nobody's here")
    name, how = _said(connection, identity)
    folded = " ".join(name.split()).casefold()
    found = next((r for r in rows if r.name_folded == folded), None)
    return Reader(name, "" if found is None else found.role, True, False, how)


def _said(connection: Any, identity: Identity) -> tuple[str, str]:
    if identity.name:
        return identity.name, identity.how
    kept = connection.execute(text("SELECT value FROM setting WHERE name = 'who'")).scalar()
    return (str(kept), "the studio's setting") if kept else ("", "nobody said")


def require(reader: Reader, deed: str) -> None:
    """Raises NotAllowed where a person may not do a deed."""
    if reader.may(deed):
        return
    row = row_of(deed)
    what = deed if row is None else row["words"]
    if not reader.role:
        who = f"'{reader.name}' is not registered here" if reader.name else "Nobody said who is at work"
        raise NotAllowed(
            f"{who} ({reader.how}), so this was not done: {what}.",
            "Say who you are (patina --as NAME, or patina people me NAME on this machine); the studio head registers "
            "people with patina people add.",
        )
    may = [ROLES[role] for role in ROLES if deed_allowed(role, deed)]
    raise NotAllowed(
        f"{reader.name} works here as {ROLES[reader.role]}, who may not {what}.",
        f"Ask somebody who may: {', '.join(may)}.",
    )


def session_reader(session: Session, identity: Identity, *, named: bool = True) -> Reader:
    """Who is at work in this session; asked once. named: False where only the role matters, which nobody has as long
    as nobody is registered."""
    known: Reader | None = session.info.get(READER)
    if known is None or (named and not known.people):
        try:
            known = reader_of(session, identity, named=named)
        except exc.ProgrammingError:  # a login that may not even read who works here
            known = Reader(people=True, proved=True, how="a login without rights here")
        session.info[READER] = known
    return known
