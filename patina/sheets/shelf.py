"""Lots on the shelf and their movements."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot on the shelf. left in ``unit``; state: "", "opened", "expired" or "spent". signal_word: as
    sold; None where its classes call for none, "unknown" where nobody has said what it is."""

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
class MovementRow:
    """What went into a lot (above zero) or out of it (below); at: UTC; batch: what it was mixed into, and batch_name:
    the solution."""

    at: datetime
    amount: float
    unit: str
    why: str
    by: str
    batch: str | None
    batch_name: str = ""
