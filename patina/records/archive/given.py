"""The log of changes in a bundle: the whole chain of hashes, and in full the changes of the records concerned.

Where a bundle was taken in from elsewhere, the log that came with it stays as it was given, and goes out again
with the records it is about.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.errors import Damaged
from patina.records.archive.cells import parsed
from patina.records.archive.choice import ALL, Choice, in_parts
from patina.records.archive.shape import shapes
from patina.records.log.chain import FIRST, entry_hash
from patina.records.tables.base import canonical
from patina.records.tables.bundles import GivenChangeRow, TakenBundleTable
from patina.records.tables.shelf import ChainHead, ChangeTable

FIELDS = ("n", "at", "by", "deed", "why", "kind", "record", "before", "after", "previous", "hash")
HEADER = "n,hash"


def line_of(entry: ChangeTable | Any) -> str:
    """A change as a line of data/log/entries.jsonl."""
    values = {name: getattr(entry, name) for name in FIELDS if name != "at"}
    return canonical({**values, "at": entry.at.astimezone(UTC).isoformat()})


class Entry:
    """A change as a bundle gives it. Raises Damaged where its hash is not that of its content."""

    n: int
    at: datetime
    by: str
    deed: str
    why: str
    kind: str
    record: str
    before: str | None
    after: str | None
    previous: str
    hash: str

    def __init__(self, line: str):
        try:
            values = parsed(line)
            if not isinstance(values, dict) or set(values) != set(FIELDS) or type(values["n"]) is not int:
                raise ValueError("other fields")
            if not all(isinstance(values[k], str) for k in FIELDS if k not in ("n", "before", "after")):
                raise ValueError("another sort of value")
            if not all(values[k] is None or isinstance(values[k], str) for k in ("before", "after")):
                raise ValueError("another sort of value")
            self.__dict__ |= values | {"at": datetime.fromisoformat(values["at"])}
            if self.at.tzinfo is None or not 0 < self.n < 2**31 or line_of(self) != line:
                raise ValueError("written otherwise")
        except ValueError:
            raise Damaged("An entry of the log in the bundle cannot be read.", "Use another bundle.") from None
        if entry_hash(self) != self.hash:
            raise Damaged(
                f"Entry {self.n} of the log in the bundle is not what was written.",
                "Somebody altered it; do not use it.",
            )


def write_log(session: Session, choice: Choice, folder: Path) -> dict[str, Any]:
    """Write the log of a bundle into a folder. Returns what bundle.json says of it."""
    folder.mkdir(parents=True, exist_ok=True)
    query = select(ChangeTable.n, ChangeTable.hash).order_by(ChangeTable.n).execution_options(yield_per=5000, **ALL)
    write_chain(folder / "chain.csv", ((n, sha256) for n, sha256 in session.execute(query)))
    count = 0
    with (folder / "entries.jsonl").open("w", encoding="utf-8", newline="\n") as out:
        for entry in _entries(session, choice):
            out.write(line_of(entry) + "\n")
            count += 1
    head = session.execute(select(ChainHead.n, ChainHead.hash)).one()
    for bundle_id, uid in earlier(session, choice):
        _write_earlier(session, bundle_id, folder / "earlier" / uid)
    return {"n": head.n, "sha256": head.hash, "entries": count}


def write_chain(path: Path, chain: Iterable[tuple[int, str]]) -> None:
    """Numbers and hashes as CSV."""
    with path.open("w", encoding="ascii", newline="") as out:
        out.write(HEADER + "\r\n")
        csv.writer(out).writerows(chain)


def _entries(session: Session, choice: Choice) -> Iterator[Any]:
    columns = [getattr(ChangeTable, name) for name in FIELDS]
    query = select(*columns).order_by(ChangeTable.n).execution_options(yield_per=1000, **ALL)
    if choice.whole:
        yield from session.execute(query)
        return
    found: dict[int, Any] = {}
    hidden = {(c.table, c.record) for c in choice.cut if c.column != "batch_id" or c.table != "lot_movement"}
    for kind, rows in choice.rows.items():
        letter = shapes()[kind].letter
        names = {f"{letter}{i}" for i in rows if (kind, f"{letter}{i}") not in hidden}
        for part in in_parts(names):
            for entry in session.execute(query.where(ChangeTable.kind == kind, ChangeTable.record.in_(part))):
                found[entry.n] = entry
    yield from (found[n] for n in sorted(found))


def earlier(session: Session, choice: Choice) -> list[tuple[int, str]]:
    """Number and uid of the bundles whose log is about rows of this one."""
    columns = (TakenBundleTable.id, TakenBundleTable.uid)
    query = select(*columns).order_by(TakenBundleTable.id).execution_options(**ALL)
    if not choice.whole:
        query = query.where(TakenBundleTable.id.in_(list(choice.rows.get("taken_bundle", {0: {}}))))
    return [(number, uid) for number, uid in session.execute(query)]


def bundles_about(session: Session, records: Iterable[str]) -> set[int]:
    """Numbers of the bundles that gave a change of one of the records."""
    found: set[int] = set()
    for part in in_parts(records):
        query = select(GivenChangeRow.bundle_id).where(GivenChangeRow.record.in_(part)).distinct()
        found |= set(session.scalars(query.execution_options(**ALL)))
    return found


def _write_earlier(session: Session, bundle_id: int, folder: Path) -> None:
    folder.mkdir(parents=True)
    mine = GivenChangeRow.bundle_id == bundle_id
    order = GivenChangeRow.n
    chain = select(GivenChangeRow.n, GivenChangeRow.hash).where(mine).order_by(order)
    write_chain(folder / "chain.csv", ((n, h) for n, h in session.execute(chain.execution_options(yield_per=5000))))
    full = select(GivenChangeRow.entry).where(mine, GivenChangeRow.entry.is_not(None)).order_by(order)
    with (folder / "entries.jsonl").open("w", encoding="utf-8", newline="\n") as out:
        for line in session.scalars(full.execution_options(yield_per=1000)):
            out.write(f"{line}\n")


def read_chain(lines: Iterator[str]) -> Iterator[tuple[int, str]]:
    """Numbers and hashes: 1, 2, 3 and so on. Raises Damaged."""
    expected = 0
    for number, line in enumerate(lines):
        if number == 0:
            if line != HEADER:
                raise _broken()
            continue
        expected += 1
        n, _, sha256 = line.partition(",")
        if n != str(expected) or len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
            raise _broken()
        yield expected, sha256


def _broken() -> Damaged:
    return Damaged("The chain of the log in the bundle is broken.", "Somebody altered it; do not use it.")


def proved(chain: Iterator[tuple[int, str]], entries: Iterator[str]) -> Iterator[tuple[int, str, Entry | None]]:
    """Each link of the chain with its change, where that stands in full. Raises Damaged where they disagree."""
    waiting = next_entry(entries)
    previous = FIRST
    for n, sha256 in chain:
        entry = waiting if waiting is not None and waiting.n == n else None
        if entry is not None:
            if entry.hash != sha256 or entry.previous != previous:
                raise _broken()
            waiting = next_entry(entries)
        yield n, sha256, entry
        previous = sha256
    if waiting is not None:
        raise _broken()


def next_entry(entries: Iterator[str]) -> Entry | None:
    """The next change, None at the end."""
    line = next(entries, None)
    return None if line is None else Entry(line)
