"""Proving that a studio is what it was: the database, the log, every record and every photograph."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import exc, func, inspect, select, text
from sqlalchemy.orm import Session

from patina.errors import Damaged, StudioTrouble
from patina.records.keeping import derived, derived_more
from patina.records.keeping.given_logs import given_problems
from patina.records.log.chain import FIRST, entry_hash
from patina.records.log.snapshots import kept_columns, snapshot_of
from patina.records.studio.store import Store
from patina.records.tables.base import Record, canonical
from patina.records.tables.first import ReadingTable, RecipeTable, RevisionTable
from patina.records.tables.kinds import record_kinds
from patina.records.tables.photographs import PhotographTable, PhotographUse
from patina.records.tables.recipe_json import content_sha256, recipe_from
from patina.records.tables.seals import WithdrawalTable
from patina.records.tables.shelf import BatchTable, BatchUse, ChainHead, ChangeTable, LotMovement, LotTable
from patina.records.tables.substance_json import added_substances
from patina.records.tables.work import WorkEventTable
from patina.sheets import CheckSheet

# What adding up decimal figures may leave over, relative to the amounts.
SLACK = 1e-6
Told = Callable[[int, int, str], None]


@dataclass
class _Findings:
    problems: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def check_store(store: Store, told: Told = lambda _done, _of, _what: None) -> CheckSheet:
    """Look at everything. told: how many parts and photographs are done of how many, and what is next; what it
    raises stops the work.

    Problems: damaged pages, broken references, a broken or shortened log, a record that is not what
    the log says, a revision, seal or photograph whose hash is another, a missing photograph, a figure that
    does not follow from what it was worked out of (``derived.py`` has the table of them). Notes: files that
    belong to no record, pots weighed otherwise than the recipe says.
    """
    found = _Findings()
    records = photographs = 0
    with store.view_of_all() as session:
        of = len(PARTS) + _how_many_photographs(session)
        for n, (words, part) in enumerate(PARTS):
            told(n, of, words)
            try:
                found.problems += part(session)
            except Damaged as trouble:
                found.problems.append(trouble.what)
            except exc.DatabaseError as trouble:
                found.problems.append(f"The database is damaged; {words} could not be read: {trouble.orig}.")
            except (LookupError, TypeError, ValueError, exc.InvalidRequestError) as trouble:  # a row that says nonsense
                found.problems.append(f"Among {words} something cannot be read ({type(trouble).__name__}: {trouble}).")
        try:
            found.notes += _odd(session)
            records, photographs = _count(session)
            _check_photographs(session, store, found, lambda n: told(len(PARTS) + n, of, "the photographs"))
        except Damaged as trouble:
            found.problems.append(trouble.what)
        except exc.DatabaseError as trouble:
            found.problems.append(f"The database is damaged; the photographs could not be read: {trouble.orig}.")
    problems = tuple(dict.fromkeys(found.problems))
    return CheckSheet(not problems, problems, records, photographs, tuple(found.notes))


def _count(session: Session) -> tuple[int, int]:
    counted = [k for k in record_kinds() if k not in (PhotographTable, PhotographUse)]
    records = sum(session.scalar(select(func.count()).select_from(kind)) or 0 for kind in counted)
    return records, session.scalar(select(func.count()).select_from(PhotographTable)) or 0


def _how_many_photographs(session: Session) -> int:
    """For the progress alone: a database that is damaged there is told of where the photographs are looked at."""
    try:
        return session.scalar(select(func.count()).select_from(PhotographTable)) or 0
    except exc.DatabaseError:
        return 0


def _database(session: Session) -> Iterator[str]:
    if session.get_bind().dialect.name != "sqlite":
        return  # other databases do not let a reference break, and check their own pages
    for (said,) in session.execute(text("PRAGMA integrity_check")):
        if said != "ok":
            yield f"The database is damaged: {said}."
    for table, row, parent, _ in session.execute(text("PRAGMA foreign_key_check")):
        yield f"Row {row} of {table} points at a row of {parent} that is not there."


def _log(session: Session) -> Iterator[str]:
    previous, n = FIRST, 0
    query = select(*(getattr(ChangeTable, c.key) for c in inspect(ChangeTable).column_attrs)).order_by(ChangeTable.n)
    for entry in session.execute(query.execution_options(yield_per=1000)):
        n += 1
        if entry.n != n:
            yield f"The log of changes has no entry {n}."
            n = entry.n
        if entry.previous != previous:
            yield f"Entry {entry.n} of the log of changes does not follow from the one before."
        if entry_hash(entry) != entry.hash:
            yield f"Entry {entry.n} of the log of changes ({entry.deed} {entry.record}) is not what was written."
        previous = entry.hash
    head = session.scalars(select(ChainHead)).one_or_none()
    if head is None or (head.n, head.hash) != (n, previous):
        yield "The log of changes does not end where it should: entries are missing or were added."


def _records(session: Session) -> Iterator[str]:
    last: dict[tuple[str, str], bytes | None] = {}
    query = select(ChangeTable.kind, ChangeTable.record, ChangeTable.after).order_by(ChangeTable.n)
    for kind, record, after in session.execute(query.execution_options(yield_per=1000)):
        last[kind, record] = None if after is None else _digest(after)
    for table in record_kinds():
        for values in session.execute(select(*kept_columns(table)).execution_options(yield_per=1000)):
            now = snapshot_of(table, values)
            record = f"{table.LETTER}{now['id']}"
            said = last.pop((table.__tablename__, record), None)
            if said is None:
                yield f"{_named(table, record)} is not in the log of changes."
            elif said != _digest(canonical(now)):
                yield f"{_named(table, record)} is not what the log of changes says of it."
    for (kind, record), left in last.items():
        if left is not None:
            yield f"{kind.replace('_', ' ').capitalize()} {record} is in the log of changes and gone from the records."


def _digest(text_of: str) -> bytes:
    return hashlib.sha256(text_of.encode()).digest()


def _named(kind: type[Record], record: str) -> str:
    return f"{kind.__tablename__.replace('_', ' ').capitalize()} {record}"


def _revisions(session: Session) -> Iterator[str]:
    numbers: dict[int, list[int]] = defaultdict(list)
    for row in session.scalars(select(RevisionTable).execution_options(yield_per=500)):
        numbers[row.recipe_id].append(row.number)
        name = f"Revision {row.number} of recipe R{row.recipe_id}"
        if content_sha256(row.document) != row.content_sha256:
            yield f"{name} is not what was frozen."
        else:
            recipe = recipe_from(row.document)
            shown = (recipe.finish, recipe.provenance, list(recipe.alloys), list(recipe.methods))
            if shown != (row.finish, row.provenance, row.alloys, row.methods):
                yield f"{name} is listed as something else than it says."
        session.expunge(row)
    for recipe_id, latest in session.execute(select(RecipeTable.id, RecipeTable.revision)):
        if sorted(numbers[recipe_id]) != list(range(1, latest + 1)):
            yield f"The revisions of recipe R{recipe_id} are not 1 to {latest}."


def _amounts(session: Session) -> Iterator[str]:
    moved = dict(_sums(session, LotMovement.lot_id, LotMovement.amount))
    for lot_id, left, amount in session.execute(select(LotTable.id, LotTable.left_amount, LotTable.amount)):
        if abs(left - moved.get(lot_id, 0.0)) > SLACK * max(1.0, amount):
            yield f"What is left of lot L{lot_id} does not follow from its movements."
    used = dict(_sums(session, BatchUse.batch_id, BatchUse.ml))
    for batch_id, volume, left in session.execute(select(BatchTable.id, BatchTable.volume_ml, BatchTable.left_ml)):
        if abs(volume - used.get(batch_id, 0.0) - left) > SLACK * max(1.0, volume):
            yield f"What is left of batch B{batch_id} does not follow from its uses."


def _sums(session: Session, key: Any, amount: Any) -> Iterator[tuple[int, float]]:
    for owner, total in session.execute(select(key, func.sum(amount)).group_by(key)):
        yield owner, float(total)


def _latest(session: Session) -> Iterator[str]:
    for letter, owner in (("T", ReadingTable.tile_id), ("C", ReadingTable.cast_id)):
        newest: dict[Any, tuple[Any, int]] = {}
        marked: dict[Any, list[int]] = defaultdict(list)
        query = select(owner, ReadingTable.read_at, ReadingTable.id, ReadingTable.latest).where(
            owner.is_not(None), ReadingTable.id.not_in(select(WithdrawalTable.reading_id))
        )
        for owner_id, read_at, reading_id, latest in session.execute(query.execution_options(yield_per=5000)):
            newest[owner_id] = max(newest.get(owner_id, (read_at, reading_id)), (read_at, reading_id))
            if latest:
                marked[owner_id].append(reading_id)
        for owner_id, (_, reading_id) in newest.items():
            if marked[owner_id] != [reading_id]:
                yield f"Another reading than the newest is shown for {letter}{owner_id}."


def _works(session: Session) -> Iterator[str]:
    numbers: dict[int, list[int]] = defaultdict(list)
    owner: dict[int, int] = {}
    taken: list[tuple[int, int, int]] = []
    query = select(WorkEventTable.id, WorkEventTable.work_id, WorkEventTable.seq, WorkEventTable.cancels_id)
    for event_id, work_id, seq, cancels in session.execute(query.order_by(WorkEventTable.seq)):
        numbers[work_id].append(seq)
        owner[event_id] = work_id
        if cancels is not None:
            taken.append((work_id, seq, cancels))
    for work_id, found in numbers.items():
        if found != list(range(1, len(found) + 1)):
            yield f"What happened in work J{work_id} is not numbered 1 to {len(found)}."
    for work_id, seq, cancels in taken:
        if owner.get(cancels) != work_id:
            yield f"Number {seq} of work J{work_id} takes back something of another work."


PARTS: tuple[tuple[str, Callable[[Session], Iterator[str]]], ...] = (
    ("the database", _database),
    ("the log of changes", _log),
    ("the records", _records),
    ("the logs that came with bundles", given_problems),
    ("the revisions", _revisions),
    ("the substances of recipes", derived.substances_used),
    ("the names", derived.folded_names),
    ("the words", derived.found_words),
    ("the index of words", derived.word_index),
    ("the middles of words", derived.middles),
    ("the amounts", _amounts),
    ("the pots", derived.batches),
    ("the strip checks", derived.strip_checks),
    ("the readings", _latest),
    ("the doubt of readings", derived_more.doubts),
    ("the tones of readings", derived_more.tones),
    ("the agreed colours", derived_more.zones),
    ("the viewings", derived_more.viewings),
    ("the concessions", derived_more.concessions),
    ("the works", _works),
    ("the passes", derived_more.passes),
    ("what was signed off", derived_more.seals),
)


def _odd(session: Session) -> Iterator[str]:
    """What follows from other records only if a person did as the recipe says."""
    from patina.chemistry.substances import catalogue

    known = catalogue()
    for substance in added_substances(session):
        known = known.with_added(substance)
    yield from derived.asked_otherwise(session, known)
    yield from derived_more.areas(session)


def _check_photographs(session: Session, store: Store, found: _Findings, told: Callable[[int], None]) -> None:
    known: set[str] = set()
    try:
        for sha256, size in session.execute(select(PhotographTable.sha256, PhotographTable.size_bytes)):
            told(len(known))
            known.add(sha256)
            fault = store.files.fault(sha256, size)
            if fault is not None:
                found.problems.append(f"Photograph {sha256} {fault}.")
        for name in store.files.strays(known):
            found.notes.append(
                f"The file {name} belongs to no record: left by an interrupted addition, or put there by hand."
            )
    except StudioTrouble as trouble:  # the store does not answer: said once, not for each photograph
        found.problems.append(f"The photographs could not be proved. {trouble.what}")
