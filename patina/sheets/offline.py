"""What waits in a journal of this machine, and what became of it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class JournalRow:
    """A journal that waits. name: of its file. keys: how many it holds. opened_at, last_at: of the first
    and the last of them, None where it cannot be read; trouble: then why."""

    name: str
    work: str
    target: str
    opened_at: datetime | None
    last_at: datetime | None
    keys: int
    trouble: str = ""

    def as_json(self) -> dict[str, Any]:
        """The fields by name, moments in ISO form."""
        moments = {"opened_at": self.opened_at, "last_at": self.last_at}
        return {**asdict(self), **{k: None if v is None else v.isoformat() for k, v in moments.items()}}


@dataclass(frozen=True, slots=True)
class ReplaySheet:
    """A journal put on record. written: how many of its keys are on record now and were not before; there:
    how many were. others: what others wrote on the work meanwhile. as_notes: what the records refused
    and keep as a note."""

    work: str
    written: int
    there: int
    others: int
    as_notes: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The fields by name."""
        return {**asdict(self), "as_notes": list(self.as_notes)}
