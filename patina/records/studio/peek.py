"""A look at a studio that lies in a folder, without opening it: nothing is made, moved or migrated."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

DATABASE_FILE = "studio.db"


def settings_of_folder(folder: Path, names: Sequence[str]) -> dict[str, str]:
    """Settings by their names; empty where there is no studio, or none that can be read."""
    said = dict.fromkeys(names, "")
    try:
        file = folder.expanduser() / DATABASE_FILE
        if not file.is_file():
            return said
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True, timeout=0.2)) as database:
            marks = ", ".join("?" * len(said))
            rows = database.execute(f"SELECT name, value FROM setting WHERE name IN ({marks})", list(said))
            return said | {str(name): str(value) for name, value in rows}
    except (sqlite3.Error, OSError, ValueError, RuntimeError):
        return said
