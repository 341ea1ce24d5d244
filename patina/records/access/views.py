"""What a PostgreSQL login reads instead of the tables that hold what may be withheld from it, and writes through.

Who reads recipes without what is withheld finds ``revision``, ``tile``, ``treatment`` and the log as views of the same
names in the schema ``patina_open``, which stands first on its search path: in what people typed, amounts and ratios
are left out, as the program does, and whoever writes does so through these views. A client, who writes nothing, has
views in ``patina_shown`` instead, where every figure is left out of what was typed.
"""

from __future__ import annotations

from collections.abc import Iterator

from patina.records.access.roles import ROLES, SEES_WITHHELD, access_of_table, deed_allowed
from patina.records.access.rows import OF_BATCH, OF_REVISION, TYPED
from patina.records.access.withheld import BASIS, PATTERNS
from patina.records.tables.base import Base
from patina.sheets.access import WITHHELD

OPEN = "patina_open"  # schema of what stands in for tables that are not read themselves
SHOWN = "patina_shown"  # the same for those who write nothing
BOUND, BOUND_THERE = r"\b", r"\y"  # the edge of a word, in patterns of ours and of the server
OF_ITS_REVISION = f"{OPEN}.sees_revision(revision_id)"
# table -> whether its row is whole for this login, and what stands in for a column where it is not
VIEWS: dict[str, tuple[str, dict[str, str]]] = {
    "revision": (
        f"{OPEN}.sees(recipe_id, number)",
        {
            "document": f"{OPEN}.mask(document)",
            "reason": f"{OPEN}.words(reason)",
            "finish": f"{OPEN}.words(finish)",
            "provenance": f"{OPEN}.words(provenance)",
        },
    ),
    "tile": (
        OF_ITS_REVISION,
        {
            "as_done": f"{OPEN}.amounts(as_done)",
            "note": f"{OPEN}.amounts(note)",
            "search_text": f"CASE WHEN {OPEN}.amounts(as_done) = as_done AND {OPEN}.amounts(note) = note "
            "THEN search_text ELSE '' END",
        },
    ),
    "treatment": (OF_ITS_REVISION, {name: f"{OPEN}.amounts({name})" for name in TYPED["treatment"]}),
    "change": (
        f"{OPEN}.sees_all()",
        {
            "why": f"{OPEN}.amounts(why)",
            "before": f"{OPEN}.logged(kind, before)",
            "after": f"{OPEN}.logged(kind, after)",
        },
    ),
}
OF_CLIENTS: dict[str, tuple[str, dict[str, str]]] = {
    "revision": VIEWS["revision"],
    "tile": (OF_ITS_REVISION, {**{n: f"{OPEN}.words({n})" for n in TYPED["tile"]}, "search_text": "''"}),
    "treatment": (OF_ITS_REVISION, {n: f"{OPEN}.words({n})" for n in TYPED["treatment"]}),
}
OF_ITS_DRAFT = f"{OPEN}.sees(recipe_id, met)"
HELD = "This tile holds words that are kept from you. Somebody who may see them changes it."


def group(role: str) -> str:
    """The name of a role's group on the server."""
    return f"patina_{role}"


def writes(role: str) -> bool:
    """Whether a role writes anything at all."""
    return access_of_table(role, "change") != "-"


def functions() -> Iterator[str]:
    """What the views ask."""
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
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.sees_all() RETURNS boolean "
        "LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public AS $$ "
        f"SELECT NOT EXISTS (SELECT FROM withholding w WHERE NOT {OPEN}.sees(w.recipe_id, w.number)) $$"
    )
    said = "said"
    for pattern, instead in PATTERNS:
        said = f"regexp_replace({said}, '{pattern.replace(BOUND, BOUND_THERE)}', '{instead}', 'g')"
    yield (
        f"CREATE OR REPLACE FUNCTION {OPEN}.amounts(said text) RETURNS text LANGUAGE sql IMMUTABLE AS $$ "
        f"SELECT {said} $$"
    )
    yield _logged()
    yield (  # words that are figures are not shown to a login, and yet must go with their record
        f"CREATE OR REPLACE FUNCTION {OPEN}.forget_words(kind text, record integer) RETURNS void "
        "LANGUAGE sql SECURITY DEFINER SET search_path = public AS $$ "
        "DELETE FROM word WHERE letter = kind AND record_id = record $$"
    )
    yield f"REVOKE ALL ON FUNCTION {OPEN}.forget_words(text, integer) FROM PUBLIC"
    indexers = ", ".join(group(role) for role in ROLES if "w" in access_of_table(role, "word"))
    yield f"GRANT EXECUTE ON FUNCTION {OPEN}.forget_words(text, integer) TO {indexers}"
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


def _logged() -> str:
    """What the log shows of a record to a login from which something is withheld."""
    whens = [
        f"WHEN kind = '{kind}' THEN CASE WHEN {OPEN}.sees((said::jsonb ->> 'recipe_id')::integer, "
        f"(said::jsonb ->> '{number}')::integer) THEN said ELSE '{{}}' END"
        for kind, number in OF_REVISION.items()
    ]
    whens += [
        f"WHEN kind = '{kind}' THEN CASE WHEN {OPEN}.sees_batch((said::jsonb ->> 'batch_id')::integer) "
        "THEN said ELSE '{}' END"
        for kind in OF_BATCH
    ]
    for kind, names in TYPED.items():
        shown = ", ".join(f"'{n}', {OPEN}.amounts((said::jsonb -> '{n}')::text)::jsonb" for n in names)
        whens.append(
            f"WHEN kind = '{kind}' THEN CASE WHEN {OPEN}.sees_revision((said::jsonb ->> 'revision_id')::integer) "
            f"THEN said ELSE (said::jsonb || jsonb_build_object({shown}))::text END"
        )
    return (
        f"CREATE OR REPLACE FUNCTION {OPEN}.logged(kind text, said text) RETURNS text "
        "LANGUAGE sql STABLE AS $$ SELECT CASE WHEN said IS NULL THEN NULL "
        f"{' '.join(whens)} ELSE said END $$"
    )


def views() -> Iterator[str]:
    """The views, who reads them, and how what is written through them gets into the tables."""
    for schema, of in ((SHOWN, OF_CLIENTS), (OPEN, VIEWS)):
        for name, (whole, instead) in of.items():
            columns = [c.name for c in Base.metadata.tables[name].columns]
            shown = ", ".join(
                f"CASE WHEN {whole} THEN {c} ELSE {instead[c]} END AS {c}" if c in instead else c for c in columns
            )
            roles = {r: access_of_table(r, name) for r in ROLES if writes(r) == (schema == OPEN)}
            readers = [group(role) for role, what in roles.items() if what.startswith("o")]
            yield f"DROP VIEW IF EXISTS {schema}.{name}"
            yield f"CREATE VIEW {schema}.{name} WITH (security_barrier) AS SELECT {shown} FROM public.{name}"
            yield f"GRANT SELECT ON {schema}.{name} TO {', '.join(readers)}"
            writers = [group(role) for role, what in roles.items() if what == "ow"]
            if writers:
                yield from _written_through(name, columns, ", ".join(writers))


def _written_through(name: str, columns: list[str], writers: str) -> Iterator[str]:
    """A row that is put into a view goes into its table; of tiles, one that is altered as well."""
    number = f"nextval(pg_get_serial_sequence('public.{name}', 'id'))"
    numbered = f"IF NEW.id IS NULL THEN NEW.id := {number}; END IF; " if "id" in columns else ""
    given = ", ".join(f"NEW.{c}" for c in columns)
    yield _function(f"add_{name}", f"{numbered}INSERT INTO public.{name} ({', '.join(columns)}) VALUES ({given});")
    yield _trigger("INSERT", name, f"add_{name}")
    yield f"GRANT INSERT ON {OPEN}.{name} TO {writers}"
    if name != "tile":
        return
    held = " OR ".join(f"{OPEN}.amounts({c}) <> {c}" for c in TYPED[name])
    yield _function(
        f"change_{name}",
        f"IF NOT {OPEN}.sees_revision(OLD.revision_id) "
        f"AND EXISTS (SELECT FROM public.{name} WHERE id = OLD.id AND ({held})) "
        f"THEN RAISE EXCEPTION '{HELD}' USING ERRCODE = 'insufficient_privilege'; END IF; "
        f"UPDATE public.{name} SET {', '.join(f'{c} = NEW.{c}' for c in columns)} WHERE id = OLD.id;",
    )
    yield _trigger("UPDATE", name, f"change_{name}")
    yield f"GRANT UPDATE ON {OPEN}.{name} TO {writers}"


def _function(name: str, does: str) -> str:
    return (
        f"CREATE OR REPLACE FUNCTION {OPEN}.{name}() RETURNS trigger "
        f"LANGUAGE plpgsql SECURITY DEFINER SET search_path = public AS $$ BEGIN {does} RETURN NEW; END $$"
    )


def _trigger(when: str, view: str, does: str) -> str:
    return f"CREATE TRIGGER {does} INSTEAD OF {when} ON {OPEN}.{view} FOR EACH ROW EXECUTE FUNCTION {OPEN}.{does}()"
