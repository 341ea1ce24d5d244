"""Archive bundles as they are shown: what one holds, and what came of taking one in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class BundleSheet:
    """A bundle.

    target: id of what it is made of, empty for a whole studio. made_for: "everyone" or "owner". tables: rows by
    table. missing: photographs whose files were gone. left_out: what is empty in it, in words. withheld: recipes that
    were left out. not_printed: reports that could not be set. log_n, log_entries: changes in the studio it comes
    from, and those of them that stand in full.
    """

    file: str
    sha256: str
    size_bytes: int
    target: str
    kind: str
    name: str
    made_for: str
    studio: str
    program: str
    tables: tuple[tuple[str, int], ...]
    photographs: int
    missing: tuple[str, ...]
    left_out: tuple[str, ...]
    withheld: tuple[str, ...]
    log_n: int
    log_entries: int
    not_printed: tuple[str, ...] = ()

    @property
    def records(self) -> int:
        """How many rows it holds."""
        return sum(rows for _, rows in self.tables)

    @property
    def called(self) -> str:
        """What it is of, in words."""
        return f"{self.target} {self.name}".strip() if self.target else "the whole studio"

    def as_json(self) -> dict[str, Any]:
        """As `patina archive --json` prints it."""
        return {
            "file": self.file,
            "sha256": self.sha256,
            "size_bytes": self.size_bytes,
            "target": self.target,
            "kind": self.kind,
            "name": self.name,
            "made_for": self.made_for,
            "studio": self.studio,
            "program": self.program,
            "records": self.records,
            "tables": dict(self.tables),
            "photographs": self.photographs,
            "missing": list(self.missing),
            "left_out": list(self.left_out),
            "withheld": list(self.withheld),
            "not_printed": list(self.not_printed),
            "changes": self.log_n,
            "changes_in_full": self.log_entries,
        }


@dataclass(frozen=True, slots=True)
class TakenSheet:
    """What came of a bundle. record: its own id here, empty where it became the whole studio or brought nothing new.
    added: rows by table. known: rows that were here already. kept: records that stayed as they are here though the
    bundle says otherwise. renumbered: ids there and here."""

    record: str
    target: str
    name: str
    added: tuple[tuple[str, int], ...]
    known: int
    kept: tuple[str, ...]
    renumbered: tuple[tuple[str, str], ...]
    photographs: int

    @property
    def records(self) -> int:
        """How many rows came in."""
        return sum(rows for _, rows in self.added)

    @property
    def called(self) -> str:
        """What it is of, in words."""
        return f"{self.target} {self.name}".strip() if self.target else "the whole studio"

    def words(self) -> str:
        """What came of it, in one line."""
        said = f"{self.called}: {_n(self.records, 'record')} and {_n(self.photographs, 'photograph')} taken in"
        said += f", {self.known} were here already" if self.known else ""
        said += f", {len(self.kept)} stayed as they are here" if self.kept else ""
        return said + (f", {len(self.renumbered)} have another number here." if self.renumbered else ".")

    def as_json(self) -> dict[str, Any]:
        """As `patina import --json` prints it."""
        return {
            "record": self.record,
            "target": self.target,
            "name": self.name,
            "records": self.records,
            "added": dict(self.added),
            "known": self.known,
            "kept": list(self.kept),
            "renumbered": [list(pair) for pair in self.renumbered],
            "photographs": self.photographs,
        }


def _n(n: int, thing: str) -> str:
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"


@dataclass(frozen=True, slots=True)
class Term:
    """A term of a published thesaurus. kind: its class in Linked Art. address: where it is published."""

    key: str
    kind: str
    address: str
    label: str
