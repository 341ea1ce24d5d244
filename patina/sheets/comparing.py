"""Colours side by side, agreed finishes and verdicts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from patina.colour.difference import Difference
from patina.colour.values import Caution, Lab
from patina.sheets.verdicts import FindingRow, MottleRow


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
    """Whether a sample meets an agreed finish: "pass", "fail" or "cannot be told", and why.

    comparison: of the zone that decides. chance: that its ΔE is truly inside the limit, 0 to 1, None where its
    doubt is not known. sampling_de: what identical pieces would seem apart by sampling alone. more: readings of
    that zone in all that would decide. remedy: what would decide, in words.
    sample_name: what the sample is called. missing: agreed zones not read.
    readings: ids of those judged.
    """

    master: str
    sample: str
    verdict: str
    why: str
    comparison: ComparisonSheet
    limit_de: float
    findings: tuple[FindingRow, ...] = ()
    mottle: tuple[MottleRow, ...] = ()
    chance: float | None = None
    sampling_de: float | None = None
    more: int | None = None
    remedy: str = ""
    cautions: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    sample_name: str = ""


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
    tile_name: str = ""
