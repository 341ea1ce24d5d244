"""Demonstration photographs, rendered from true colours by ``render.py``, and those colours beside them.

``photographs()`` lists the pictures and ``truth()`` says what is known of each: the light, the
camera, where the chart's corner patches are and the true colour of every tile.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


def truth() -> dict[str, Any]:
    """What is known of each photograph, by file name. See ``render.py`` for the fields."""
    found: dict[str, Any] = json.loads((FOLDER / "truth.json").read_text(encoding="utf-8"))
    return found


def photograph(name: str) -> Path:
    """Where the photograph of that file name lies."""
    return FOLDER / name


def photographs() -> tuple[Path, ...]:
    """All rendered photographs, in the order of their names."""
    return tuple(FOLDER / name for name in sorted(truth()))
