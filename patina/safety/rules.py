"""The thresholds of the mixture rules, read from data files, and the comparisons made with them.

Source: [CLP_ANNEX_I] [GHS_REV11] [HCS_APP_A], each row its own
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from patina.chemistry.substances import SpecificLimit, Substance
from patina.datafile import Parser, any_text, number, optional_number, read_table, text
from patina.errors import NotFound

REGIMES = ("CLP", "HCS")
TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class RuleLimit:
    """One threshold: value in ``unit``; table: what prints it."""

    key: str
    value: float
    unit: str
    table: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class CutOff:
    """A class passed on by one ingredient alone, from low_pct (included) to high_pct (excluded)."""

    ingredient: str
    mixture: str
    low_pct: float
    high_pct: float | None
    h: str
    table: str
    source: str


@dataclass(frozen=True, slots=True)
class AcuteBand:
    """One category of acute toxicity by one route: upper end and converted point estimate, in ``unit``."""

    route: str
    category: int
    upper: float
    converted: float
    unit: str
    h: str
    source: str


@dataclass(frozen=True, slots=True)
class Share:
    """One ingredient of a mixture with its share in % w/w (all lots of it together)."""

    substance: Substance
    pct: float


@dataclass(frozen=True, slots=True)
class Finding:
    """One class found. family: what it competes in; rank: 0 is the most severe of the family. names: ingredients
    that the statement must name."""

    family: str
    rank: int
    code: str
    h: str
    why: str
    source: str
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Open:
    """A class that cannot be settled: what it needs."""

    family: str
    rank: int
    code: str
    needs: str


@dataclass(slots=True)
class Findings:
    """What one part of the rules found. Grows while the rules run; never handed out."""

    found: list[Finding]
    open: list[Open]
    notes: list[str]

    @classmethod
    def none(cls) -> Findings:
        """Nothing found yet."""
        return cls([], [], [])

    def add(self, other: Findings) -> None:
        """Takes in what another part of the rules found."""
        self.found += other.found
        self.open += other.open
        self.notes += other.notes


@cache
def _limits() -> dict[tuple[str, str], RuleLimit]:
    columns = {
        "key": text,
        "regime": text,
        "value": number,
        "unit": text,
        "table": text,
        "meaning": text,
        "source": text,
    }
    found: dict[tuple[str, str], RuleLimit] = {}
    for row in read_table("mixture_limits.csv", columns):
        regime = row.pop("regime")
        for name in REGIMES if regime == "both" else (regime,):
            found[(row["key"], name)] = RuleLimit(**row)
    return found


def limit(key: str, regime: str = "CLP") -> RuleLimit:
    """One threshold of one regime ("CLP" or "HCS"). Raises NotFound where the regime has none.

    >>> limit("skin.corrosive_sum").value, limit("skin.corrosive_sum").table
    (5.0, 'Table 3.2.3')
    """
    try:
        return _limits()[(key, regime)]
    except KeyError:
        raise NotFound(f"The {regime} rules have no threshold '{key}'.", "Choose CLP or HCS, or add the row.") from None


@cache
def cut_offs(regime: str) -> dict[str, tuple[CutOff, ...]]:
    """Classes that one ingredient passes on alone, by the ingredient's class."""
    columns = {
        "regime": text,
        "ingredient": text,
        "mixture": text,
        "low_pct": number,
        "high_pct": optional_number,
        "h": any_text,
        "table": text,
        "source": text,
    }
    found: dict[str, tuple[CutOff, ...]] = {}
    for row in read_table("mixture_cutoffs.csv", columns):
        if row.pop("regime") == regime:
            found[row["ingredient"]] = (*found.get(row["ingredient"], ()), CutOff(**row))
    return found


@cache
def acute_bands(route: str) -> tuple[AcuteBand, ...]:
    """The four categories of one route, most toxic first."""
    columns: dict[str, Parser] = {
        "route": text,
        "category": int,
        "upper": number,
        "converted": number,
        "unit": text,
        "h": text,
        "source": text,
    }
    rows = [AcuteBand(**row) for row in read_table("acute_bands.csv", columns)]
    return tuple(sorted((r for r in rows if r.route == route), key=lambda r: r.category))


@cache
def _counted() -> dict[str, tuple[str, str]]:
    rows = read_table("counted_as.csv", {"ion": text, "note": text, "limits": text, "source": text})
    return {row["ion"]: (row["note"], row["limits"]) for row in rows}


def counted_pct(share: Share, *, stated: bool) -> tuple[float, str]:
    """What a concentration limit counts of an ingredient, in % w/w, and a word on it where it is a part only.

    stated: True for a specific limit of the entry, False for a generic one (Notes 1 and 3 of Annex VI differ).
    Source: [CLP_ANNEX_VI] 1.1.3
    """
    ion = share.substance.limit_ion
    note, which = _counted().get(ion, ("", "stated"))
    if not ion or (which == "stated" and not stated):
        return share.pct, ""
    pct = share.pct * share.substance.limit_factor
    return pct, f" counted as {ion} {show(pct)} % ({note or 'note of the entry'})"


def reaches(value: float, bound: float) -> bool:
    """At or above a bound, blind to rounding in the last digits."""
    return value >= bound * (1 - TOLERANCE)


def within(value: float, bound: float) -> bool:
    """At or below a bound, blind to rounding in the last digits."""
    return value <= bound * (1 + TOLERANCE)


def in_band(value: float, low: float, high: float | None) -> bool:
    """From low (included) to high (excluded, or no upper end)."""
    return reaches(value, low) and (high is None or not reaches(value, high))


def show(pct: float) -> str:
    """A share for a sentence: three figures, no exponent.

    >>> show(4.7769), show(0.0123), show(12.5)
    ('4.78', '0.0123', '12.5')
    """
    if pct == 0 or abs(pct) >= 100:
        return f"{pct:.0f}"
    return f"{float(f'{pct:.3g}'):.10f}".rstrip("0").rstrip(".")


def named(shares: Iterable[Share]) -> str:
    """Ingredients with their shares: "cupric sulfate pentahydrate 4.78 %"."""
    return ", ".join(f"{s.substance.name} {show(s.pct)} %" for s in shares)


def classes_of(substance: Substance, *stems: str) -> tuple[str, ...]:
    """The substance's class codes that begin with one of the stems."""
    return tuple(h.code for h in substance.hazards if h.code.startswith(stems))


def specific(substance: Substance, *stems: str) -> tuple[SpecificLimit, ...]:
    """The substance's own concentration limits for classes that begin with one of the stems."""
    return tuple(x for x in substance.limits if x.class_code.startswith(stems))


def lowest(limits: Sequence[SpecificLimit]) -> float | None:
    """Where the lowest of some specific limits begins, in % w/w; None where there is none."""
    return min((x.low_pct for x in limits), default=None)
