"""Who works in the studio and as what; who is at work at this machine."""

from __future__ import annotations

from patina.bench.studio import Studio
from patina.errors import BadQuantity, NotAllowed, Refused
from patina.records.access import roles as access
from patina.records.people import people
from patina.records.studio.unit import unit
from patina.sheets.people import AccessSheet, PersonRow, RoleRow

LONGEST = 200
LONGEST_LOGIN = 63  # what a database server keeps of a name


def list_roles() -> tuple[RoleRow, ...]:
    """The roles, from the one who may do most."""
    return tuple(
        RoleRow(
            role=role,
            words=word,
            may=tuple(row["words"] for row in access.deeds().values() if row[role]),
            sees_withheld=access.deed_allowed(role, access.SEES_WITHHELD),
        )
        for role, word in access.ROLES.items()
    )


def list_people(studio: Studio) -> tuple[PersonRow, ...]:
    """Everybody who is registered, by name."""
    with studio.store.view() as session:
        return people.person_rows(session)


def add_person(
    studio: Studio, name: str, role: str, *, login: str = "", contact: str = "", note: str = "", by: str = ""
) -> PersonRow:
    """Register somebody. The first must be the head of the studio; from then on roles count.

    role: head, patineur, assistant, conservator or client. login: the person's name on the database server. Raises
    NotAllowed, Refused, BadQuantity.
    """
    name, login = _line(name, "name", LONGEST), _line(login, "login", LONGEST_LOGIN)
    if not name:
        raise BadQuantity("A person needs a name.", "Give it.", field="name")
    if people.long_id(name, "PE") is not None:
        raise BadQuantity(f"'{name}' looks like the id of a person.", "Write the name in full.", field="name")
    role = _role(role)
    contact, note = _line(contact, "contact", 400), _line(note, "note", 2000)
    with unit(studio.store, "add person", by=studio.who(by)) as work:
        row = people.add_person(work.session, name=name, role=role, login=login, contact=contact, note=note)
        made = people.person_row(row)
        work.commit()
    return made


def change_person(
    studio: Studio,
    which: str,
    *,
    role: str | None = None,
    login: str | None = None,
    contact: str | None = None,
    active: bool | None = None,
    note: str | None = None,
    version: int | None = None,
    by: str = "",
) -> PersonRow:
    """Change what is written of somebody; None leaves it as it is. active: False for who has left.

    version: of the row that was looked at. Raises Changed, NotAllowed, NotFound, Refused.
    """
    if (role, login, contact, active, note) == (None, None, None, None, None):
        raise Refused("Nothing was said that is to be changed.", "Give a role, a login, a contact or a note.")
    with unit(studio.store, "change person", by=studio.who(by)) as work:
        row = people.find_person(work.session, which)
        people.change_person(
            work.session,
            row,
            version=version,
            role=None if role is None else _role(role),
            login=None if login is None else _line(login, "login", LONGEST_LOGIN),
            contact=None if contact is None else _line(contact, "contact", 400),
            active=active,
            note=None if note is None else _line(note, "note", 2000),
        )
        made = people.person_row(row)
        work.commit()
    return made


def who_am_i(studio: Studio) -> AccessSheet:
    """Who is at work here, as what, and how that is known."""
    me = studio.me()
    if not me.people:
        said = "Nobody is registered here: whoever is at work may do everything."
        return AccessSheet(me.name, "", me.how, me.proved, False, said)
    if not me.role:
        who = f"'{me.name}' is not registered" if me.name else "Nobody said who is at work"
        said = f"{who}: nothing can be written, and no more is shown than to a client."
    else:
        said = f"{me.name} works here as {access.ROLES[me.role]}."
    if not me.proved:
        said += " In a folder a name is only said; a studio on a database server proves it."
    return AccessSheet(me.name, me.role, me.how, me.proved, True, said)


def work_here_as(studio: Studio, name: str) -> AccessSheet:
    """From now on that person works at this machine on this studio; an empty name forgets it.

    Raises NotFound for nobody's name where people are registered, Refused on a database server, where the login
    decides.
    """
    from patina.records.access.machine import set_name_on_this_machine

    if studio.store.folder is None:
        raise Refused(
            "This studio is on a database server, whose login says who you are.",
            "Open it with your own login; the head of the studio registers logins with patina people add.",
        )
    name = _line(name, "name", LONGEST)
    if name:
        with studio.store.view() as session:
            if people.person_rows(session):
                name = people.find_person(session, name).name
    set_name_on_this_machine(studio.where, name)
    studio.store.identity.name, studio.store.identity.how = name, "as this machine was told" if name else ""
    return who_am_i(studio)


# kinds of record that some role is not shown -> the table they stand in
_TABLES = {"lots": "lot", "batches": "batch", "works": "work", "exposures": "exposure"}


def require_shown(studio: Studio, kind: str) -> None:
    """Raises NotAllowed where an empty list is empty because this role is not shown such records."""
    me = studio.me()
    if me.people and kind in _TABLES and access.access_of_table(me.role or "client", _TABLES[kind]) == "-":
        word = access.ROLES.get(me.role, "somebody who is not registered")
        raise NotAllowed(f"The studio's {kind} are not shown to {word}.", "Ask the head of the studio about them.")


def _role(role: str) -> str:
    words = {word.casefold(): key for key, word in access.ROLES.items()} | {key: key for key in access.ROLES}
    found = words.get(" ".join(role.split()).casefold())
    if found is None:
        raise BadQuantity(f"'{role}' is no role.", f"Use one of: {', '.join(access.ROLES)}.", field="role")
    return found


def _line(text: str, field: str, longest: int) -> str:
    text = " ".join(text.split())
    if len(text) > longest or not text.isprintable():
        raise BadQuantity(f"That is no {field}.", f"Write up to {longest} characters on one line.", field=field)
    return text
