"""The log of changes: every change of a record, chained by hashes, written with the change itself.

The session collects what is added, edited and removed, so no store can forget to log. Each entry's
hash covers the hash before it and its own content; the chain's end is kept apart, so that a log
cut short is noticed as well.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import event, func, inspect, select
from sqlalchemy.orm import Session

from patina.errors import Damaged
from patina.records.access.rows import refuse_held
from patina.records.log.chain import entry_hash
from patina.records.log.snapshots import really_changed, snapshot, snapshot_before
from patina.records.tables import photographs, pieces
from patina.records.tables.base import Edited, Record, canonical, now
from patina.records.tables.first import SettingRow
from patina.records.tables.shelf import ChainHead, ChangeTable
from patina.sheets import ChangeRow

assert photographs and pieces  # a row is written only where the tables that it points at are known


@dataclass
class Watch:
    """What one unit of work has changed so far: records in order, with what each was before, and
    those whose search text is another."""

    added: dict[int, Record] = field(default_factory=dict)
    before: dict[int, tuple[Record, dict[str, Any]]] = field(default_factory=dict)
    removed: list[tuple[Record, dict[str, Any]]] = field(default_factory=list)
    other_words: dict[int, Edited] = field(default_factory=dict)
    last_ids: dict[str, int] | None = None

    def attach(self, session: Session) -> None:
        """Follow the session's flushes."""
        event.listen(session, "before_flush", self._before_flush)

    def clear(self) -> None:
        """Start anew, after what was seen has been written."""
        self.added.clear()
        self.before.clear()
        self.removed.clear()
        self.other_words.clear()
        self.last_ids = None

    def _before_flush(self, session: Session, _context: Any, _instances: Any) -> None:
        self._refuse_sealed(session)
        for row in session.dirty:
            known = id(row) in self.added or id(row) in self.before
            if isinstance(row, Record) and not known and session.is_modified(row):
                before = snapshot_before(row)
                refuse_held(session, row, before)
                self.before[id(row)] = (row, before)
        for row in session.new:
            if isinstance(row, Record):
                self._number(session, row)
                self.added[id(row)] = row
        for row in (*session.new, *session.dirty):
            if isinstance(row, Edited) and inspect(row).attrs.search_text.history.has_changes():
                self.other_words[id(row)] = row
        for row in session.deleted:
            if isinstance(row, Record):
                self.removed.append((row, snapshot_before(row)))

    def _number(self, session: Session, row: Record) -> None:
        """The next number where SQLite would give one again that a record had which was taken back."""
        if self.last_ids is None:
            sqlite = session.get_bind().dialect.name == "sqlite"
            kept = select(SettingRow.name, SettingRow.value).where(SettingRow.name.like("last id %"))
            with session.no_autoflush:
                found = session.execute(kept).all() if sqlite else []
            self.last_ids = {name.removeprefix("last id "): int(value) for name, value in found}
        last = self.last_ids.get(row.__tablename__)
        if last is not None and row.id is None:
            kind = type(row)
            row.id = max(last, session.scalar(select(func.max(kind.id))) or 0) + 1
            self.last_ids[row.__tablename__] = row.id

    def _refuse_sealed(self, session: Session) -> None:
        from patina.records.log.seals import require_unsealed

        edited = [row for row in session.dirty if isinstance(row, Record) and really_changed(row)]
        changed = [*edited, *(row for row in session.deleted if isinstance(row, Record))]
        added = [row for row in session.new if isinstance(row, Record)]
        if changed or added:
            require_unsealed(session, changed, added, lambda seal: id(seal) in self.added or seal in session.new)

    def entries(self) -> Iterator[tuple[Record, dict[str, Any] | None, dict[str, Any] | None]]:
        """Each changed record with what it was and what it is; after a flush."""
        gone = {id(row) for row, _ in self.removed}
        for row, before in self.before.values():
            if id(row) not in gone and (after := snapshot(row)) != before:
                yield row, before, after
        for row in self.added.values():
            if id(row) not in gone:
                yield row, None, snapshot(row)
        for row, before in self.removed:
            yield row, before, None


def write_log(session: Session, watch: Watch, *, by: str, deed: str, why: str) -> tuple[int, str] | None:
    """Add an entry per changed record to the end of the chain, in the same transaction; the last one's n and hash."""
    session.flush()
    changed = list(watch.entries())
    if not changed:
        return None
    # the lock keeps two writers from hanging their entries on the same link (SQLite has one writer anyhow)
    head = session.execute(select(ChainHead).with_for_update()).scalar_one_or_none()
    if head is None:
        raise Damaged("The end of the log of changes is missing.", "Restore the last good backup.")
    at = now()
    for row, before, after in changed:
        entry = ChangeTable(
            n=head.n + 1,
            at=at,
            by=by,
            deed=deed,
            why=why,
            kind=row.__tablename__,
            record=row.public_id,
            before=None if before is None else canonical(before),
            after=None if after is None else canonical(after),
            previous=head.hash,
        )
        entry.hash = entry_hash(entry)
        session.add(entry)
        head.n, head.hash = entry.n, entry.hash
    session.flush()
    return head.n, head.hash


def changes(session: Session, record: str, limit: int) -> tuple[ChangeRow, ...]:
    """The newest changes, of one record or (with an empty id) of all."""
    query = select(ChangeTable).order_by(ChangeTable.n.desc()).limit(limit)
    if record:
        query = query.where(ChangeTable.record == record)
    return tuple(
        ChangeRow(
            n=row.n,
            at=row.at,
            by=row.by,
            deed=row.deed,
            why=row.why,
            kind=row.kind,
            record=row.record,
            before=None if row.before is None else json.loads(row.before),
            after=None if row.after is None else json.loads(row.after),
        )
        for row in session.scalars(query)
    )
