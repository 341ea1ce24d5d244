"""What to weigh, and batches as they were mixed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from patina.colour.values import Caution
from patina.safety.values import SafetySheet


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One thing to weigh or measure. amount and rounded in ``unit`` ("g" or "mL"); error_pct is
    what rounding to the balance's step makes of it; asked_g_per_l counts the named substance."""

    substance: str
    cas: str | None
    asked: str
    asked_g_per_l: float
    amount: float
    unit: str
    rounded: float
    error_pct: float
    achieved_g_per_l: float
    working: str
    lot: str | None = None
    key: str = ""


@dataclass(frozen=True, slots=True)
class MixedSolution:
    """One pot of a mix: how much, what to weigh, in which order."""

    name: str
    volume_ml: float
    solvent: str
    volume_is: str
    weigh: tuple[WeighLine, ...]
    order: tuple[str, ...]
    working: str
    use_within_h: float | None = None


@dataclass(frozen=True, slots=True)
class MixSheet:
    """What to weigh and what to fear for a recipe on a given area."""

    recipe: str
    recipe_id: str | None
    revision: int
    finish: str
    area_m2: float | None
    texture: float
    solutions: tuple[MixedSolution, ...]
    warnings: tuple[Caution, ...]
    safety: SafetySheet

    def as_json(self) -> dict[str, Any]:
        """The document `patina mix --json` prints."""
        return {
            "recipe": self.recipe,
            "revision": self.revision,
            "area_m2": self.area_m2,
            "texture": self.texture,
            "solutions": [_solution_json(s) for s in self.solutions],
            "warnings": [w.as_json() for w in self.warnings],
            "safety": self.safety.as_json(),
        }


def _solution_json(solution: MixedSolution) -> dict[str, Any]:
    return {
        "name": solution.name,
        "volume_mL": solution.volume_ml,
        "solvent": solution.solvent,
        "volume_is": solution.volume_is,
        "weigh": [_line_json(line) for line in solution.weigh],
        "order": list(solution.order),
        "working": solution.working,
        "use_within_h": solution.use_within_h,
    }


def _line_json(line: WeighLine) -> dict[str, Any]:
    return {
        "substance": line.substance,
        "cas": line.cas,
        "asked": line.asked,
        "asked_g_per_L": line.asked_g_per_l,
        "amount": line.amount,
        "unit": line.unit,
        "rounded": line.rounded,
        "error_pct": line.error_pct,
        "achieved_g_per_L": line.achieved_g_per_l,
        "working": line.working,
        "lot": line.lot,
    }


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """A batch as mixed. left_ml: what the log says is left. use_until: UTC, None where it keeps.

    weighed: substance, asked, amount, unit, lot. used: when (UTC), mL, what for, by whom. tiles_only: it is not
    to go on a piece. discard_by: UTC, when it must be gone because of what is in it; None where no clock runs.
    """

    id: str
    recipe_id: str
    recipe: str
    revision: int
    solution: str
    volume_ml: float
    left_ml: float
    made_at: datetime
    made_by: str
    use_until: datetime | None
    ph: float | None
    temperature_c: float | None
    water: str
    weighed: tuple[tuple[str, float, float, str, str | None], ...]
    note: str
    used: tuple[tuple[datetime, float, str, str], ...] = ()
    tiles_only: bool = False
    discard_by: datetime | None = None
    discard_why: str = ""
