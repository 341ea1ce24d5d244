"""Getting an old finish again: what was done, what is different now, what each difference did; and why one missed."""

from __future__ import annotations

from dataclasses import dataclass

from patina.colour.values import Lab
from patina.sheets.mixing import MixSheet

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class FactRow:
    """A circumstance that was written down."""

    what: str
    value: str


@dataclass(frozen=True, slots=True)
class EffectRow:
    """A difference and what it did in this house's records. vector: mean change of L*, a*, b*, None: no data.
    half_width: 95 %, None where it is not known. comparisons: like ones it rests on; with_others: what changed
    with it each time. explains: share of a miss, None where none is asked about or there is no data."""

    what: str
    before: str
    now: str
    vector: Vector | None
    half_width: Vector | None
    comparisons: int
    with_others: tuple[str, ...]
    words: str
    explains: float | None = None


@dataclass(frozen=True, slots=True)
class PlanSheet:
    """How an old finish is got again.

    target: id; name. lab: its colour then, None where it was not read. as_done: its steps as they were
    really done. facts: what was written down. same: circumstances; blank: those that nobody wrote down
    then; unsaid: those that were, of which nothing is said for now. effects: what is different now, in the
    order of weight. tiles: to be made first, in words. mixes: what to weigh, None without an area.
    history: tiles and casts the effects rest on.
    """

    target: str
    name: str
    recipe: str
    revision: int | None
    lab: Lab | None
    as_done: tuple[str, ...]
    facts: tuple[FactRow, ...]
    same: tuple[str, ...]
    effects: tuple[EffectRow, ...]
    blank: tuple[str, ...]
    tiles: tuple[str, ...]
    mix: MixSheet | None
    history: int
    cautions: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CauseSheet:
    """Why a piece came out otherwise than a reference. miss: of L*, a*, b*, piece less reference. causes: likeliest
    first, those without data after them. blank: not written down, could explain it too.
    piece_name, reference_name: what the two are called."""

    piece: str
    reference: str
    miss: Vector
    delta_e: float
    causes: tuple[EffectRow, ...]
    blank: tuple[str, ...]
    history: int
    words: str
    piece_name: str = ""
    reference_name: str = ""
