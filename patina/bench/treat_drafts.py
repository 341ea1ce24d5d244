"""Parts of a treatment that are being written: kept as one types, so that nothing is lost before it is put on record.

A draft is its writer's own: it lies on this machine beside the journal of the torch, is no part of the studio or
its log, and is gone once the part is written.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

from patina.bench.saving import write_whole
from patina.bench.studio import Studio
from patina.bench.treat import fields_of
from patina.errors import StudioTrouble


def folder_of(studio: Studio) -> Path:
    """Where the drafts for a studio lie on this machine."""
    from platformdirs import user_data_path

    own = hashlib.sha256(str(studio.where).encode()).hexdigest()[:12]
    return user_data_path("patina", appauthor=False) / "drafts" / own


def _file(studio: Studio, treatment: str, kind: str) -> Path:
    return folder_of(studio) / f"{treatment}-{kind}.json"


def keep_draft(studio: Studio, treatment: str, kind: str, fields: Mapping[str, str]) -> None:
    """Keep what stands in the form of a kind of part; nothing but empty fields drops the draft.

    Raises StudioTrouble where this machine cannot keep it.
    """
    said = {name: text for name, text in fields.items() if text.strip()}
    if not said:
        drop_draft(studio, treatment, kind)
        return
    path = _file(studio, treatment, kind)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as trouble:
        raise StudioTrouble(
            f"The draft cannot be kept in {path.parent}: {trouble.strerror}.", "Put it on record now, or make room."
        ) from trouble
    write_whole(path, json.dumps(said, ensure_ascii=False).encode())


def draft_of(studio: Studio, treatment: str, kind: str) -> dict[str, str]:
    """What was kept of a form, by field; empty where nothing was, or where it cannot be read any more."""
    try:
        said = json.loads(_file(studio, treatment, kind).read_bytes())
    except (OSError, ValueError):
        return {}
    known = fields_of(kind)
    return {str(name): str(value) for name, value in said.items() if name in known} if isinstance(said, dict) else {}


def drop_draft(studio: Studio, treatment: str, kind: str) -> None:
    """Forget what was kept of a form."""
    try:
        _file(studio, treatment, kind).unlink(missing_ok=True)
    except OSError as trouble:
        raise StudioTrouble(
            f"The draft cannot be put away: {trouble.strerror}.", "It does no harm; the part itself is on record."
        ) from trouble
