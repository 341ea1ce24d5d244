"""A studio that cannot be opened says why and what to do, and is left as it was."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from patina.bench import upkeep
from patina.bench.readings import tiles
from patina.bench.recipes import finishes
from patina.bench.studio import Studio, open_studio
from patina.entries import NewTile
from patina.errors import StudioTrouble
from patina.records.migrations.schemas import HEAD, VERSIONS
from patina.records.studio import folder
from patina.records.studio.opening import schema_version
from patina.records.studio.peek import DATABASE_FILE

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.one_engine("sqlite", why="troubles of a folder and its file")


def test_a_studio_is_made_on_first_use(tmp_path: Path) -> None:
    """A folder that is not there yet is made, with its parents, and is empty and sound."""
    with open_studio(tmp_path / "new" / "studio") as studio:
        assert finishes.list_recipes(studio) == ()
    assert (tmp_path / "new" / "studio" / "studio.db").is_file()


def test_where_the_studio_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The name given counts before PATINA_STUDIO, and that before the platform's own folder."""
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "from-environment"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    with open_studio(tmp_path / "given") as studio:
        assert studio.where == str(tmp_path / "given")
    with open_studio() as studio:
        assert studio.where == str(tmp_path / "from-environment")
    monkeypatch.delenv("PATINA_STUDIO")
    if sys.platform == "linux":
        with open_studio(None) as studio:
            assert studio.where == str(tmp_path / "data" / "patina")


def test_a_file_is_not_a_folder(tmp_path: Path) -> None:
    """A studio named as a file is refused."""
    (tmp_path / "file").write_text("x")
    with pytest.raises(StudioTrouble, match="is a file"):
        open_studio(tmp_path / "file")
    with pytest.raises(StudioTrouble):
        open_studio(tmp_path / "file" / "deeper")


def test_a_studio_db_that_is_none(tmp_path: Path) -> None:
    """A text file under the database's name is not touched."""
    (tmp_path / "studio.db").write_text("this is no database at all, but long enough to look at\n" * 40)
    before = (tmp_path / "studio.db").read_bytes()
    with pytest.raises(StudioTrouble, match="no database"):
        open_studio(tmp_path)
    assert (tmp_path / "studio.db").read_bytes() == before


def test_somebody_elses_database(tmp_path: Path) -> None:
    """A SQLite file of another program is not migrated over."""
    with closing(sqlite3.connect(tmp_path / "studio.db")) as database:
        database.execute("CREATE TABLE invoices (n INTEGER)")
    with pytest.raises(StudioTrouble, match="something else"):
        open_studio(tmp_path)


def test_a_newer_studio(full: Studio) -> None:
    """A studio of a newer program is refused before anything is read into it."""
    full.close()
    with closing(sqlite3.connect(Path(full.where) / "studio.db")) as database, database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StudioTrouble, match="newer program"):
        open_studio(full.where)


def test_a_studio_that_somebody_holds(full: Studio, monkeypatch: pytest.MonkeyPatch) -> None:
    """While another program writes, reading goes on; writing waits and then says so."""
    monkeypatch.setattr(folder, "BUSY_MS", 200)
    with open_studio(full.where) as waiting, closing(sqlite3.connect(Path(full.where) / "studio.db")) as other:
        other.execute("BEGIN IMMEDIATE")
        assert len(tiles.list_tiles(waiting)) == 1
        with pytest.raises(StudioTrouble, match="held by another program"):
            tiles.start_tile(waiting, NewTile("A2", "C87300"))
        other.rollback()
        assert tiles.start_tile(waiting, NewTile("A2", "C87300")).row.id == "T2"


READ_ONLY = """
import os, sys
import patina.records.tables.substance_json, patina.records.studio.unit
from patina.bench.studio import open_studio
from patina.errors import StudioTrouble
if os.geteuid() == 0:  # the superuser may write everywhere: become nobody
    os.setgid(65534)
    os.setuid(65534)
try:
    with open_studio(sys.argv[1]) as studio:
        studio.set_setting("who", "Ada")
except StudioTrouble as trouble:
    print(trouble.what, "|", trouble.remedy)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="rights of files are others there")
@pytest.mark.parametrize("what", ["folder", "database", "nothing there"])
def test_a_studio_that_may_only_be_read(full_folder: Path, tmp_path_factory: pytest.TempPathFactory, what: str) -> None:
    """Rights that are missing are told, for the folder, for the file, and where no folder can be made."""
    import shutil
    import tempfile

    place = Path(tempfile.mkdtemp(prefix="patina-test-"))
    try:
        place.chmod(0o755)
        studio = place / "studio"
        if what != "nothing there":
            shutil.copytree(full_folder, studio)
        if what == "database":
            studio.chmod(0o777)
            (studio / "studio.db").chmod(0o444)
        elif what == "folder":
            studio.chmod(0o555)
        if what == "nothing there":
            place.chmod(0o555)
        command = [sys.executable, "-B", "-c", READ_ONLY, str(studio)]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        assert "may write" in done.stdout or "writable" in done.stdout or "read and write" in done.stdout
    finally:
        for path in (place, place / "studio"):
            if path.exists():
                path.chmod(0o755)
        shutil.rmtree(place)


@pytest.mark.parametrize(
    "url",
    ["nonsense://host/studio", "postgresql+nodriver://host/studio", "sqlite:///studio.db", "postgresql+psycopg://["],
)
def test_a_url_that_cannot_be_used(url: str) -> None:
    """A URL of an unknown kind, an unknown driver or SQLite is refused in words."""
    with pytest.raises(StudioTrouble):
        open_studio(url)


def test_the_list_of_versions_is_that_of_the_migrations() -> None:
    """What the program compares at opening is what Alembic finds in its folder."""
    from alembic.script import ScriptDirectory

    from patina.records.studio.migrating import alembic_config

    scripts = ScriptDirectory.from_config(alembic_config())
    assert [s.revision for s in reversed(list(scripts.walk_revisions()))] == list(VERSIONS)
    assert scripts.get_current_head() == HEAD


def test_migrations_lead_to_the_tables_the_program_uses(studio: Studio) -> None:
    """Alembic's own comparison of database and mapping finds nothing to do."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    from patina.records.tables.base import Base
    from patina.records.tables.kinds import record_kinds

    assert record_kinds()  # every table is known once they are asked for
    with studio.store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def _tables_at(version: str, tmp_path: Path) -> set[str]:
    """The names of the tables that a schema version has."""
    from alembic import command

    from patina.records.studio.migrating import alembic_config

    then = folder.sqlite_engine(tmp_path / f"at-{version}.db")
    config = alembic_config()
    with then.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, version)
    then.dispose()
    return _tables(tmp_path / f"at-{version}.db")


def _tables(path: Path) -> set[str]:
    with closing(sqlite3.connect(path)) as database:
        return {row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


def _put_back_to(version: str, studio: Path, tmp_path: Path) -> set[str]:
    """Take out of a closed studio what later schema versions added; the names of the tables taken out."""
    later = _tables(studio / "studio.db") - _tables_at(version, tmp_path)
    with closing(sqlite3.connect(studio / "studio.db")) as database, database:
        for table in later:
            database.execute(f"DROP TABLE {table}")
        database.execute("UPDATE alembic_version SET version_num = ?", (version,))
    return later


def tables_of(file: Path) -> set[str]:
    """The tables in a SQLite file."""
    with closing(sqlite3.connect(file)) as database:
        return {row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}


@pytest.fixture
def old_folder(full: Studio, tmp_path: Path) -> Path:
    """A studio with records as the first schema had it: what came later is taken out."""
    from alembic import command

    from patina.records.studio.migrating import alembic_config

    first = folder.sqlite_engine(tmp_path / "first.db")
    config = alembic_config()
    with first.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, VERSIONS[0])
    first.dispose()
    full.close()
    file = Path(full.where) / "studio.db"
    later = tables_of(file) - tables_of(tmp_path / "first.db")
    with closing(sqlite3.connect(file)) as database, database:
        for table in later:
            database.execute(f"DROP TABLE {table}")
        database.execute("UPDATE alembic_version SET version_num = ?", VERSIONS[:1])
    return Path(full.where)


def test_an_old_studio_is_brought_forward(old_folder: Path) -> None:
    """A studio of the first schema is migrated with its records; a copy of what it was lies beside it."""
    with open_studio(old_folder) as forward:
        assert schema_version(forward.store) == HEAD
        assert [row.id for row in finishes.list_recipes(forward, "harb dark")] == ["R1"]
        assert [row.id for row in tiles.list_tiles(forward, "a1")] == ["T1"]
        assert upkeep.check(forward).problems == ()
    (aside,) = old_folder.glob("studio-before-*")
    with closing(sqlite3.connect(aside)) as database:
        assert database.execute("SELECT version_num FROM alembic_version").fetchone() == VERSIONS[:1]
        assert database.execute("SELECT count(*) FROM reading").fetchone() == (3,)


def test_a_migration_that_fails_leaves_the_old_studio(old_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables made before the failure are gone again: SQLite's own layout is rolled back with the rest."""
    from patina.records.studio import migrating

    def broken(_: object) -> None:
        raise StudioTrouble("The power failed.", "Switch it on.")

    before = tables_of(old_folder / "studio.db")
    with monkeypatch.context() as patched, pytest.raises(StudioTrouble, match="power"):
        patched.setattr(migrating, "_ensure_start", broken)
        open_studio(old_folder)
    assert tables_of(old_folder / "studio.db") == before
    with closing(sqlite3.connect(old_folder / "studio.db")) as database:
        assert database.execute("SELECT version_num FROM alembic_version").fetchone() == VERSIONS[:1]
    with open_studio(old_folder) as forward:
        assert upkeep.check(forward).ok


def test_every_constraint_has_a_name(studio: Studio) -> None:
    """Later migrations can only alter what has a name."""
    from patina.records.tables.base import Base

    unnamed = [c for table in Base.metadata.sorted_tables for c in table.constraints if not c.name]
    assert unnamed == []


def test_opening_at_the_newest_schema_is_light(full: Studio) -> None:
    """A studio that needs no migration is opened without Alembic and without the slow libraries."""
    code = f"""
import sys
import threading
from patina.bench.studio import open_studio
from patina.bench.recipes.finishes import list_recipes
with open_studio({full.where!r}) as studio:
    list_recipes(studio)
slow = "alembic numpy cv2 PIL pint colormath scipy tomlkit".split()
print([m for m in slow if m in sys.modules])
"""
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_two_programs_make_the_same_studio(tmp_path: Path) -> None:
    """Four programs that open a new studio at once all find it, and it is made once."""
    code = (
        "import sys\nfrom patina.bench.studio import open_studio\nprint(open_studio(sys.argv[1]).setting('studio uid'))"
    )
    command = [sys.executable, "-c", code, str(tmp_path / "new")]
    started = [
        subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) for _ in range(4)
    ]
    said = [program.communicate(timeout=60) for program in started]
    assert all(program.returncode == 0 for program in started), said
    assert len({out for out, _ in said}) == 1


def test_a_program_waits_for_another_that_makes_the_studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A migration takes longer than a deed: it is waited for longer than for a deed."""
    monkeypatch.setattr(folder, "BUSY_MS", 50)
    other = sqlite3.connect(tmp_path / DATABASE_FILE, isolation_level=None, check_same_thread=False)
    other.execute("PRAGMA journal_mode=WAL")
    other.execute("BEGIN IMMEDIATE")
    done = threading.Timer(1.0, lambda: other.execute("ROLLBACK"))
    done.start()
    with open_studio(tmp_path) as studio:
        assert studio.setting("studio uid")
    done.join()
    other.close()


def test_every_kind_of_record_has_a_letter_of_its_own() -> None:
    """An id names one kind of record, in the log and to a person."""
    from patina.records.tables.kinds import record_kinds

    letters = [kind.LETTER for kind in record_kinds()]
    assert all(letter.isalpha() and letter.isupper() for letter in letters)
    assert len(set(letters)) == len(letters) > 15
