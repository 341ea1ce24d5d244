"""Parts of a treatment that are being written: kept as one types, so that nothing is lost before it is put on record.

A draft belongs to nobody's record: it is no part of the log, and gone once the part is written.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from patina.bench.studio import Studio
from patina.bench.treat import fields_of


def _name(treatment: str, kind: str) -> str:
    return f"draft {treatment} {kind}"[:80]


def keep_draft(studio: Studio, treatment: str, kind: str, fields: Mapping[str, str]) -> None:
    """Keep what stands in the form of a kind of part; nothing but empty fields drops the draft."""
    said = {name: text for name, text in fields.items() if text.strip()}
    studio.set_setting(_name(treatment, kind), json.dumps(said) if said else "")


def draft_of(studio: Studio, treatment: str, kind: str) -> dict[str, str]:
    """What was kept of a form, by field; empty where nothing was, or where it cannot be read any more."""
    text = studio.setting(_name(treatment, kind))
    if not text:
        return {}
    try:
        said = json.loads(text)
    except ValueError:
        return {}
    known = fields_of(kind)
    return {str(name): str(value) for name, value in said.items() if name in known} if isinstance(said, dict) else {}


def drop_draft(studio: Studio, treatment: str, kind: str) -> None:
    """Forget what was kept of a form."""
    if studio.setting(_name(treatment, kind)):
        studio.set_setting(_name(treatment, kind), "")
