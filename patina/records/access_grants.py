"""The roles in a PostgreSQL database: groups, grants, rows that are not shown, and recipes without their quantities.

A login that is no head or patineur reads ``revision`` through a view of the same name in the schema ``patina_open``,
which stands first on its search path, and a client ``tile`` and ``treatment`` through ``patina_shown``; the tables
themselves they may not read. In what people typed, such a view leaves out every figure. Rows that a role is not shown
are left out by row security. All of it can be said again at any time.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from sqlalchemy import text

from patina.errors import Refused
from patina.records.access import ROLES, SEES_WITHHELD, access_of_table, deed_allowed
from patina.records.access_rows import FIGURE, KINDS_WITH_QUANTITIES
from patina.records.access_withheld import BASIS
from patina.records.base import Base
from patina.records.engine import Store
from patina.sheets.access import WITHHELD
from patina.sheets.people import PersonRow

OPEN = "patina_open"  # schema of what stands in for tables that are not read themselves
SHOWN = "patina_shown"  # the same for those who write nothing
# table -> schema of its view, whether its row is whole for this login, and what stands in for a column where it is not
VIEWS = {
    "revision": (
        OPEN,
        f"{OPEN}.sees(recipe_id, number)",
        {
            "document": f"{OPEN}.mask(document)",
            "reason": f"{OPEN}.words(reason)",
            "finish": f"{OPEN}.words(finish)",
            "provenance": f"{OPEN}.words(provenance)",
        },
    ),
    "tile": (
        SHOWN,
        f"{OPEN}.sees_revision(revision_id)",
        {"as_done": f"{OPEN}.words(as_done)", "note": f"{OPEN}.words(note)", "search_text": "''"},
    ),
    "treatment": (
        SHOWN,
        f"{OPEN}.sees_revision(revision_id)",
        {"as_done": f"{OPEN}.words(as_done)", "note": f"{OPEN}.words(note)", "did": f"{OPEN}.words(did)"},
    ),
}
WITH_DELETE = ("word", "exposure")
_NO_FIGURE = f"word !~ '{FIGURE}'"  # a search for a figure must not answer whether it stands somewhere


def group(role: str) -> str:
    """The name of a role's group on the server."""
    return f"patina_{role}"


def statements(people: tuple[PersonRow, ...]) -> tuple[str, ...]:
    """What the server is told, in order; each may be said again."""
    from patina.records.check import record_kinds

    record_kinds()  # every table is known by then
    return (*_groups(), *_functions(), *_tables(), *_view(), *_people(people))


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
    writers = ", ".join(group(role) for role in ROLES if access_of_table(role, "change") != "-")
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {writers}"


def _functions() -> Iterator[str]:
    see = ", ".join(f"'{role}'" for role in ROLES if deed_allowed(role, SEES_WITHHELD))
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.sees(recipe integer, revision integer) RETURNS boolean "
        "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public AS $$ "
        "WITH me AS (SELECT name, role FROM person WHERE login = session_user AND active) "
        f"SELECT EXISTS (SELECT FROM me WHERE role IN ({see})) OR NOT coalesce(("
        "SELECT w.withheld AND NOT EXISTS (SELECT FROM jsonb_array_elements_text(w.open_to::jsonb) o, me "
        "WHERE lower(o) IN (lower(me.name), lower(me.role))) "
        "FROM withholding w WHERE w.recipe_id = recipe AND (w.number IS NULL OR w.number = revision) "
        "ORDER BY w.id DESC LIMIT 1), false) $$"
    )
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.sees_batch(batch integer) RETURNS boolean "
        "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public AS $$ "
        f"SELECT batch IS NULL OR coalesce((SELECT {OPEN}.sees(r.recipe_id, r.number) FROM batch b "
        "JOIN revision r ON r.id = b.revision_id WHERE b.id = batch), true) $$"
    )
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.sees_revision(revision integer) RETURNS boolean "
        "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public AS $$ "
        f"SELECT revision IS NULL OR coalesce((SELECT {OPEN}.sees(r.recipe_id, r.number) FROM revision r "
        "WHERE r.id = revision), true) $$"
    )
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.words(said text) RETURNS text LANGUAGE sql IMMUTABLE AS $$ "
        "SELECT regexp_replace(said, '[0-9]+([.,/:][0-9]+)*', '…', 'g') $$"
    )
    strength = f'{{"as_written": "{WITHHELD}", "basis": "{BASIS}", "value": 0.0, "by": "", "note": ""}}'
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.mask(document text) RETURNS text LANGUAGE sql IMMUTABLE AS $$ "
        "SELECT (document::jsonb || jsonb_build_object("
        "'reserve', 0.0, 'dead_volume_ml', 0.0, "
        f"'finish', {OPEN}.words(document::jsonb ->> 'finish'), "
        f"'provenance', {OPEN}.words(document::jsonb ->> 'provenance'), "
        "'solutions', coalesce((SELECT jsonb_agg(s || jsonb_build_object('ingredients', coalesce((SELECT jsonb_agg("
        f"i || jsonb_build_object('strength', '{strength}'::jsonb) ORDER BY n) FROM "
        "jsonb_array_elements(s -> 'ingredients') WITH ORDINALITY x(i, n)), '[]'::jsonb)) ORDER BY k) "
        "FROM jsonb_array_elements(document::jsonb -> 'solutions') WITH ORDINALITY y(s, k)), '[]'::jsonb), "
        "'steps', coalesce((SELECT jsonb_agg(s || jsonb_build_object('coverage_ml_per_m2', null, 'transfer', 1.0, "
        f"'note', {OPEN}.words(coalesce(s ->> 'note', ''))) ORDER BY k) "
        "FROM jsonb_array_elements(document::jsonb -> 'steps') WITH ORDINALITY z(s, k)), '[]'::jsonb)))::text $$"
    )


def _tables() -> Iterator[str]:
    for name in sorted(Base.metadata.tables):
        access = {role: access_of_table(role, name) for role in ROLES}
        yield f'REVOKE ALL ON "{name}" FROM {", ".join(map(group, ROLES))}'
        for role, what in access.items():
            rights = ["SELECT"] if not (name in VIEWS and what.startswith("o")) else []
            if "w" in what:
                rights += ["INSERT", "UPDATE", *(["DELETE"] if name in WITH_DELETE else [])]
            if rights:
                yield f'GRANT {", ".join(rights)} ON "{name}" TO {group(role)}'
        yield from _rows(name, access)


def _rows(name: str, access: dict[str, str]) -> Iterator[str]:
    """Row security where some role is not shown every row. Whoever owns the database is not bound by it."""
    if name in VIEWS or all(what in ("r", "rw") for what in access.values()):
        return
    yield f'ALTER TABLE "{name}" ENABLE ROW LEVEL SECURITY'
    for policy in ("patina_all", "patina_some", "patina_write", "patina_gone"):
        yield f'DROP POLICY IF EXISTS {policy} ON "{name}"'
    every = [group(role) for role, what in access.items() if what in ("r", "rw")]
    some = [group(role) for role, what in access.items() if what.startswith("o")]
    if every:
        yield f'CREATE POLICY patina_all ON "{name}" TO {", ".join(every)} USING (true) WITH CHECK (true)'
    if some:
        kinds = ", ".join(f"'{kind}'" for kind in KINDS_WITH_QUANTITIES)
        conditions = {"change": f"kind NOT IN ({kinds})", "word": _NO_FIGURE, "gram": _NO_FIGURE}
        shown = conditions.get(name, f"{OPEN}.sees_batch(batch_id)")
        yield f'CREATE POLICY patina_some ON "{name}" FOR SELECT TO {", ".join(some)} USING ({shown})'
        yield f'CREATE POLICY patina_write ON "{name}" FOR INSERT TO {", ".join(some)} WITH CHECK (true)'
        if name in WITH_DELETE:
            yield f'CREATE POLICY patina_gone ON "{name}" FOR DELETE TO {", ".join(some)} USING (true)'


def _view() -> Iterator[str]:
    for name, (schema, whole, instead) in VIEWS.items():
        columns = [c.name for c in Base.metadata.tables[name].columns]
        shown = ", ".join(
            f"CASE WHEN {whole} THEN {c} ELSE {instead[c]} END AS {c}" if c in instead else c for c in columns
        )
        readers = [group(role) for role in ROLES if access_of_table(role, name).startswith("o")]
        yield f"DROP VIEW IF EXISTS {schema}.{name}"
        yield f"CREATE VIEW {schema}.{name} WITH (security_barrier) AS SELECT {shown} FROM public.{name}"
        yield f"GRANT SELECT ON {schema}.{name} TO {', '.join(readers)}"
    yield from _new_revisions()


def _new_revisions() -> Iterator[str]:
    """A revision that is written through the view goes into the table."""
    columns = [c.name for c in Base.metadata.tables["revision"].columns]
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.add_revision() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
        "IF NEW.id IS NULL THEN NEW.id := nextval(pg_get_serial_sequence('public.revision', 'id')); END IF; "
        f"INSERT INTO public.revision ({', '.join(columns)}) VALUES ({', '.join(f'NEW.{c}' for c in columns)}); "
        "RETURN NEW; END $$"
    )
    yield (
        f"CREATE TRIGGER add_revision INSTEAD OF INSERT ON {OPEN}.revision "
        f"FOR EACH ROW EXECUTE FUNCTION {OPEN}.add_revision()"
    )
    writers = [group(role) for role in ROLES if access_of_table(role, "revision") == "ow"]
    if writers:
        yield f"GRANT INSERT ON {OPEN}.revision TO {', '.join(writers)}"


def _path(role: str) -> str:
    """Where a login of a role looks for a table."""
    schemas = [s for s, name in ((SHOWN, "tile"), (OPEN, "revision")) if access_of_table(role, name).startswith("o")]
    return ", ".join([*schemas, "public"])


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


def login_of(store: Store) -> str:
    """The login that the database was opened with."""
    with store.engine.connect() as connection:
        return str(connection.execute(text("SELECT session_user")).scalar_one())
