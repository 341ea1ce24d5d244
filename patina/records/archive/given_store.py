"""Keeping the log that came with a bundle."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

from sqlalchemy import insert
from sqlalchemy.orm import Session

from patina.errors import Damaged
from patina.records.archive.given import line_of
from patina.records.archive.numbering import Numbers
from patina.records.archive.opening import Bag
from patina.records.keeping.given_logs import given_hash
from patina.records.tables.bundles import GivenChangeRow

AT_ONCE = 1000


def hash_of_given(bag: Bag, folder: str) -> str:
    """SHA-256 over what is kept of a log."""
    add, found = given_hash(), hashlib.sha256().hexdigest()
    for n, sha256, entry in bag.log(folder):
        found = add(n, sha256, None if entry is None else line_of(entry))
    return found


def keep_given(session: Session, bag: Bag, folder: str, bundle_id: int, called: Callable[[str], str]) -> None:
    """Keep a log as it was given. called: what a record of it is called here."""
    rows: list[dict[str, Any]] = []
    for n, sha256, entry in bag.log(folder):
        rows.append(
            {
                "bundle_id": bundle_id,
                "n": n,
                "hash": sha256,
                "record": None if entry is None else called(entry.record)[:40],
                "entry": None if entry is None else line_of(entry),
            }
        )
        if len(rows) >= AT_ONCE:
            session.execute(insert(GivenChangeRow), rows)
            rows = []
    if rows:
        session.execute(insert(GivenChangeRow), rows)


def keep_earlier(session: Session, bag: Bag, numbers: Numbers, row: dict[str, Any], bundle_id: int) -> None:
    """Keep the log of a bundle that the records came with before. Raises Damaged where it is not what was given."""
    folder = f"data/log/earlier/{row['uid']}"
    if f"{folder}/chain.csv" not in bag.parts or hash_of_given(bag, folder) != row["given_sha256"]:
        raise Damaged(
            f"The log that came with {row['public_id']} is not in the bundle as it was given.", "Use another."
        )
    moved = dict(row["renumbered"])
    keep_given(session, bag, folder, bundle_id, lambda record: numbers.called(moved.get(record, record)))
