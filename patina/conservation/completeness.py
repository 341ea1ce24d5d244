"""Whether a treatment record holds what its purpose asks for, and which code or standard asks for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any

from patina.conservation.asks_examination import EXAMINATION
from patina.conservation.asks_work import WORK
from patina.conservation.record import Record
from patina.datafile import read_table, text, words
from patina.errors import Refused

PURPOSES = ("proposal", "log", "report")
TESTS: dict[str, Callable[[Record], str]] = {**EXAMINATION, **WORK}


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing that a record must hold. purposes: for which of proposal, log and report. asked_by: keys of the
    codes and standards; clause: where in them; do: what to do about it. only_with: it is asked only where the record
    holds one of these; fill: where it is written, such as "head:accession" or "image:role=before"."""

    key: str
    purposes: tuple[str, ...]
    wanted: str
    test: str
    asked_by: tuple[str, ...]
    clause: str
    do: str
    only_with: tuple[str, ...] = ()
    fill: str = ""

    def asked_of(self, record: Record) -> bool:
        """Whether a record as it stands is asked for this at all: nobody asks for the lot of what was not used."""
        return not self.only_with or any(getattr(record, many) for many in self.only_with)


@dataclass(frozen=True, slots=True)
class Missing:
    """Something a record lacks. detail: what exactly, in words."""

    ask: Ask
    detail: str


@dataclass(frozen=True, slots=True)
class Completeness:
    """What a record lacks for one purpose; complete where nothing is missing. asked: how many things are asked of the
    record as it stands."""

    purpose: str
    asked: int
    missing: tuple[Missing, ...]

    @property
    def complete(self) -> bool:
        """Whether nothing is missing."""
        return not self.missing


@cache
def asks() -> tuple[Ask, ...]:
    """Everything that is asked for, in the order of the file. Raises BadData."""
    columns: dict[str, Any] = dict.fromkeys(("key", "wanted", "test", "clause", "do", "fill"), text)
    columns |= {"purposes": words, "asked_by_source": words, "only_with": words}
    rows = read_table("documentation_asks.csv", columns)
    found = tuple(Ask(asked_by=row.pop("asked_by_source"), **row) for row in rows)
    assert all(ask.test in TESTS for ask in found), "every ask has a test"
    return found


def completeness(record: Record, purpose: str) -> Completeness:
    """What the record lacks as a proposal, as a log or as a report. Raises Refused for another purpose."""
    if purpose not in PURPOSES:
        raise Refused(f"A record is not made for '{purpose}'.", f"Use one of: {', '.join(PURPOSES)}.", field="purpose")
    for_it = [ask for ask in asks() if purpose in ask.purposes and ask.asked_of(record)]
    return Completeness(purpose, len(for_it), tuple(_missing(record, for_it)))


def _missing(record: Record, for_it: Iterable[Ask]) -> Iterable[Missing]:
    for ask in for_it:
        detail = TESTS[ask.test](record)
        if detail:
            yield Missing(ask, detail)
