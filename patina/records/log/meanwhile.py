"""What somebody else changed in a record while it was being edited: told from the log, field by field."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import Changed
from patina.records.log.snapshots import snapshot
from patina.records.tables.base import Edited
from patina.records.tables.shelf import ChangeTable

UNSAID = ("version", "uid", "id", "created_at", "name_folded")
MOST_FIELDS = 12


def changed_meanwhile(session: Session, row: Edited, version: int, what: str) -> Changed:
    """The trouble to raise where a record is no longer the version that was edited.

    what: what the record is called. It says who changed which field, from what to what; nothing of what was typed
    is lost, since the form stays open.
    """
    entries = session.scalars(
        select(ChangeTable).where(ChangeTable.record == row.public_id).order_by(ChangeTable.n.desc()).limit(50)
    ).all()
    since = []
    for entry in entries:
        before = json.loads(entry.before) if entry.before else {}
        if int(before.get("version", 0)) < version:
            break
        since.append((entry, before))
    first = since[-1][1] if since else {}
    people = ", ".join(dict.fromkeys(e.by for e, _ in reversed(since) if e.by)) or "somebody"
    told = [f"{k.replace('_', ' ')}: {_said(first[k])} → {_said(v)}" for k, v in _differs(first, snapshot(row))]
    more = f" and {len(told) - MOST_FIELDS} fields more" if len(told) > MOST_FIELDS else ""
    words = "; ".join(told[:MOST_FIELDS]) or "the figures that follow from others"
    return Changed(
        f"{what} was changed in the meantime by {people}. {words}{more}.",
        "What you typed is still here. Note what you want of it, look at the record again, and make your change to "
        "what stands there now.",
    )


def _differs(before: dict[str, Any], now: dict[str, Any]) -> list[tuple[str, Any]]:
    return [(k, v) for k, v in now.items() if k not in UNSAID and k in before and before[k] != v]


def _said(value: Any) -> str:
    if value in (None, "", []):
        return "nothing"
    if isinstance(value, float):
        return f"'{value:g}'"
    text = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
    return f"'{text[:80]}'"
