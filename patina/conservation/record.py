"""A treatment record as a whole: what it says of itself, and its parts in the order they were written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import date, datetime
from typing import Any, Generic, TypeVar

from patina.conservation.kinds import KINDS, Kind
from patina.conservation.values import (
    Action,
    Authority,
    Bath,
    BathReading,
    CareEnd,
    CareItem,
    CareVisit,
    ConditionMap,
    Copy,
    Head,
    Image,
    Layer,
    Material,
    Patch,
    Person,
    Proposal,
    Sample,
    Signature,
    Statement,
    Zone,
)

P = TypeVar("P", covariant=True)


@dataclass(frozen=True, slots=True)
class Kept(Generic[P]):
    """A part as it is kept. at, by: when and by whom it was written. replaces: the part that it corrects, with
    the reason. number: of a proposal, its version; 0 for every other kind. sha256: of a signature, the hash of
    what was signed. uid: the same in every studio that the record is moved to; refs: of each field that refers to
    another record, its uid."""

    id: str
    value: P
    at: datetime
    by: str
    replaces: str | None = None
    reason: str = ""
    number: int = 0
    sha256: str = ""
    uid: str = ""
    refs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class ObjectFacts:
    """What the studio's records say of the object. height_mm, area_m2: None where unknown."""

    cast: str
    title: str
    maker: str
    number: str
    edition: int | None
    alloy: str
    owner: str
    place: str
    height_mm: float | None
    area_m2: float | None


@dataclass(frozen=True, slots=True)
class SignedOff:
    """Who signed the record off as a whole, and when."""

    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Record:
    """Everything that was written down of one treatment. Parts that were corrected or taken back stand in
    ``earlier``, as (the part, what became of it). uid, cast_uid: of the record and its cast, in every studio.
    signed_off: None while the record may still be written in."""

    id: str
    head: Head
    object: ObjectFacts
    version: int
    begun_at: datetime
    people: tuple[Kept[Person], ...] = ()
    authorities: tuple[Kept[Authority], ...] = ()
    statements: tuple[Kept[Statement], ...] = ()
    maps: tuple[Kept[ConditionMap], ...] = ()
    zones: tuple[Kept[Zone], ...] = ()
    proposals: tuple[Kept[Proposal], ...] = ()
    patches: tuple[Kept[Patch], ...] = ()
    actions: tuple[Kept[Action], ...] = ()
    materials: tuple[Kept[Material], ...] = ()
    samples: tuple[Kept[Sample], ...] = ()
    baths: tuple[Kept[Bath], ...] = ()
    bath_readings: tuple[Kept[BathReading], ...] = ()
    layers: tuple[Kept[Layer], ...] = ()
    images: tuple[Kept[Image], ...] = ()
    care: tuple[Kept[CareItem], ...] = ()
    care_visits: tuple[Kept[CareVisit], ...] = ()
    care_ends: tuple[Kept[CareEnd], ...] = ()
    signatures: tuple[Kept[Signature], ...] = ()
    copies: tuple[Kept[Copy], ...] = ()
    earlier: tuple[tuple[Kept[Any], str], ...] = ()
    uid: str = ""
    cast_uid: str = ""
    signed_off: SignedOff | None = None

    def parts(self, kind: Kind) -> tuple[Kept[Any], ...]:
        """The parts of a kind that stand."""
        parts: tuple[Kept[Any], ...] = getattr(self, kind.many)
        return parts

    def all_parts(self) -> Iterator[tuple[Kind, Kept[Any]]]:
        """Every part that stands, in the order of the work."""
        for kind in KINDS:
            for part in self.parts(kind):
                yield kind, part

    @property
    def observations(self) -> tuple[Kept[Statement], ...]:
        """What was seen."""
        return tuple(s for s in self.statements if s.value.sort == "observation")

    @property
    def interpretations(self) -> tuple[Kept[Statement], ...]:
        """What was concluded."""
        return tuple(s for s in self.statements if s.value.sort == "interpretation")

    @property
    def owner(self) -> str:
        """The owner: as the treatment says, else as the cast says."""
        return self.head.owner or self.object.owner


def plain(value: Any) -> Any:
    """A value of the record as JSON has it: mappings, lists, texts, numbers.

    >>> plain((date(2026, 3, 14), None, 1.5))
    ['2026-03-14', None, 1.5]
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    if isinstance(value, dict):
        return {str(key): plain(one) for key, one in value.items()}
    return value.isoformat() if isinstance(value, date) else value
