"""Writing a file whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from patina.errors import StudioTrouble


def write_whole(path: Path, content: bytes) -> Path:
    """Write bytes to a file beside its final name, then move it there. Raises StudioTrouble."""
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as trouble:
        beside.unlink(missing_ok=True)
        reason = trouble.strerror or "it cannot be written"
        raise StudioTrouble(
            f"{path} cannot be written: {reason}.",
            "Choose another place or make room.",
            title="The file was not written",
        ) from None
    return path
