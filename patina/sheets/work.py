"""The work on a piece: what is to be done, what was done, and what it says of the pot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any


@dataclass(frozen=True, slots=True)
class ZoneRow:
    """A part of the piece that ends at a seam. area_m2: plain area, None where nobody has measured it."""

    name: str
    area_m2: float | None


@dataclass(frozen=True, slots=True)
class WorkStep:
    """A step as the recipe asks for it. number: from 1. window_c: lowest and highest surface
    temperature. planned_ml_m2: taken from the pot per m² and pass, texture and transfer counted;
    None where the recipe does not say. done: passes so far by zone, in the order of the zones."""

    number: int
    do: str
    solution: str | None
    method: str | None
    tool: str
    note: str
    passes: int
    window_c: tuple[float, float] | None
    coverage_ml_m2: float | None
    planned_ml_m2: float | None
    done: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class WorkEvent:
    """One thing that happened. kind: "start", "pass", "level", "temperature", "note", "move", "pot",
    "rinse", "air", "release", "coat", "hours", "back", "end" or "resume". cancelled: gone back on. batch_name: the
    solution in the pot."""

    id: str
    seq: int
    kind: str
    at: datetime
    by: str
    step: int
    zone: str
    pass_number: int | None
    batch: str | None
    left_ml: float | None
    used_ml: float | None
    true_c: float | None
    cancels: str | None
    note: str
    said: Mapping[str, Any]
    cancelled: bool
    batch_name: str = ""


@dataclass(frozen=True, slots=True)
class PotRow:
    """The pot that a step works from. left_ml: by the last figure written down. past: its time is over.
    cautions: what else is to be said of it."""

    batch: str
    solution: str
    volume_ml: float
    left_ml: float
    use_until: datetime | None
    past: bool
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkRow:
    """A work in a list. target: T1 or C1; target_name: what it is called. passes: done in all."""

    id: str
    target: str
    target_name: str
    recipe_id: str
    recipe: str
    revision: int
    by: str
    started_at: datetime
    ended_at: datetime | None
    passes: int


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """A work with all that happened. seq: number of the last event. step, zone: where the work is.
    elapsed_s: of work, taken from the events; a clock put back counts as no time. clock_note: said
    where that happened. alloy, wall_mm: of the piece. pot: of the step, None where none is named."""

    row: WorkRow
    zones: tuple[ZoneRow, ...]
    steps: tuple[WorkStep, ...]
    events: tuple[WorkEvent, ...]
    seq: int
    step: int
    zone: str
    tool: str
    place: str
    air_c: float | None
    air_rh_pct: float | None
    thermometer: Mapping[str, Any]
    texture: float
    reserve: float
    dead_ml: float
    alloy: str
    wall_mm: float | None
    elapsed_s: float
    clock_note: str
    pot: PotRow | None
    note: str
    version: int

    @property
    def here(self) -> WorkStep:
        """The step the work is at."""
        return self.steps[self.step - 1]

    @property
    def zone_at(self) -> int:
        """Place of the zone in the order of working, from 0."""
        return next(n for n, z in enumerate(self.zones) if z.name == self.zone)

    @property
    def passes_done(self) -> int:
        """Passes of this step in this zone."""
        return self.here.done[self.zone_at]

    @property
    def passes_to_go(self) -> int:
        """Passes that the recipe still asks for in this zone; 0 where as many or more were done."""
        return max(self.here.passes - self.passes_done, 0)

    @property
    def last_temperature(self) -> WorkEvent | None:
        """The newest temperature that stands."""
        found = (e for e in reversed(self.events) if e.kind == "temperature" and not e.cancelled)
        return next(found, None)

    @property
    def last(self) -> WorkEvent | None:
        """The newest event that stands and can be gone back on."""
        return next((e for e in reversed(self.events) if not e.cancelled and e.kind not in ("back", "start")), None)


@dataclass(frozen=True, slots=True)
class UseLine:
    """Planned against used for one solution of one work. area passes: m² × passes that were measured.
    planned_ml, used_ml: for those. used_ml_m2: per m² and pass, None where nothing was measured.
    texture: the factor that makes both agree, None where the recipe names no coverage."""

    work: str
    recipe: str
    revision: int
    solution: str
    tool: str
    by: str
    work_m2: float
    planned_ml: float | None
    used_ml: float
    used_ml_m2: float | None
    texture: float | None
    words: str


@dataclass(frozen=True, slots=True)
class LearntLine:
    """What past works teach of one recipe's solution. mean, low, high: mL per m² and pass; low and
    high None where only one work is known. works: which."""

    recipe: str
    solution: str
    tool: str
    by: str
    mean: float | None
    low: float | None
    high: float | None
    spread_pct: float | None
    texture: float | None
    works: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class StripSheet:
    """A batch's strip checks and what they say. solution: what is in the pot. checks: age in h, seconds,
    °C or None, when, by whom. curve: age in h and expected seconds, for a drawing; empty where no curve is known."""

    batch: str
    checks: tuple[tuple[float, float, float | None, datetime, str], ...]
    age_h: float
    advice: str
    why: str
    doubling_h: float | None
    spread_factor: float | None
    curve: tuple[tuple[float, float], ...]
    solution: str = ""


@dataclass(frozen=True, slots=True)
class DrumRow:
    """A waste drum as it stands since it was last fetched. contents: what went in, newest last.
    never_with: what must never join it. fetched: when it was fetched before, and what is written about it."""

    drum: str
    volume_ml: float
    mass_g: float
    substances: tuple[str, ...]
    contents: tuple[str, ...]
    never_with: tuple[str, ...]
    fetched: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """One entry of ``patina waste list --json``."""
        return {
            "drum": self.drum,
            "volume_ml": self.volume_ml,
            "mass_g": self.mass_g,
            "substances": list(self.substances),
            "contents": list(self.contents),
            "never_with": list(self.never_with),
            "fetched": list(self.fetched),
        }


@dataclass(frozen=True, slots=True)
class ReleaseSheet:
    """Whether wax may go on. missing: readings still to be taken. against: what speaks against it.
    asked: readings it rests on, in words. overruled: why wax went on all the same, by whom."""

    given: bool
    missing: tuple[str, ...]
    against: tuple[str, ...]
    asked: tuple[str, ...]
    chloride_used: bool
    words: str
