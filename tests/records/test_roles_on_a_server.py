"""Roles on PostgreSQL: the login decides who it is, and the database itself refuses what the role may not."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from postgres_server import Databases
from secret_studio import ASSISTANT, CLIENT, CONSERVATOR, HEAD, LOGINS, SECRET, SECRETS, enlist, fill, leaks
from sqlalchemy import inspect

from patina.bench import access, people, upkeep
from patina.bench.history import undo
from patina.bench.matched import making
from patina.bench.people_grants import grant, grants
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.safe.safety import safety
from patina.bench.shelves import shelf
from patina.bench.studio import Studio, open_studio
from patina.bench.torch import work
from patina.entries import NewReading, NewTile
from patina.errors import NotAllowed, Refused, Withheld
from patina.records.access.withheld import without_amounts

psycopg = pytest.importorskip("psycopg", reason="psycopg is not installed")
pytestmark = pytest.mark.one_engine("sqlite", why="each opens a studio on a server itself")
HIDDEN = {("public", "revision"), ("public", "tile"), ("public", "treatment")}
FOR_WRITERS = {("patina_open", name) for name in ("revision", "tile", "treatment", "change")}
FOR_CLIENTS = {("patina_shown", name) for name in ("revision", "tile", "treatment")}
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


@pytest.mark.parametrize("who", [CLIENT, ASSISTANT, CONSERVATOR])
def test_nobody_reads_a_quantity_held_back_even_without_this_program(psql: As, who: str) -> None:
    """With a bare connection no secret figure is in any table or view that may be read at all: not in recipes, in
    what was typed of tiles and treatments, in drafts, or in the log of all of them."""
    line = psql(who)
    names = line.execute("SELECT schemaname, tablename FROM pg_tables WHERE schemaname = 'public'").fetchall()
    names += line.execute("SELECT schemaname, viewname FROM pg_views WHERE schemaname LIKE 'patina%'").fetchall()
    read, closed = 0, set()
    for schema, name in names:
        try:
            rows = line.execute(f'SELECT * FROM {schema}."{name}"').fetchall()
        except psycopg.errors.InsufficientPrivilege:
            closed.add((schema, name))
            continue
        read += len(rows)
        found = leaks(str(rows))
        assert not found, f"{schema}.{name}: {found}"
    assert read > 20
    assert closed == (HIDDEN | FOR_WRITERS if who == CLIENT else HIDDEN | {("public", "change")} | FOR_CLIENTS)
    document = line.execute("SELECT document FROM revision WHERE number = 2").fetchone()[0]
    assert "held by the studio" in document
    assert "liver_of_sulphur" in document
    done, note = line.execute("SELECT as_done, note FROM tile WHERE engraved = 'A1'").fetchone()
    assert "sulphide wash" in done and "passes" in done
    assert note == "… mL used" if who == CLIENT else note == "… used"


@pytest.mark.parametrize("who", [ASSISTANT, CONSERVATOR])
def test_what_is_held_back_cannot_be_got_at_by_a_statement(psql: As, who: str) -> None:
    """The tables behind the views answer no question, and a tile whose words are held back cannot be altered by
    whoever does not see them: not to read them by undoing its tie to the recipe, nor to lose them."""
    line = psql(who)
    for statement in (
        "SELECT note FROM public.tile",
        "SELECT 1 FROM public.tile WHERE note LIKE '%93.75%'",
        "UPDATE public.tile SET engraved = note",
        "UPDATE tile SET revision_id = NULL WHERE id = 1",
        "UPDATE patina_open.tile SET note = 'mine' WHERE id = 1",
        "DELETE FROM tile WHERE id = 1",
        "SELECT after FROM public.change",
        "INSERT INTO withholding SELECT * FROM withholding",
        "CREATE OR REPLACE VIEW patina_open.tile AS SELECT * FROM public.tile",
        "ALTER TABLE public.change DISABLE ROW LEVEL SECURITY",
    ):
        with pytest.raises((psycopg.errors.InsufficientPrivilege, psycopg.errors.ObjectNotInPrerequisiteState)):
            line.execute(statement)
    assert line.execute("SELECT count(*) FROM tile WHERE note LIKE '%93.75%'").fetchone() == (0,)


def test_the_server_leaves_out_what_the_program_leaves_out(psql: As) -> None:
    """Both leave the same out of what people typed, of texts as they are written and of ones put together at random."""
    dice = random.Random(5)
    pieces = (
        *(
            "raised",
            "from",
            "to",
            "5",
            "7.5",
            "7,31",
            "12",
            "g/L",
            "g",
            "mL",
            "ml/m2",
            "% w/v",
            "°C",
            "h",
            "mm",
            "rev. 3",
        ),
        *(
            "1:4",
            "1 in 20",
            "1 part in 20",
            "2 spoons",
            "5–7 g",
            "5-7 mL",
            "~3 drops",
            "per litre",
            "auf",
            "(",
            ")",
            ";",
        ),
        *("4 passes", "metal", "450", "10:30", "2026-03-02", "ammonia", "25 %", "3 oz", "x", "…"),
    )
    texts = [
        "raised from 5 to 7.5 g/L, 4 passes at 85 °C; 1 part in 20 of it",
        "12 h, 450 mm, rev. 3, metal 80 to 95 °C",
    ]
    texts += ["".join(dice.choice((" ", " ", "", ", ")) + dice.choice(pieces) for _ in range(12)) for _ in range(400)]
    line = psql(HEAD)
    for text in texts:
        assert line.execute("SELECT patina_open.amounts(%s)", (text,)).fetchone() == (without_amounts(text),), text


def test_a_tile_whose_words_are_held_back_is_altered_by_those_who_see_them(as_login: As) -> None:
    """Refused in words to an assistant, who alters and takes back what hides nothing; the torch goes on at such a tile;
    nothing is lost, and the log is what the records are."""
    studio, head = as_login(ASSISTANT), as_login(HEAD)
    shown = tiles.tile_sheet(studio, "T1")
    entry = NewTile("A1b", "C87300", recipe="R1", revision=2, as_done=shown.as_done, note=shown.note)
    with pytest.raises(Withheld, match="kept from you"):
        tiles.change_tile(studio, "T1", entry)
    own = tiles.start_tile(studio, NewTile("B8", "C87300", recipe="R1", revision=2, as_done=("ferric: 2 passes",)))
    tiles.change_tile(
        studio, own.row.id, NewTile("B8", "C87300", recipe="R1", revision=2, as_done=("ferric: 3 passes",), note="dull")
    )
    changed = tiles.tile_sheet(studio, own.row.id)
    assert (changed.as_done, changed.note) == (("ferric: 3 passes",), "dull")
    assert [row.id for row in tiles.list_tiles(studio, "dull")] == [own.row.id]
    undo(studio)
    assert tiles.tile_sheet(studio, own.row.id).as_done == ("ferric: 2 passes",)
    shelf.take_from_lot(studio, "L1", 1.5, "g", "test")
    left = shelf.lot_row(studio, "L1").left
    undo(studio)
    assert shelf.lot_row(studio, "L1").left == left + 1.5
    tiles.add_reading(studio, "T1", NewReading(34, 4, 5, read_at=datetime(2020, 3, 2, 9, tzinfo=UTC)))
    making.note_facts(studio, "T1", {"blast": "glass bead"})
    work.pass_done(studio, "J1")
    work.end_work(studio, "J1")
    work.take_up(studio, "J1")
    assert tiles.tile_sheet(head, "T1").note == "93.75 mL used"
    assert tiles.tile_sheet(head, "T1").as_done[0] == "sulphide wash at 7.31 g/L: 4 passes"
    assert upkeep.check(head).problems == ()


def test_a_deed_on_words_that_were_held_back_since_is_taken_back_by_those_who_see_them(as_login: As) -> None:
    """An assistant's own note, written while it was open, is not put back from a log that hides it."""
    studio, head = as_login(ASSISTANT), as_login(HEAD)
    tile = tiles.start_tile(studio, NewTile("B9", "C87300", note="12 mL used")).row.id
    tiles.change_tile(studio, tile, NewTile("B9", "C87300", note="washed"))
    tiles.change_tile(head, tile, NewTile("B9", "C87300", recipe="R1", revision=2, note="washed"))
    before = upkeep.history(studio, tile)
    assert before[0].after is not None and before[0].after["note"] == "washed"
    tiles.change_tile(head, tile, NewTile("B9", "C87300", recipe="R1", revision=2, note="13 mL used"))
    assert tiles.tile_sheet(studio, tile).note == "… used"
    with pytest.raises(Withheld):
        tiles.change_tile(studio, tile, NewTile("B9", "C87300", recipe="R1", revision=2, note="washed twice"))
    undo(head)
    assert tiles.tile_sheet(head, tile).note == "washed"
    assert upkeep.check(head).problems == ()


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
