"""The backup of a studio on a PostgreSQL server: the server's own dump, the photographs and a manifest in one file.

``pg_dump`` and ``pg_restore`` do the work. They are told of the server through the environment that their
library reads, never on a command line, so a password is seen by nobody who lists the processes; nor does the
file hold one. The dump and what the manifest says of it are of one and the same state (an exported snapshot).
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

from sqlalchemy import exc, text

from patina.errors import Damaged, Refused, StudioTrouble
from patina.records.keeping.check import check_store
from patina.records.keeping.packing import Told, pack, quiet, writing
from patina.records.photographs.files import sha256_of
from patina.records.studio.opening import bring_to_head
from patina.records.studio.store import Store
from patina.sheets import CheckSheet

DUMP_FILE = "studio.dump"
LONGEST_S = 3600
_ASKED = {"host": "PGHOST", "port": "PGPORT", "sslmode": "PGSSLMODE", "sslrootcert": "PGSSLROOTCERT"}


def program(name: str) -> str:
    """Where a program of PostgreSQL lies, the newest. Raises Refused where there is none."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), key=lambda p: int(p.parts[4].split(".")[0]))
    where = str(found[-1]) if found else shutil.which(name)
    if where is None:
        raise Refused(
            f"The program {name} is not installed here.", "Install PostgreSQL's client programs, of the server's age."
        )
    return where


def environment(store: Store) -> dict[str, str]:
    """The surroundings in which PostgreSQL's programs find the server and the studio's database."""
    url = store.engine.url
    said = {"PGUSER": url.username, "PGPASSWORD": url.password, "PGDATABASE": url.database}
    said |= {"PGHOST": url.host, "PGPORT": None if url.port is None else str(url.port)}
    said |= {variable: str(url.query[name]) for name, variable in _ASKED.items() if name in url.query}
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PG") or name == "PGPASSFILE"}
    return {**kept, **{name: value for name, value in said.items() if value}}


def _run(store: Store, *words: str) -> None:
    try:
        done = subprocess.run(
            words, env=environment(store), stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False,
            timeout=LONGEST_S,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as trouble:
        raise StudioTrouble(
            f"{Path(words[0]).name} did not do its work ({type(trouble).__name__}).", "Look at the server."
        ) from trouble
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["it says nothing"])[-1][:300]
        raise StudioTrouble(
            f"{Path(words[0]).name} did not do its work: {said}",
            "Check that the server can be reached and that its programs here are not older than it.",
        )


def write_dump(store: Store, file: Path, told: Told = quiet) -> dict[str, Any]:
    """Write a studio on a server into one new file while it is in use; as ``backup.write_backup``."""
    dump = program("pg_dump")
    with writing(file), tempfile.TemporaryDirectory(prefix=".backup-", dir=file.absolute().parent) as folder:
        copy, packed = Path(folder) / DUMP_FILE, Path(folder) / "packed"
        with store.engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection:
            connection.execute(text("SET LOCAL idle_in_transaction_session_timeout = 0"))  # the dump may take long
            snapshot = connection.execute(text("SELECT pg_export_snapshot()")).scalar_one()
            facts = _facts(connection)
            common = ("--format=custom", "--no-owner", "--no-privileges", "--no-password")
            _run(store, dump, *common, f"--snapshot={snapshot}", f"--file={copy}")
        missing = pack(store, copy, packed, facts, DUMP_FILE, told)
        sha256 = sha256_of(packed)
        packed.replace(file)
    return {"file": str(file), "sha256": sha256, "missing": missing}


def _facts(connection: Any) -> dict[str, Any]:
    schema = connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one()
    n, chain = connection.execute(text("SELECT n, hash FROM chain_head")).one()
    names = list(connection.execute(text("SELECT sha256 FROM photograph ORDER BY sha256")).scalars())
    return {"schema": schema, "changes": n, "chain": chain, "photographs": names}


def restore_dump(store: Store, aside: Path, manifest: dict[str, Any]) -> CheckSheet:
    """Put an unpacked dump into the empty studio of a server and prove it there.

    What does not prove sound is taken out again, so that the studio is empty as before. Raises Damaged,
    StudioTrouble. The dump is run by the server as it stands: only one's own backups are restored.
    """

    restore = program("pg_restore")
    _empty(store)
    try:
        common = ("--no-owner", "--no-privileges", "--no-password", "--single-transaction", "--exit-on-error")
        database = str(store.engine.url.database)
        _run(store, restore, *common, f"--dbname={database}", str(aside / DUMP_FILE))
        store.engine.dispose()
        with store.engine.connect() as connection:
            facts = _facts(connection)
        if (facts["changes"], facts["chain"]) != (manifest["changes"], manifest.get("chain")):
            raise Damaged(
                "The log of changes in the backup does not end where its manifest says.", "Use another backup."
            )
        bring_to_head(store)
        checked = check_store(store)
        if not checked.ok:
            raise Damaged(f"The backup is not sound: {checked.problems[0]}", "Use another backup.")
        return checked
    except (Damaged, StudioTrouble, exc.DBAPIError):
        _empty(store)
        bring_to_head(store)
        raise


def _empty(store: Store) -> None:
    """Take everything of an empty studio out of its database, so that the dump finds room for its own."""
    store.engine.dispose()
    with store.engine.begin() as connection:
        for schema in connection.execute(
            text("SELECT nspname FROM pg_namespace WHERE nspname = 'public' OR nspname LIKE 'patina%'")
        ).scalars():
            connection.execute(text(f'DROP SCHEMA "{schema}" CASCADE'))
        connection.execute(text("CREATE SCHEMA public"))
