"""What the events of a work come to: where it is, what was done, which pot, how long. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Protocol

# A clock is set by small steps all the time; only what a person would notice is spoken of.
CLOCK_SLACK = timedelta(seconds=2)
MOVES = ("start", "move")
FROM_JOURNAL = "from_journal"  # said of what was done while the database was out of reach
NOT_TAKEN_BACK = ("start", "back", "resume", "end")


class Event(Protocol):
    """What the state is worked out from; rows of events have it."""

    id: int
    seq: int
    kind: str
    at: datetime
    step: int
    zone: str
    batch_id: int | None
    cancels_id: int | None


@dataclass
class State:
    """Where a work stands. passes: by step and zone. pots: batch by the step at which it was named, in
    order of naming. gone: ids of events that were gone back on. last: newest event that can be."""

    step: int = 1
    zone: str = ""
    seq: int = 0
    passes: dict[tuple[int, str], int] = field(default_factory=dict)
    pots: list[int] = field(default_factory=list)
    gone: set[int] = field(default_factory=set)
    last_id: int | None = None


def state_of(events: Sequence[Event]) -> State:
    """The state after the events, which stand in order of their numbers."""
    state = State(gone={e.cancels_id for e in events if e.cancels_id is not None})
    for event in events:
        state.seq = event.seq
        if event.id in state.gone:
            continue
        if event.kind in MOVES:
            state.step, state.zone = event.step, event.zone
        elif event.kind == "pass":
            key = (event.step, event.zone)
            state.passes[key] = state.passes.get(key, 0) + 1
        elif event.kind == "pot" and event.batch_id is not None:
            state.pots.append(event.batch_id)
        if event.kind not in NOT_TAKEN_BACK:
            state.last_id = event.id
    return state


def elapsed_s(events: Sequence[Event], until: datetime | None) -> tuple[float, str]:
    """Seconds of work, and a sentence where the clock was put back during it.

    Time counts from one event to the next, in the order of their numbers, and from the last one to
    ``until``; it does not count up to a "resume" or after an "end". A clock that went back counts as
    no time, since nobody knows how much it was.
    """
    total, back = 0.0, 0
    for before, after in pairwise(events):
        gap = after.at - before.at
        if gap < -CLOCK_SLACK and not (getattr(after, "said", None) or {}).get(FROM_JOURNAL):
            back += 1  # what a journal brings was done before what others wrote meanwhile: that is no clock
        if after.kind != "resume" and before.kind != "end":
            total += max(gap.total_seconds(), 0.0)
    if until is not None and events and events[-1].kind != "end":
        gap = until - events[-1].at
        back += gap < -CLOCK_SLACK
        total += max(gap.total_seconds(), 0.0)
    said = "The clock of this machine was put back during the work: the order is right, the time is a least figure."
    return total, said if back else ""
