"""Where a studio lies, before it is opened."""

from __future__ import annotations

import os
from pathlib import Path

ENVIRONMENT = "PATINA_STUDIO"


def place_of(where: str | Path | None) -> str:
    """The folder or database URL that is meant: as named, else PATINA_STUDIO, else the usual place."""
    return str(where) if where else os.environ.get(ENVIRONMENT, "").strip() or str(usual_place())


def usual_place() -> Path:
    """The platform's own data folder for a studio."""
    from platformdirs import user_data_path

    return user_data_path("patina", appauthor=False)
