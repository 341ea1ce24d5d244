"""Who works in the studio: registered, changed, found."""

from __future__ import annotations

import re

from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from patina.errors import NotFound, Refused
from patina.records.log.meanwhile import changed_meanwhile
from patina.records.tables.people import PersonTable
from patina.sheets.people import PersonRow


def long_id(text: str, letters: str) -> int | None:
    """The number behind an id of those letters ("pe12" → 12); None where the text is something else.

    >>> long_id("gv 3", "GV"), long_id("R3", "GV")
    (3, None)
    """
    found = re.fullmatch(rf"{letters}\s*(\d{{1,9}})", text.strip(), re.IGNORECASE)
    return None if found is None else int(found[1])


def fold(name: str) -> str:
    """A name with case and runs of spaces levelled."""
    return " ".join(name.split()).casefold()


def person_row(row: PersonTable) -> PersonRow:
    """A person as it is shown."""
    return PersonRow(
        id=row.public_id,
        name=row.name,
        role=row.role,
        login=row.login,
        contact=row.contact,
        active=row.active,
        note=row.note,
        version=row.version,
    )


def person_rows(session: Session, *, all_of_them: bool = True) -> tuple[PersonRow, ...]:
    """The people by name; all_of_them: those who have left too."""
    query = select(PersonTable).order_by(PersonTable.name_folded)
    if not all_of_them:
        query = query.where(PersonTable.active)
    return tuple(person_row(row) for row in session.scalars(query))


def find_person(session: Session, which: str) -> PersonTable:
    """The person of that id or name. Raises NotFound."""
    number = long_id(which, "PE")
    if number is not None and (row := session.get(PersonTable, number)) is not None:
        return row
    found = session.scalars(select(PersonTable).where(PersonTable.name_folded == fold(which))).one_or_none()
    if found is None:
        raise NotFound(f"Nobody called '{which}' is registered.", "patina people list shows who is.", field="name")
    return found


def _require_own_login(session: Session, login: str) -> None:
    """On a server roles go by login: a first head with another one would shut out whoever registers them, and all."""
    connection = session.connection()
    if connection.dialect.name == "sqlite":
        return
    own = str(connection.execute(text("SELECT session_user")).scalar_one())
    if login != own:
        raise Refused(
            "The first head of a studio on a server must be whoever is at work now, or nobody could go on.",
            f"Register yourself with the login of this connection: --login {own}.",
            field="login",
        )


def add_person(session: Session, *, name: str, role: str, login: str, contact: str, note: str) -> PersonTable:
    """Register somebody. The first must be a head of the studio, or nobody could register the next.

    Raises Refused where the name or login is taken.
    """
    if session.scalars(select(PersonTable.id).where(PersonTable.name_folded == fold(name))).first() is not None:
        raise Refused(f"'{name}' is registered already.", "Change that entry: patina people change.", field="name")
    _login_is_free(session, login, None)
    if role != "head" and not _heads(session, None):
        raise Refused(
            f"'{name}' would be the first, and no {role} can register others.",
            "Register the head of the studio first (--role head).",
            field="role",
        )
    if not _heads(session, None):
        _require_own_login(session, login)
    row = PersonTable(
        name=" ".join(name.split()),
        name_folded=fold(name),
        role=role,
        login=login,
        contact=contact,
        active=True,
        note=note,
    )
    session.add(row)
    session.flush()
    return row


def change_person(
    session: Session,
    row: PersonTable,
    *,
    version: int | None = None,
    role: str | None = None,
    login: str | None = None,
    contact: str | None = None,
    active: bool | None = None,
    note: str | None = None,
) -> None:
    """Change what is written of somebody; None leaves it. Raises Changed; Refused where no head would be left."""
    if version is not None and version != row.version:
        raise changed_meanwhile(session, row, version, f"What is written of {row.name}")
    if login is not None:
        _login_is_free(session, login, row.id)
    goes = active is False or (role is not None and role != "head")
    if row.role == "head" and row.active and goes and not _heads(session, row.id):
        raise Refused(f"{row.name} is the only head of the studio.", "Make somebody else head of the studio first.")
    row.role = row.role if role is None else role
    row.login = row.login if login is None else login
    row.contact = row.contact if contact is None else contact
    row.active = row.active if active is None else active
    row.note = row.note if note is None else note
    session.flush()


def _heads(session: Session, but: int | None) -> int:
    query = select(func.count()).select_from(PersonTable).where(PersonTable.role == "head", PersonTable.active)
    if but is not None:
        query = query.where(PersonTable.id != but)
    return session.scalar(query) or 0


def _login_is_free(session: Session, login: str, but: int | None) -> None:
    if not login:
        return
    found = session.scalars(select(PersonTable).where(PersonTable.login == login)).first()
    if found is not None and found.id != but:
        raise Refused(f"The login '{login}' is {found.name}'s.", "Each person has a login of their own.", field="login")
