"""What to weigh, and batches as they were mixed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from patina.colour.values import Caution
from patina.safety.values import SafetySheet


@dataclass(frozen=True, slots=True)
class WeighLine:
    """One thing to weigh or measure. amount and rounded in ``unit`` ("g" or "mL"); error_pct is
    what rounding to the balance's step makes of it; asked_g_per_l counts the named substance.

    share_pct: how much of the ingredient this line brings, below 100 where several lots are weighed;
    achieved_g_per_l is then what all its lines together come to. missing: the shelf lacks it. price:
    of the rounded amount, None where the lot names none. lot_words: assay, grade, place of the lot.
    """

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
    share_pct: float = 100.0
    missing: bool = False
    price: Decimal | None = None
    currency: str = ""
    lot_words: str = ""


@dataclass(frozen=True, slots=True)
class Shortage:
    """What the shelf lacks for a mix: missing in ``unit`` ("g" or "mL"), over all its pots."""

    substance: str
    key: str
    missing: float
    unit: str


@dataclass(frozen=True, slots=True)
class MixedSolution:
    """One pot of a mix: how much, what to weigh, in which order. witness_ml: part of the volume that is
    kept sealed. bottles_ml: sizes of the bottles that hold it."""

    name: str
    volume_ml: float
    solvent: str
    volume_is: str
    weigh: tuple[WeighLine, ...]
    order: tuple[str, ...]
    working: str
    use_within_h: float | None = None
    witness_ml: float = 0.0
    bottles_ml: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class MixSheet:
    """What to weigh and what to fear for a recipe on a given area.

    strength: of every ingredient, over the recipe's. deviations: in words, where it differs from the
    recipe. from_shelf: weighed from lots. short: what the shelf lacks. cost: by currency, of what is
    weighed from lots with a price; unpriced: substances whose cost is unknown.
    """

    recipe: str
    recipe_id: str | None
    revision: int
    finish: str
    area_m2: float | None
    texture: float
    solutions: tuple[MixedSolution, ...]
    warnings: tuple[Caution, ...]
    safety: SafetySheet
    strength: float = 1.0
    deviations: tuple[str, ...] = ()
    from_shelf: bool = False
    short: tuple[Shortage, ...] = ()
    cost: tuple[tuple[str, Decimal], ...] = ()
    unpriced: tuple[str, ...] = ()

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
            "strength_pct": 100 * self.strength,
            "deviations": list(self.deviations),
            "from_shelf": self.from_shelf,
            "short": [{"substance": s.substance, "missing": s.missing, "unit": s.unit} for s in self.short],
            "cost": [{"currency": currency, "amount": float(amount)} for currency, amount in self.cost],
            "cost_unknown": list(self.unpriced),
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
        "witness_mL": solution.witness_ml,
        "bottles_mL": list(solution.bottles_ml),
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
        "lot_words": line.lot_words,
        "share_pct": line.share_pct,
        "missing": line.missing,
    }


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """A batch as mixed. left_ml: what the log says is left. use_until: UTC, None where it keeps.

    weighed: substance, asked, amount, unit, lot. used: when (UTC), mL, what for, by whom. tiles_only: it is not
    to go on a piece. discard_by: UTC, when it must be gone because of what is in it; None where no clock runs.
    lot_names: what each lot is called, by its id.
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
    lot_names: tuple[tuple[str, str], ...] = ()

    def lot_name(self, id: str) -> str:
        """What a lot is called beside its id; empty where it has no name."""
        return dict(self.lot_names).get(id, "")
