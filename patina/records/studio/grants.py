"""The roles in a PostgreSQL database: groups, grants, rows that are not shown, and recipes without their quantities.

A login that is no head or patineur reads some tables through views (``access/views.py``); the tables themselves it may
not read. Rows that a role is not shown are left out by row security. All of it can be said again at any time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from patina.errors import Refused
from patina.records.access.roles import ROLES, access_of_table
from patina.records.access.rows import FIGURE
from patina.records.access.views import OF_ITS_DRAFT, OPEN, SHOWN, VIEWS, functions, group, views, writes
from patina.records.studio.store import Store
from patina.records.tables.base import Base
from patina.sheets.people import PersonRow

WITH_DELETE = ("word", "exposure")
EDITED = ("recipe_draft",)  # of the tables whose rows are not all shown
_NO_FIGURE = f"word !~ '{FIGURE}'"  # a search for a figure must not answer whether it stands somewhere


def statements(people: tuple[PersonRow, ...]) -> tuple[str, ...]:
    """What the server is told, in order; each may be said again."""
    from patina.records.tables.kinds import record_kinds

    record_kinds()  # every table is known by then
    return (*_groups(), *functions(), *_tables(), *views(), *_people(people))


def apply(store: Store, people: tuple[PersonRow, ...]) -> tuple[str, ...]:
    """Tell the server, all of it or nothing. Raises Refused where the studio is in a folder or the login may not."""
    from sqlalchemy import exc

    said = statements(people)
    try:
        with store.engine.begin() as connection:
            for statement in said:
                connection.exec_driver_sql(statement.replace("%", "%%"))
    except exc.ProgrammingError as trouble:
        raise Refused(
            f"The database did not take it: {str(trouble.orig).splitlines()[0]}.",
            "Open the studio with the login that owns the database and may create roles, or have the statements "
            "that patina people grant-sql prints run by whoever looks after the server.",
        ) from None
    return said


def _groups() -> Iterator[str]:
    for role in ROLES:
        yield (
            f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{group(role)}') "
            f"THEN CREATE ROLE {group(role)} NOLOGIN; END IF; END $$"
        )
    everybody = ", ".join(map(group, ROLES))
    yield f"CREATE SCHEMA IF NOT EXISTS {OPEN}"
    yield f"CREATE SCHEMA IF NOT EXISTS {SHOWN}"
    yield f"GRANT USAGE ON SCHEMA public, {OPEN}, {SHOWN} TO {everybody}"
    yield f"GRANT SELECT ON alembic_version TO {everybody}"
    writers = ", ".join(group(role) for role in ROLES if writes(role))
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {writers}"


def _tables() -> Iterator[str]:
    for name in sorted(Base.metadata.tables):
        access = {role: access_of_table(role, name) for role in ROLES}
        yield f'REVOKE ALL ON "{name}" FROM {", ".join(map(group, ROLES))}'
        for role, what in access.items():
            if name in VIEWS and what.startswith("o"):  # this role reads and writes through the view alone
                continue
            rights = ["SELECT"]
            if "w" in what:
                rights += ["INSERT", "UPDATE", *(["DELETE"] if name in WITH_DELETE else [])]
            if rights:
                yield f'GRANT {", ".join(rights)} ON "{name}" TO {group(role)}'
        yield from _rows(name, access)


def _rows(name: str, access: dict[str, str]) -> Iterator[str]:
    """Row security where some role is not shown every row. Whoever owns the database is not bound by it."""
    viewed = name in VIEWS  # then whoever reads the view has no right on the table, and its rows need no condition
    if all(what in ("r", "rw") or (viewed and what != "-") for what in access.values()):
        return
    yield f'ALTER TABLE "{name}" ENABLE ROW LEVEL SECURITY'
    for policy in ("patina_all", "patina_some", "patina_write", "patina_edit", "patina_gone"):
        yield f'DROP POLICY IF EXISTS {policy} ON "{name}"'
    every = [group(role) for role, what in access.items() if what in ("r", "rw")]
    some = [group(role) for role, what in access.items() if what.startswith("o")]
    if every:
        yield f'CREATE POLICY patina_all ON "{name}" TO {", ".join(every)} USING (true) WITH CHECK (true)'
    if some and not viewed:
        conditions = {"word": _NO_FIGURE, "gram": _NO_FIGURE, "recipe_draft": OF_ITS_DRAFT}
        shown = conditions.get(name, f"{OPEN}.sees_batch(batch_id)")
        yield f'CREATE POLICY patina_some ON "{name}" FOR SELECT TO {", ".join(some)} USING ({shown})'
        yield f'CREATE POLICY patina_write ON "{name}" FOR INSERT TO {", ".join(some)} WITH CHECK (true)'
        if name in EDITED:
            yield f'CREATE POLICY patina_edit ON "{name}" FOR UPDATE TO {", ".join(some)} USING ({shown})'
        if name in WITH_DELETE:
            yield f'CREATE POLICY patina_gone ON "{name}" FOR DELETE TO {", ".join(some)} USING (true)'


def _path(role: str) -> str:
    """Where a login of a role looks for a table."""
    shown = any(access_of_table(role, name).startswith("o") for name in VIEWS)
    return ", ".join([*([OPEN if writes(role) else SHOWN] if shown else []), "public"])


def _people(people: tuple[PersonRow, ...]) -> Iterator[str]:
    for person in people:
        if not re.fullmatch(r"[^\"'\\$\x00]{1,63}", person.login):
            continue
        login = f'"{person.login}"'
        if person.active:
            yield (
                f"DO $$ BEGIN IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{person.login}') "
                f"THEN CREATE ROLE {login} LOGIN; END IF; END $$"
            )
        others = [group(role) for role in ROLES if not person.active or role != person.role]
        yield (
            f"DO $$ BEGIN IF EXISTS (SELECT FROM pg_roles WHERE rolname = '{person.login}') "
            f"THEN REVOKE {', '.join(others)} FROM {login}; END IF; END $$"
        )
        if person.active:
            yield f"GRANT {group(person.role)} TO {login}"
            yield (
                f"DO $$ BEGIN EXECUTE format('GRANT CONNECT ON DATABASE %I TO {login}', current_database()); "
                f"EXECUTE format('ALTER ROLE {login} IN DATABASE %I SET search_path = {_path(person.role)}', "
                "current_database()); "
                "END $$"
            )


def is_server(store: Store) -> bool:
    """Whether the studio is in a PostgreSQL database."""
    return store.engine.dialect.name == "postgresql"
