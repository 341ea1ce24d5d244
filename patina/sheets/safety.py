"""The safety record: whether a recipe is released, whose data sheet was read, who was exposed to what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from patina.chemistry.substances import Substance
from patina.safety.values import CAUTION, Danger


@dataclass(frozen=True, slots=True)
class DangerAnswer:
    """Why a critical danger is safe as the work is done here: reason, who wrote it, when (UTC), for which revision."""

    reason: str
    by: str
    at: datetime
    revision: int

    def as_json(self) -> dict[str, Any]:
        """One entry of "answers"."""
        return {"reason": self.reason, "by": self.by, "at": self.at.isoformat(), "revision": self.revision}


@dataclass(frozen=True, slots=True)
class DangerToAnswer:
    """A critical danger of a revision. number: from 1, as a person names it. key: the rule and what meets what.
    answers: written for this revision, oldest first; earlier: for revisions before, to be thought over again."""

    number: int
    key: str
    danger: Danger
    answers: tuple[DangerAnswer, ...]
    earlier: tuple[DangerAnswer, ...] = ()

    @property
    def answered(self) -> bool:
        """Whether a named person has written why it is safe."""
        return bool(self.answers)


@dataclass(frozen=True, slots=True)
class ReleaseEvent:
    """A release or its taking back. at: UTC."""

    revision: int
    released: bool
    by: str
    at: datetime
    note: str


@dataclass(frozen=True, slots=True)
class RecipeRelease:
    """Where a revision stands: "draft", "released", "withdrawn", or "lapsed" (it was released, and a danger or an
    unknown substance has come up since that nobody has answered). unknown: names of substances without hazard
    information, which block a release whatever is written. words: the state in a sentence."""

    recipe_id: str
    recipe: str
    revision: int
    state: str
    words: str
    dangers: tuple[DangerToAnswer, ...]
    unknown: tuple[str, ...]
    history: tuple[ReleaseEvent, ...]
    caution: str = CAUTION

    @property
    def released(self) -> bool:
        """Whether it may be mixed for work on pieces."""
        return self.state == "released"

    @property
    def open(self) -> tuple[DangerToAnswer, ...]:
        """The critical dangers nobody has answered for this revision."""
        return tuple(d for d in self.dangers if not d.answered)

    @property
    def blocks(self) -> tuple[str, ...]:
        """What stands against a release, in sentences; empty where nothing does."""
        said = [f"Nobody has written why it is safe: {_meets(d.danger)}." for d in self.open]
        return tuple(f"{name} has no hazard information." for name in self.unknown) + tuple(said)

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina release show --json`` prints."""
        return {
            "recipe": self.recipe,
            "id": self.recipe_id,
            "revision": self.revision,
            "state": self.state,
            "words": self.words,
            "blocks": list(self.blocks),
            "unknown": list(self.unknown),
            "dangers": [
                {
                    "number": d.number,
                    "key": d.key,
                    **d.danger.as_json(),
                    "answers": [a.as_json() for a in d.answers],
                    "earlier": [a.as_json() for a in d.earlier],
                }
                for d in self.dangers
            ],
            "history": [
                {"revision": e.revision, "released": e.released, "by": e.by, "at": e.at.isoformat(), "note": e.note}
                for e in self.history
            ],
            "caution": self.caution,
        }


def _meets(danger: Danger) -> str:
    return f"{' and '.join(danger.between)} ({danger.where}): {danger.consequence}"


@dataclass(frozen=True, slots=True)
class SheetRow:
    """A safety data sheet that was read. dated: the date on it. age_years: to the day it is asked about."""

    supplier: str
    product: str
    dated: date
    read_on: date
    by: str
    note: str
    age_years: float


@dataclass(frozen=True, slots=True)
class SubstanceSheet:
    """A substance with what is on record of it. own: added in this studio. sheets: newest first. missing: what is
    not known of it, each with what that costs. cautions: what is odd. statements: code and words."""

    substance: Substance
    own: bool
    statements: tuple[str, ...]
    basis: str
    sheets: tuple[SheetRow, ...]
    missing: tuple[str, ...]
    cautions: tuple[str, ...]
    caution: str = CAUTION

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina substance show --json`` prints."""
        s = self.substance
        return {
            "key": s.key,
            "name": s.name,
            "cas": s.cas,
            "formula": s.formula or None,
            "own": self.own,
            "form": s.form,
            "density_g_per_mL": s.density_g_ml,
            "assay_pct": s.assay_pct,
            "solubility_g_per_L": s.solubility_g_per_l,
            "molar_mass_g_per_mol": s.molar_mass_g_mol,
            "hazard_basis": s.hazard_basis,
            "classes": [{"class": h.code, "h": h.h, "route": h.route or None, "source": h.source} for h in s.hazards],
            "euh": list(s.euh),
            "m_acute": s.m_acute,
            "m_chronic": s.m_chronic,
            "limits": [
                {"class": x.class_code, "h": x.h, "low_pct": x.low_pct, "high_pct": x.high_pct, "source": x.source}
                for x in s.limits
            ],
            "ate": [{"route": a.route, "value": a.value, "source": a.source} for a in s.ates],
            "gases": [{"gas": g.gas, "trigger": g.trigger, "when": g.when, "source": g.source} for g in s.gases],
            "tags": sorted(s.tags),
            "source": s.source,
            "sheets": [
                {
                    "supplier": r.supplier,
                    "product": r.product,
                    "dated": r.dated.isoformat(),
                    "read_on": r.read_on.isoformat(),
                    "by": r.by,
                    "age_years": round(r.age_years, 2),
                }
                for r in self.sheets
            ],
            "statements": list(self.statements),
            "missing": list(self.missing),
            "cautions": list(self.cautions),
            "caution": self.caution,
        }


@dataclass(frozen=True, slots=True)
class SubstanceRow:
    """A substance in a list. signal_word: as sold; "unknown" where nobody has said. sheet_dated: of the newest data
    sheet read, None where none is on record. check: why its data ask to be checked, empty where they do not."""

    key: str
    name: str
    cas: str | None
    own: bool
    hazard_basis: str
    signal_word: str | None
    source: str
    sheet_dated: date | None
    check: str


@dataclass(frozen=True, slots=True)
class ExposureRow:
    """What a person worked with in one shift. substances: names. flow_m3_h: extraction, None where not said.
    corrects: the row that this one replaces; corrected_by: the row that replaces this one."""

    id: str
    person: str
    on: date
    shift: str
    minutes: float
    recipe: str
    revision: int | None
    batch: str | None
    substances: tuple[str, ...]
    task: str
    extraction: str
    flow_m3_h: float | None
    respirator: str
    note: str
    keep_until: date
    corrects: str | None
    corrected_by: str | None
    by: str
    at: datetime

    def as_json(self) -> dict[str, Any]:
        """One entry of "exposures"."""
        return {
            "id": self.id,
            "person": self.person,
            "date": self.on.isoformat(),
            "shift": self.shift,
            "minutes": self.minutes,
            "recipe": self.recipe or None,
            "revision": self.revision,
            "batch": self.batch,
            "substances": list(self.substances),
            "task": self.task,
            "extraction": self.extraction,
            "flow_m3_per_h": self.flow_m3_h,
            "respirator": self.respirator,
            "note": self.note,
            "keep_until": self.keep_until.isoformat(),
            "corrects": self.corrects,
            "corrected_by": self.corrected_by,
            "written_by": self.by,
            "written_at": self.at.isoformat(),
        }
