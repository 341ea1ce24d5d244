"""What was done to the records, by whom and why; what was signed off, and what was added since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One field of a record that became another. words: in the trade's words. before, after: with their
    unit; empty where there was nothing."""

    words: str
    before: str
    after: str

    def as_json(self) -> dict[str, str]:
        """The three fields by name."""
        return {"field": self.words, "before": self.before, "after": self.after}


@dataclass(frozen=True, slots=True)
class Alteration:
    """One record within a deed. did: "added", "changed" or "taken out". record: its id. kind: its word."""

    record: str
    kind: str
    did: str
    fields: tuple[FieldChange, ...]

    def as_json(self) -> dict[str, Any]:
        """The fields by name."""
        return {
            "record": self.record,
            "kind": self.kind,
            "did": self.did,
            "fields": [one.as_json() for one in self.fields],
        }


@dataclass(frozen=True, slots=True)
class DeedRow:
    """One deed: everything that was put on record at once. first, last: numbers of its changes in the log.
    undone: whether it was taken back since."""

    first: int
    last: int
    at: datetime
    by: str
    deed: str
    why: str
    alterations: tuple[Alteration, ...]
    undone: bool = False

    def as_json(self) -> dict[str, Any]:
        """The document that `patina history --json` prints of a deed."""
        return {
            "first": self.first,
            "last": self.last,
            "at": self.at.isoformat(),
            "by": self.by,
            "deed": self.deed,
            "why": self.why,
            "undone": self.undone,
            "alterations": [one.as_json() for one in self.alterations],
        }


@dataclass(frozen=True, slots=True)
class UndoSheet:
    """What an undo did. deed: what was taken back; words: a sentence; records: ids that are now as before."""

    deed: str
    words: str
    records: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The fields by name."""
        return {"deed": self.deed, "words": self.words, "records": list(self.records)}


@dataclass(frozen=True, slots=True)
class AmendmentRow:
    """What was added to a record that is never edited again. number: 1, 2, 3 … of the record."""

    number: int
    words: str
    why: str
    by: str
    at: datetime

    def as_json(self) -> dict[str, Any]:
        """The fields by name."""
        return {
            "number": self.number,
            "words": self.words,
            "why": self.why,
            "by": self.by,
            "at": self.at.isoformat(),
        }


@dataclass(frozen=True, slots=True)
class SealSheet:
    """How a record was signed off, and what was added since. by is empty and sealed False where nobody signed.
    covers: how many rows were signed. sound: whether their content still has the hash that was signed; None where
    it is withheld from whoever asks, who so cannot prove it."""

    record: str
    kind: str
    sealed: bool
    statement: str = ""
    by: str = ""
    at: datetime | None = None
    sha256: str = ""
    covers: int = 0
    sound: bool | None = True
    amendments: tuple[AmendmentRow, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The document that `patina seal --json` prints."""
        return {
            "record": self.record,
            "kind": self.kind,
            "sealed": self.sealed,
            "statement": self.statement,
            "by": self.by,
            "at": None if self.at is None else self.at.isoformat(),
            "sha256": self.sha256,
            "covers": self.covers,
            "sound": self.sound,
            "amendments": [one.as_json() for one in self.amendments],
        }
