"""Frozen read models: everything that screens, reports and the command line receive.

Sheets hold values, never rows of the database, and compute nothing. Ids are the short ones a
person can type: R1 a recipe, T1 a tile, D1 a reading, M1 an agreed finish, C1 a cast, L1 a lot,
B1 a batch; a photograph is named by its SHA-256.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from patina.colour.difference import Difference
from patina.colour.values import AreaReading, Caution, Lab, Part, PhotoReading
from patina.recipe import Recipe
from patina.safety.values import SafetySheet

__all__ = [
    "AreaReading",
    "BatchSheet",
    "CastRow",
    "CastSheet",
    "Caution",
    "CheckSheet",
    "ComparisonSheet",
    "Difference",
    "Found",
    "Lab",
    "LotRow",
    "MasterSheet",
    "Match",
    "MixSheet",
    "MixedSolution",
    "Part",
    "PhotoReading",
    "PhotographRow",
    "PieceRow",
    "ReadingRow",
    "Recipe",
    "RecipeRow",
    "RecipeSheet",
    "RevisionRow",
    "SafetySheet",
    "TileRow",
    "TileSheet",
    "TreatmentRow",
    "VerdictSheet",
    "WeighLine",
]


@dataclass(frozen=True, slots=True)
class RecipeRow:
    """A recipe in a list. colours: the latest reading of each of its tiles, newest first."""

    id: str
    name: str
    finish: str
    alloys: tuple[str, ...]
    methods: tuple[str, ...]
    provenance: str
    revision: int
    colours: tuple[Lab, ...] = ()
    tiles: int = 0


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One revision in a recipe's history; made_at is UTC."""

    number: int
    reason: str
    by: str
    made_at: datetime


@dataclass(frozen=True, slots=True)
class RecipeSheet:
    """A recipe as it stands (or as an old revision stood), with all that hangs on it.

    version: what a deed that edits must hand back, so that nobody overwrites somebody else.
    """

    id: str
    recipe: Recipe
    revision: int
    reason: str
    by: str
    made_at: datetime
    revisions: tuple[RevisionRow, ...]
    tiles: tuple[TileRow, ...]
    version: int


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
class PhotographRow:
    """A stored photograph. name: the file name it came with. taken_at: as the camera says, local."""

    sha256: str
    name: str
    width_px: int
    height_px: int
    format: str
    bits: int
    profile: str
    taken_at: str
    camera: str
    state: str
    note: str
    added_at: datetime


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading as kept. uncertainty_de00: expanded (95 %), None where unknown."""

    id: str
    lab: Lab
    source: str
    area: str
    sd: tuple[float, float, float] | None
    n: int
    uncertainty_de00: float | None
    geometry: str
    instrument: str
    wax_state: str
    warmth: str
    read_at: datetime
    read_by: str
    photograph: str | None
    note: str
    parts: tuple[Part, ...] = ()
    tile: str | None = None
    cast: str | None = None


@dataclass(frozen=True, slots=True)
class TileRow:
    """A tile in a list. lab: its latest reading, None where it has none."""

    id: str
    engraved: str
    alloy: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    made_on: date | None
    wax_state: str
    lab: Lab | None
    parts: tuple[Part, ...] = ()
    readings: int = 0
    photographs: int = 0


@dataclass(frozen=True, slots=True)
class TileSheet:
    """A tile with how it was made, its photographs and its readings (newest first)."""

    row: TileRow
    preparation: str
    wall_mm: float | None
    size: str
    as_done: tuple[str, ...]
    made_by: str
    note: str
    batch: str | None
    photographs: tuple[PhotographRow, ...]
    readings: tuple[ReadingRow, ...]
    version: int


@dataclass(frozen=True, slots=True)
class ComparisonSheet:
    """Two colours side by side. reference and sample are named as a person would name them."""

    reference: str
    sample: str
    reference_lab: Lab
    sample_lab: Lab
    difference: Difference
    uncertainty_de00: float | None
    warnings: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class VerdictSheet:
    """Whether a sample meets an agreed finish: "pass", "fail" or "cannot be told", and why."""

    master: str
    sample: str
    verdict: str
    why: str
    comparison: ComparisonSheet
    limit_de: float


@dataclass(frozen=True, slots=True)
class MasterSheet:
    """An agreed finish."""

    id: str
    name: str
    lab: Lab
    formula: str
    limit_de: float
    limit_dL: float | None
    limit_dC: float | None
    limit_dH: float | None
    uncertainty_de00: float | None
    zone: str
    tile: str | None
    recipe_id: str | None
    recipe: str
    light: str
    geometry: str
    wax_state: str
    warmth: str
    agreed_by: str
    agreed_on: date | None
    holders: str
    next_check: date | None
    note: str


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A work and how many of its casts are on record."""

    id: str
    title: str
    maker: str
    edition: int | None
    casts: int


@dataclass(frozen=True, slots=True)
class CastRow:
    """A cast in a list. lab: its latest reading."""

    id: str
    piece: str
    piece_id: str
    number: str
    alloy: str
    owner: str
    place: str
    master: str | None
    lab: Lab | None
    treatments: int


@dataclass(frozen=True, slots=True)
class TreatmentRow:
    """One dated action on a cast."""

    id: str
    did: str
    zone: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    batch: str | None
    as_done: tuple[str, ...]
    area_m2: float | None
    done_on: date | None
    done_by: str
    note: str


@dataclass(frozen=True, slots=True)
class CastSheet:
    """A cast with its treatments (oldest first), photographs and readings (newest first)."""

    row: CastRow
    mass_g: float | None
    wall_mm: float | None
    area_m2: float | None
    cast_on: date | None
    note: str
    treatments: tuple[TreatmentRow, ...]
    photographs: tuple[PhotographRow, ...]
    readings: tuple[ReadingRow, ...]
    version: int


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot on the shelf. left in ``unit``; state: "", "opened", "expired" or "spent"."""

    id: str
    substance: str
    substance_key: str
    cas: str | None
    supplier: str
    grade: str
    lot_number: str
    assay_pct: float | None
    amount: float
    left: float
    unit: str
    opened_on: date | None
    use_by: date | None
    place: str
    price: Decimal | None
    currency: str
    state: str
    signal_word: str | None
    note: str
    version: int


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """A batch as mixed. left_ml: what the log says is left. use_until: UTC, None where it keeps."""

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


@dataclass(frozen=True, slots=True)
class Match:
    """A tile near a colour."""

    tile: str
    engraved: str
    recipe_id: str | None
    recipe: str
    revision: int | None
    lab: Lab
    delta_e: float


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What `patina check` found."""

    ok: bool
    problems: tuple[str, ...]
    records: int
    photographs: int

    def as_json(self) -> dict[str, Any]:
        """The document `patina check --json` prints."""
        return {
            "ok": self.ok,
            "problems": list(self.problems),
            "records": self.records,
            "photographs": self.photographs,
        }


@dataclass(frozen=True, slots=True)
class Found:
    """A record found by its words. kind: "recipe", "tile", "agreed finish", "piece", "cast", "lot" or "batch"."""

    kind: str
    id: str
    name: str
