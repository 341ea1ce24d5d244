"""A conservator's treatment as it is shown: the record, and all that was worked out from it, in one value."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from patina.colour.difference import Difference
from patina.colour.values import Caution
from patina.conservation.care import CareStatus
from patina.conservation.completeness import Completeness
from patina.conservation.condition import MapChange, MapShares
from patina.conservation.consent import Flag
from patina.conservation.images import ImagePair
from patina.conservation.kinds import Kind
from patina.conservation.patches import PatchFinding
from patina.conservation.record import Kept, Record, plain
from patina.conservation.salts import Extraction
from patina.conservation.signed import Signed
from patina.sheets.casts import TreatmentRow
from patina.sheets.shelf import LotRow
from patina.sheets.tiles import PhotographRow, ReadingRow

__all__ = [
    "CareRow",
    "CareStatus",
    "Completeness",
    "Extraction",
    "Flag",
    "ImageComparison",
    "ImagePair",
    "Kept",
    "Kind",
    "LayerFacts",
    "MapChange",
    "MapShares",
    "MaterialFacts",
    "PatchChange",
    "PatchFinding",
    "Record",
    "Signed",
    "TreatmentHeadRow",
    "TreatmentSheet",
    "WrittenPart",
]


@dataclass(frozen=True, slots=True)
class TreatmentHeadRow:
    """A treatment in a list. number: of the cast."""

    id: str
    name: str
    cast: str
    title: str
    number: str
    owner: str
    started_on: date | None
    finished_on: date | None
    documenter: str


@dataclass(frozen=True, slots=True)
class LayerFacts:
    """What a layer of protection comes to. g_per_m2: weight used over area, all coats together; per_coat: over
    coats too. dew_c, margin_k: dew point in °C and metal above it in K; dry: whether that was enough. None where
    the layer does not say what it takes; dew_words says so."""

    id: str
    g_per_m2: float | None
    per_coat_g_per_m2: float | None
    dew_c: float | None
    margin_k: float | None
    dry: bool | None
    dew_words: str


@dataclass(frozen=True, slots=True)
class MaterialFacts:
    """What is known of a material or layer from the record, the lot on the shelf and the catalogue together."""

    id: str
    name: str
    substance: str
    cas: str
    supplier: str
    lot: str
    grade: str
    composition: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PatchChange:
    """The colour of a test patch before and after. difference: None where it cannot be given; words: why, or the
    difference in words."""

    patch: str
    difference: Difference | None
    words: str


@dataclass(frozen=True, slots=True)
class ImageComparison:
    """Two photographs of one view held against each other. comparable: nothing speaks against it; cautions: what
    does; words: where they cannot even be laid over each other, why."""

    view: str
    before: str
    after: str
    comparable: bool
    cautions: tuple[Caution, ...]
    words: str


@dataclass(frozen=True, slots=True)
class CareRow:
    """A point of a care schedule in the list of what is due. treatment, name: whose schedule it stands in. later: id
    and name of each later treatment of the same object, whose schedule may have taken its place."""

    treatment: str
    cast: str
    title: str
    number: str
    owner: str
    status: CareStatus
    name: str
    later: tuple[tuple[str, str], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """As ``patina care --json`` prints it."""
        status = self.status
        return {
            "treatment": self.treatment,
            "treatment_name": self.name,
            "later_treatments": [{"id": id, "name": name} for id, name in self.later],
            "cast": self.cast,
            "title": self.title,
            "number": self.number,
            "owner": self.owner,
            "item": status.item.id,
            "trigger": status.trigger.key,
            "task": status.item.value.task,
            "responsible": status.item.value.responsible,
            "next_on": status.next_on.isoformat(),
            "days": status.days,
            "state": status.state,
            "why": status.why,
        }


@dataclass(frozen=True, slots=True)
class TreatmentSheet:
    """A treatment in full. record: everything that was written down. All else is worked out from it: areas of the
    condition maps and their change, the lowest effective test patch, how far salts are out, layers in g/m² with
    their dew margin, what is open about consent, what was signed by whom and what by nobody, what is
    missing by purpose, care that is due on ``today``. earlier_care: points of treatments before it that still remind.

    photographs, readings: of the cast. lots: those that materials and layers name. studio_work: what was put down
    on the cast itself (patinated, waxed) while the treatment lasted, with its recipe and pot. hours: of all actions
    together; None where none says its hours.
    """

    record: Record
    today: date
    maps: tuple[MapShares, ...]
    changes: tuple[MapChange, ...]
    patches: PatchFinding
    patch_changes: tuple[PatchChange, ...]
    extractions: tuple[Extraction, ...]
    layers: tuple[LayerFacts, ...]
    materials: tuple[MaterialFacts, ...]
    care: tuple[CareStatus, ...]
    flags: tuple[Flag, ...]
    completeness: tuple[Completeness, ...]
    pairs: tuple[ImagePair, ...]
    unsigned: tuple[str, ...]
    signed: tuple[Signed, ...]
    photographs: tuple[PhotographRow, ...]
    readings: tuple[ReadingRow, ...]
    lots: tuple[LotRow, ...]
    studio_work: tuple[TreatmentRow, ...] = ()
    hours: float | None = None
    earlier_care: tuple[CareRow, ...] = ()

    @property
    def id(self) -> str:
        """What a person types."""
        return self.record.id

    def complete_for(self, purpose: str) -> Completeness:
        """What is missing for one purpose."""
        return next(c for c in self.completeness if c.purpose == purpose)

    def as_json(self) -> dict[str, Any]:
        """As ``patina treatment show --json`` prints it."""
        record = plain(self.record)
        record.pop("earlier")
        return {
            **record,
            "earlier": [{"part": plain(part), "became": became} for part, became in self.record.earlier],
            "map_shares": plain(self.maps),
            "map_changes": plain(self.changes),
            "lowest_effective": plain(self.patches),
            "patch_changes": [
                {"patch": p.patch, "delta_e": None if p.difference is None else p.difference.delta_e, "words": p.words}
                for p in self.patch_changes
            ],
            "extractions": plain(self.extractions),
            "layer_facts": plain(self.layers),
            "material_facts": plain(self.materials),
            "care_state": [
                {"item": s.item.id, "state": s.state, "next_on": s.next_on.isoformat(), "days": s.days, "why": s.why}
                for s in self.care
            ],
            "earlier_care": [row.as_json() for row in self.earlier_care],
            "consent_flags": plain(self.flags),
            "signatures_no_longer_valid": list(self.unsigned),
            "signed": plain(self.signed),
            "completeness": [
                {
                    "purpose": c.purpose,
                    "complete": c.complete,
                    "asked": c.asked,
                    "missing": [
                        {
                            "what": m.ask.wanted,
                            "detail": m.detail,
                            "asked_by": list(m.ask.asked_by),
                            "clause": m.ask.clause,
                            "do": m.ask.do,
                            "fill": m.ask.fill,
                        }
                        for m in c.missing
                    ],
                }
                for c in self.completeness
            ],
            "hours": self.hours,
            "studio_work": plain(self.studio_work),
            "image_pairs": [
                {"view": p.view, "before": p.before.id, "after": p.after.id, "cautions": list(p.cautions)}
                for p in self.pairs
            ],
        }


@dataclass(frozen=True, slots=True)
class WrittenPart:
    """A part that was just written: its id, and the treatment as it stands now."""

    id: str
    sheet: TreatmentSheet
