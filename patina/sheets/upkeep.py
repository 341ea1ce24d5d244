"""What was found: by a search, by a check of the studio."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What `patina check` found."""

    ok: bool
    problems: tuple[str, ...]
    records: int
    photographs: int

    def as_json(self) -> dict[str, Any]:
        """The document `patina check --json` prints."""
        return {
            "ok": self.ok,
            "problems": list(self.problems),
            "records": self.records,
            "photographs": self.photographs,
        }


@dataclass(frozen=True, slots=True)
class Found:
    """A record found by its words. kind: "recipe", "tile", "agreed finish", "piece", "cast", "lot" or "batch"."""

    kind: str
    id: str
    name: str
