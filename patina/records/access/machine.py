"""Who works at this machine: one small file of the user, a name for each studio."""

from __future__ import annotations

import json
from pathlib import Path

from patina.errors import StudioTrouble


def _file() -> Path:
    from platformdirs import user_config_path

    return user_config_path("patina", appauthor=False) / "who.json"


def _read() -> dict[str, str]:
    try:
        found = json.loads(_file().read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    return {str(k): str(v) for k, v in found.items()} if isinstance(found, dict) else {}


def _key(where: str) -> str:
    return where if "://" in where else str(Path(where).expanduser().resolve())


def name_on_this_machine(where: str) -> str:
    """Who works at this machine on that studio, empty where nobody was named."""
    return _read().get(_key(where), "")[:200]


def set_name_on_this_machine(where: str, name: str) -> Path:
    """From now on that person works at this machine on that studio; an empty name forgets it. Raises StudioTrouble."""
    file, known = _file(), _read()
    known = {k: v for k, v in known.items() if k != _key(where)} | ({_key(where): name} if name else {})
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        beside = file.with_suffix(".part")
        beside.write_text(json.dumps(known, indent=1, sort_keys=True), "utf-8")
        beside.replace(file)
    except OSError as trouble:
        raise StudioTrouble(
            f"{file} cannot be written: {trouble.strerror}.",
            "Say who you are with --as or PATINA_AS instead.",
            title="This machine could not be told",
        ) from None
    return file
