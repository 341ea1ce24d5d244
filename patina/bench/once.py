"""A deed that counts once, however often it is sent: for programs that may be cut off before the answer.

The sender makes an id before it sends the deed. The id is written with the deed, in the same
transaction; a deed whose id is there already is not done again.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar
from uuid import uuid4

from patina.errors import Contended, Refused
from patina.records.log.done_once import done_under, under_id

if TYPE_CHECKING:
    from patina.bench.studio import Studio

T = TypeVar("T")
ATTEMPTS = 6
FIRST_WAIT_S = 0.02


@dataclass(frozen=True, slots=True)
class Once(Generic[T]):
    """What became of a deed. records: ids of what it changed. result: what it returned, None where it had been
    done before this call."""

    records: tuple[str, ...]
    result: T | None
    before: bool


def new_id() -> str:
    """An id for a deed, to be kept by its sender until the answer is there."""
    return uuid4().hex


def once(studio: Studio, uid: str, deed: Callable[[], T]) -> Once[T]:
    """Do a deed that is one transaction, unless it was done under this id before.

    Where the database let it give way to another, it is done again, a few times. Raises Refused for an id
    that is none, and whatever the deed raises: Unreachable above all, after which the same id is sent again.
    """
    if len(uid) != 32 or not set(uid) <= set("0123456789abcdef"):
        raise Refused(f"'{uid}' is no id of a deed.", "Make one with new_id: 32 hexadecimal figures.")
    for attempt in range(1, ATTEMPTS + 1):
        with studio.store.view() as session:
            found = done_under(session, uid)
        if found is not None:
            return Once(found, None, True)
        try:
            with under_id(uid):
                result = deed()
        except Contended:
            if attempt == ATTEMPTS:
                raise
            time.sleep(FIRST_WAIT_S * 2**attempt * random.uniform(0.5, 1.5))
            continue
        with studio.store.view() as session:
            return Once(done_under(session, uid) or (), result, False)
    raise AssertionError("every attempt returns or raises")
