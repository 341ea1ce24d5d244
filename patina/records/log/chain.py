"""The chain of the log of changes: what each link's hash covers, and what the first hangs on."""

from __future__ import annotations

import hashlib
from datetime import UTC
from typing import Any

from patina.records.tables.base import canonical
from patina.records.tables.shelf import ChangeTable

FIRST = "0" * 64


def entry_hash(entry: ChangeTable | Any) -> str:
    """SHA-256 over the hash before and the canonical JSON of the entry."""
    content = {
        "n": entry.n,
        "at": entry.at.astimezone(UTC).isoformat(),
        "by": entry.by,
        "deed": entry.deed,
        "why": entry.why,
        "kind": entry.kind,
        "record": entry.record,
        "before": entry.before,
        "after": entry.after,
    }
    return hashlib.sha256((entry.previous + canonical(content)).encode()).hexdigest()
