"""The logs that came with bundles: the sum over what is kept of them, and the proof that it still is."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator

from sqlalchemy import select
from sqlalchemy.orm import Session

from patina.records.tables.bundles import GivenChangeRow, TakenBundleTable


def given_hash() -> Callable[[int, str, str | None], str]:
    """Adds up what is kept of a given log; every call returns the SHA-256 so far."""
    digest = hashlib.sha256()

    def add(n: int, sha256: str, line: str | None) -> str:
        digest.update(f"{n},{sha256},{line or ''}\n".encode())
        return digest.hexdigest()

    return add


def given_problems(session: Session) -> Iterator[str]:
    """What is wrong with the logs that came with bundles: an entry that is not what was given."""
    columns = (TakenBundleTable.id, TakenBundleTable.given_sha256)
    for bundle_id, expected in session.execute(select(*columns).order_by(TakenBundleTable.id)).all():
        add, found = given_hash(), hashlib.sha256().hexdigest()
        query = select(GivenChangeRow.n, GivenChangeRow.hash, GivenChangeRow.entry)
        query = query.where(GivenChangeRow.bundle_id == bundle_id).order_by(GivenChangeRow.n)
        for n, sha256, line in session.execute(query.execution_options(yield_per=1000)):
            found = add(n, sha256, line)
        if found != expected:
            yield f"The log that came with bundle TB{bundle_id} is not what was given."
