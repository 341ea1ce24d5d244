"""Roles on PostgreSQL: the login decides who it is, and the database itself refuses what the role may not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import pytest
from postgres_server import Databases
from secret_studio import ASSISTANT, CLIENT, CONSERVATOR, HEAD, LOGINS, SECRET, SECRETS, enlist, fill, leaks
from sqlalchemy import inspect

from patina.bench import access, people, upkeep
from patina.bench.people_grants import grant, grants
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.safe.safety import safety
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.entries import NewReading, NewTile
from patina.errors import NotAllowed, Refused, Withheld

psycopg = pytest.importorskip("psycopg", reason="psycopg is not installed")
pytestmark = [
    pytest.mark.one_engine("sqlite", why="each opens a studio on a server itself"),
    pytest.mark.xdist_group("server"),
]
HIDDEN = {("public", "revision"), ("public", "tile"), ("public", "treatment")}
As = Callable[..., Any]


@pytest.fixture(scope="module")
def database(databases: Databases, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The name of a database with a filled studio, people with logins, a withheld recipe, and the grants."""
    with pytest.MonkeyPatch.context() as patch:
        folder = tmp_path_factory.mktemp("roles")
        patch.setenv("PATINA_PHOTOGRAPHS", str(folder / "photographs"))
        patch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        name = databases.new()
        with open_studio(databases.server.url(name)) as opened:
            fill(opened, folder, register=False)
            people.add_person(opened, "Olga Pfand", "head", login="studio")
            enlist(opened)
            access.withhold(opened, "R1", why="house recipe")
            grant(opened)
            grant(opened)  # said again, it changes nothing
        yield name
        databases.server.drop(name)


@pytest.fixture
def as_login(database: str, databases: Databases) -> Iterator[As]:
    """Opens the studio as the login of a person."""
    opened: list[Studio] = []

    def enter(name: str, *, as_name: str | None = None) -> Studio:
        url = databases.server.url(database).replace("studio@", f"{LOGINS[name]}@")
        opened.append(open_studio(url, as_name=as_name))
        return opened[-1]

    yield enter
    for one in opened:
        one.close()


@pytest.fixture
def psql(database: str, databases: Databases) -> Iterator[Callable[[str], Any]]:
    """A bare connection as the login of a person, without this program."""
    lines: list[Any] = []

    def connect(name: str) -> Any:
        line = psycopg.connect(f"host={databases.server.folder} user={LOGINS[name]} dbname={database}")
        line.autocommit = True
        lines.append(line)
        return line

    yield connect
    for line in lines:
        line.close()


def test_the_first_head_on_a_server_is_not_shut_out(databases: Databases) -> None:
    """Without the login that is at work nobody could enter any more: it is asked for, and then the head goes on."""
    name = databases.new()
    with open_studio(databases.server.url(name)) as opened:
        for login in ("", "somebody_else"):
            with pytest.raises(Refused, match="nobody could go on"):
                people.add_person(opened, "Olga Pfand", "head", login=login)
        people.add_person(opened, "Olga Pfand", "head", login="studio")
        people.add_person(opened, "Ivo Lenz", "client", login="ivo")
    databases.server.drop(name)


def test_the_login_decides_who_it_is(as_login: As) -> None:
    """A name cannot be merely typed: the person is the login's, and --as somebody else is refused."""
    me = people.who_am_i(as_login(CLIENT))
    assert (me.name, me.role, me.proved) == (CLIENT, "client", True)
    with pytest.raises(Refused, match="login"):
        as_login(CLIENT, as_name=HEAD)


def test_a_client_reads_no_quantity_even_without_this_program(psql: As) -> None:
    """With a bare connection a client finds no secret figure in any table or view that it may read at all."""
    line = psql(CLIENT)
    names = line.execute("SELECT schemaname, tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
    names += line.execute("SELECT schemaname, viewname FROM pg_views WHERE schemaname LIKE 'patina%'").fetchall()
    read = 0
    for schema, name in names:
        try:
            rows = line.execute(f'SELECT * FROM {schema}."{name}"').fetchall()
        except psycopg.errors.InsufficientPrivilege:
            assert (schema, name) in HIDDEN
            continue
        read += len(rows)
        found = leaks(str(rows))
        assert not found, f"{schema}.{name}: {found}"
    assert read > 20
    document = line.execute("SELECT document FROM revision WHERE number = 2").fetchone()[0]
    assert "held by the studio" in document
    assert "liver_of_sulphur" in document


def test_a_client_writes_nothing_even_without_this_program(psql: As) -> None:
    """Every table refuses a client's row, change and removal."""
    line = psql(CLIENT)
    names = [
        f'public."{n}"'
        for (n,) in line.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
    ]
    assert len(names) > 30
    for name in names:
        for statement in (f"DELETE FROM {name}", f"INSERT INTO {name} DEFAULT VALUES", f"TRUNCATE {name}"):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                line.execute(statement)
    for statement in (
        "UPDATE public.tile SET note = 'x'",
        "UPDATE tile SET engraved = 'x'",
        "UPDATE person SET role = 'head'",
        "SET ROLE patina_head",
        "INSERT INTO patina_open.revision (recipe_id, number) VALUES (1, 9)",
        "DROP VIEW patina_open.revision",
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            line.execute(statement)


def test_the_head_reads_everything(as_login: As, psql: As) -> None:
    """Grants take nothing from those who may see: the recipe is whole, and the studio checks clean."""
    studio = as_login(HEAD)
    assert finishes.recipe_sheet(studio, "R1").recipe == replace(SECRET, texture=1.2)
    assert upkeep.check(studio).problems == ()
    assert "7.31" in psql(HEAD).execute("SELECT document FROM revision WHERE number = 2").fetchone()[0]


def test_a_client_sees_tiles_and_safety_by_this_program(as_login: As) -> None:
    """Tiles, colours, the agreed finish and the safety notes are there; quantities, the shelf and the log are not."""
    studio = as_login(CLIENT)
    sheet = finishes.recipe_sheet(studio, "R1")
    assert sheet.withheld
    assert not leaks(str(sheet))
    assert [t.lab.L for t in sheet.tiles if t.lab] == [30.0]
    notes = safety(studio, "R1")
    whole = safety(as_login(HEAD), "R1")
    assert [[(c.class_code, c.h) for c in s.classes] for s in notes.solutions] == [
        [(c.class_code, c.h) for c in s.classes] for s in whole.solutions
    ]
    assert (notes.dangers, notes.ppe, notes.place) == (whole.dangers, whole.ppe, whole.place)
    assert {e.gas for e in notes.emits} == {e.gas for e in whole.emits} != set()
    assert not leaks(str(notes))
    assert casts.list_masters(studio)[0].limit_de == 2
    assert shelf.list_lots(studio) == ()
    assert upkeep.history(studio) == ()
    for deed in (lambda: finishes.export_recipe(studio, "R1"), lambda: access.open_again(studio, "R1", why="for me")):
        with pytest.raises(NotAllowed):
            deed()
    with pytest.raises(NotAllowed):
        tiles.start_tile(studio, NewTile("Z9", "C87300"))


def test_an_assistant_works_and_does_not_see(as_login: As, psql: As) -> None:
    """An assistant adds tiles and readings, takes from the shelf and is logged by the login's name; not more."""
    studio = as_login(ASSISTANT)
    tile = tiles.start_tile(studio, NewTile("B7", "C87300", recipe="R1", revision=2))
    tiles.add_reading(studio, tile.row.id, NewReading(33, 4, 5))
    shelf.take_from_lot(studio, "L1", 2.5, "g", "test")
    with pytest.raises(Withheld):
        finishes.export_recipe(studio, "R1")
    with pytest.raises(NotAllowed):
        finishes.revise_recipe(studio, "R1", SECRET, reason="weaker")
    line = psql(ASSISTANT)
    for statement in (
        "SELECT document FROM public.revision",
        "UPDATE recipe SET name = 'mine'",
        "INSERT INTO withholding SELECT * FROM withholding",
        "UPDATE master SET limit_de = 9",
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            line.execute(statement)
    head = as_login(HEAD)
    assert {row.by for row in upkeep.history(head, tile.row.id)} == {ASSISTANT}
    assert upkeep.check(head).problems == ()


def test_a_conservator_writes_a_recipe_through_the_view(as_login: As) -> None:
    """A conservator, who reads recipes without what is withheld, still puts one of their own on record."""
    studio = as_login(CONSERVATOR)
    own = replace(SECRET, name="Test patch wash")
    made = finishes.save_recipe(studio, own)
    assert made.recipe == own
    assert finishes.recipe_sheet(studio, "R1").withheld
    assert finishes.recipe_sheet(as_login(HEAD), made.id).recipe == own


def test_opened_to_one_person_the_database_shows_it_to_that_one(as_login: As) -> None:
    """A withheld recipe that is open to a person by name is whole for that login and for no other of the role."""
    head = as_login(HEAD)
    access.withhold(head, "R1", why="for the repair", open_to=[CONSERVATOR])
    try:
        assert finishes.recipe_sheet(as_login(CONSERVATOR), "R1").recipe.solutions == SECRET.solutions
        assert finishes.recipe_sheet(as_login(ASSISTANT), "R1").withheld
    finally:
        access.withhold(head, "R1", why="house recipe")


def test_what_the_server_is_told_can_be_read_first(as_login: As, database: str) -> None:
    """The statements name each table and each login; a client's login may not have them run."""
    studio = as_login(HEAD)
    said = "\n".join(grants(studio))
    with studio.store.engine.connect() as connection:
        tables = set(inspect(connection).get_table_names(schema="public")) - {"alembic_version"}
    assert not [name for name in tables if f'ON "{name}"' not in said]
    assert all(f'TO "{login}"' in said for login in LOGINS.values())
    assert len(SECRETS) > 4
    with pytest.raises(NotAllowed):
        grant(as_login(CLIENT))
