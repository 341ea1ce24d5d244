"""A PostgreSQL server of the tests' own: started in a new folder, stopped, killed and started again."""

from __future__ import annotations

import hashlib
import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path
from types import TracebackType
from typing import Any

USER = "studio"


def programs() -> Path | None:
    """The folder of PostgreSQL's server programs, None where they are not installed."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    folders = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return folders[-1].parent if folders else None


def can_run() -> bool:
    """Whether a server can be started here, and spoken to."""
    if programs() is None or os.name == "nt":
        return False
    try:
        import psycopg

        if os.geteuid() == 0:  # the server refuses to run as the superuser
            pwd.getpwnam("postgres")
    except (ImportError, KeyError):
        return False
    return bool(psycopg.__version__)


class Server:
    """A server on a socket in ``folder``; port: a TCP port of this machine besides, for tests that cut it off.
    safe: whether commits wait for the disk; a test that does not pull the plug need not wait."""

    def __init__(self, *, safe: bool = False):
        self._programs = programs()
        assert self._programs is not None
        self._user = pwd.getpwnam("postgres").pw_uid if os.geteuid() == 0 else None
        self.folder = Path(tempfile.mkdtemp(prefix="pg"))
        if self._user is not None:
            os.chown(self.folder, self._user, -1)
        data = ["-D", str(self.folder / "data")]
        self._run("initdb", *data, "-A", "trust", "-U", USER, "-E", "UTF8", "--locale=C", "-N")
        self._options = f"-k {self.folder} -c listen_addresses='' -c max_connections=100"
        if not safe:
            self._options += " -c fsync=off -c full_page_writes=off"
        self.start()

    def _run(self, program: str, *words: str) -> None:
        done = subprocess.run(
            [str(self._programs / program), *words],  # type: ignore[operator]
            user=self._user, cwd=self.folder, stdin=subprocess.DEVNULL, check=False,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, timeout=60,
        )  # fmt: skip
        assert done.returncode == 0, (program, words)

    def _control(self, *words: str) -> None:
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-l", str(self.folder / "log"), "-w", *words)

    def start(self) -> None:
        """Start it; back when it answers."""
        self._control("-o", self._options, "start")

    def stop(self, how: str = "fast") -> None:
        """Stop it: "fast" ends every connection, "immediate" is as if it had crashed."""
        self._control("-m", how, "stop")

    def url(self, name: str) -> str:
        """The URL of a database as a studio takes it."""
        return f"postgresql+psycopg://{USER}@/{name}?host={self.folder}"

    def say(self, statement: str) -> None:
        """A statement to the server itself, such as CREATE DATABASE."""
        import psycopg

        with psycopg.connect(f"host={self.folder} user={USER} dbname=postgres", autocommit=True) as connection:
            connection.execute(statement.encode())

    def create(self, name: str, template: str = "template0") -> str:
        """A new database as a copy of another; its URL."""
        self.say(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self.url(name)

    def drop(self, name: str) -> None:
        """Delete a database, whoever is still connected."""
        self.say(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")

    def __enter__(self) -> Server:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, trouble: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            self.stop("immediate")
        except AssertionError:  # it is stopped already
            pass
        finally:
            shutil.rmtree(self.folder, ignore_errors=True)


class Databases:
    """Databases that stand for the folders of a test's studios."""

    def __init__(self, server: Server):
        self.server = server
        self._numbers = itertools.count(1)
        self._templates: dict[str, str] = {}
        self._of_folder: dict[Path, str] = {}

    def open(self, where: str | Path, **more: Any) -> Any:
        """In place of opening a folder: the database that stands for it."""
        from dataclasses import replace

        from patina.records.photographs.files import PhotographFiles, folder_for_url
        from patina.records.studio.opening import is_url, open_studio_store

        if more:
            return open_studio_store(where, **more)
        folder = Path(where) if not is_url(where) else self._folder_of(str(where))
        if folder is None:
            return open_studio_store(where)
        name = self._of_folder.get(folder)
        if name is None:
            name = self._of_folder[folder] = f"test{os.getpid()}_{next(self._numbers)}"
            self.server.create(name, self._template(folder))
        store = open_studio_store(self.server.url(name))
        if store.files != PhotographFiles(folder_for_url(store.where)):  # the studio or the test names a place
            return store
        return replace(store, files=PhotographFiles(folder / "photographs"))

    def _folder_of(self, url: str) -> Path | None:
        """The folder that a database of this test stands for."""
        from sqlalchemy.engine import make_url

        wanted = make_url(url).database
        return next((folder for folder, name in self._of_folder.items() if name == wanted), None)

    def _template(self, folder: Path) -> str:
        """The database to copy: an empty studio, or one with what the SQLite file in the folder holds."""
        file = folder / "studio.db"
        content = hashlib.sha256(file.read_bytes()).hexdigest() if file.is_file() else ""
        if content not in self._templates:
            name = f"template{os.getpid()}_{next(self._numbers)}"
            if content:
                self.server.create(name, self._template(folder / "none"))
                carry_over(folder, self.server.url(name))
            else:
                from patina.records.studio.opening import open_studio_store

                self.server.create(name)
                open_studio_store(self.server.url(name)).close()
            self._templates[content] = name
        return self._templates[content]

    def new(self) -> str:
        """Name of a new database with an empty studio, to be dropped by whoever asked."""
        name = f"test{os.getpid()}_{next(self._numbers)}"
        self.server.create(name, self._template(Path("none")))
        return name

    def forget(self) -> None:
        """Drop the databases of the test that is done."""
        for name in self._of_folder.values():
            self.server.drop(name)
        self._of_folder.clear()

    def close(self) -> None:
        """Drop the templates as well."""
        for name in self._templates.values():
            self.server.drop(name)


def carry_over(folder: Path, url: str) -> None:
    """Every row of a studio in a folder into an empty one on a server."""
    from sqlalchemy import delete, insert, select, text

    from patina.records.studio.opening import open_studio_store
    from patina.records.tables.base import Base
    from patina.records.tables.kinds import record_kinds

    assert record_kinds()  # every table is known
    source, target = open_studio_store(folder, photographs_here=True), open_studio_store(url)
    with source.engine.connect() as one, target.engine.begin() as other:
        other.execute(text("SET LOCAL session_replication_role = replica"))  # order and triggers do not matter
        for table in Base.metadata.sorted_tables:
            rows = [dict(row._mapping) for row in one.execute(select(table))]
            other.execute(delete(table))
            if rows:
                other.execute(insert(table), rows)
            if "id" in table.c and table.c.id.autoincrement is not False:
                found = f"pg_get_serial_sequence('{table.name}', 'id')"
                top = max((row["id"] for row in rows if isinstance(row["id"], int)), default=0)
                if top:
                    other.execute(text(f"SELECT setval({found}, {top}) WHERE {found} IS NOT NULL"))
    source.close()
    target.close()
