"""What was found: by a search, by a check of the studio."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What `patina check` found. problems: what is not as it was; notes: what is odd and does no harm."""

    ok: bool
    problems: tuple[str, ...]
    records: int
    photographs: int
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The document `patina check --json` prints."""
        return {
            "ok": self.ok,
            "problems": list(self.problems),
            "records": self.records,
            "photographs": self.photographs,
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class BackupDue:
    """Whether a backup is due. days: one is wanted every so many days, 0 where nobody asked for any. last: when
    the newest was made, and file: where to. said: how it stands, in sentences; words: with the
    command that comes next."""

    due: bool
    days: int
    last: datetime | None
    words: str
    said: str = ""
    file: str = ""

    def as_json(self) -> dict[str, Any]:
        """The document `patina backup --due --json` prints."""
        last = None if self.last is None else self.last.isoformat()
        return {"due": self.due, "days": self.days, "last": last, "words": self.words}


@dataclass(frozen=True, slots=True)
class SalvageSheet:
    """What was saved out of a damaged studio. saved: rows by kind of record. lost, notes: sentences; file: the list."""

    folder: str
    saved: dict[str, int]
    photographs: int
    lost: tuple[str, ...]
    sound: bool
    file: str

    def as_json(self) -> dict[str, Any]:
        """The document `patina salvage --json` prints."""
        return {
            "folder": self.folder,
            "saved": dict(self.saved),
            "photographs": self.photographs,
            "lost": list(self.lost),
            "sound": self.sound,
            "file": self.file,
        }


@dataclass(frozen=True, slots=True)
class Found:
    """A record found by its words. kind: "recipe", "tile", "agreed finish", "piece", "cast", "lot" or "batch"."""

    kind: str
    id: str
    name: str


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change in the log. at: UTC. deed: what was done; why: the reason, where one was given.
    before, after: the record's values by name, None where it was not there."""

    n: int
    at: datetime
    by: str
    deed: str
    why: str
    kind: str
    record: str
    before: dict[str, Any] | None
    after: dict[str, Any] | None
