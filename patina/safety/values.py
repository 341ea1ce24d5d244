"""What the safety rules hand on: frozen values, with the document that ``patina safety --json`` prints.

Nothing here computes. Every statement carries why it is made and the key of its source; what cannot be
told from the data is an :class:`Undecided`, never left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

CAUTION = (
    "Computed from the catalogue to help a person's judgement. The supplier's safety data sheet, local rules and "
    "licensed practice decide; where they say otherwise, follow them."
)


@dataclass(frozen=True, slots=True)
class ClassNote:
    """One hazard class of a solution as mixed.

    class_code: "Eye Dam. 1". h: "H318". text: the statement. why: the ingredient with its % w/w, the limit
    and the table. source: key of the bibliography. on_label: False where another statement covers it.
    """

    class_code: str
    h: str
    text: str
    why: str
    source: str
    on_label: bool = True

    def as_json(self) -> dict[str, Any]:
        """One entry of "classes"."""
        return {
            "class": self.class_code,
            "h": self.h,
            "text": self.text,
            "why": self.why,
            "source": self.source,
            "on_label": self.on_label,
        }


@dataclass(frozen=True, slots=True)
class Undecided:
    """A class that the data cannot settle. needs: what to measure or look up, and what it would decide."""

    class_code: str
    needs: str

    def as_json(self) -> dict[str, str]:
        """One entry of "undecided"."""
        return {"class": self.class_code, "needs": self.needs}


@dataclass(frozen=True, slots=True)
class SolutionSafety:
    """One pot: its classes, its label and what is not known about it.

    signal_word: "Danger", "Warning" or None. euh: codes of supplemental statements. pictograms: codes such as
    "GHS05", after precedence. statements: the H codes that go on the label. supplemental: the EUH statements
    with text and reason. density_g_ml: measured or estimated, None where it is not needed or not known.
    """

    name: str
    signal_word: str | None
    classes: tuple[ClassNote, ...]
    euh: tuple[str, ...]
    pictograms: tuple[str, ...]
    p_statements: tuple[str, ...]
    undecided: tuple[Undecided, ...]
    density_g_ml: float | None
    density_note: str
    statements: tuple[str, ...] = ()
    supplemental: tuple[ClassNote, ...] = ()
    notes: tuple[str, ...] = ()
    ph: float | None = None
    shares: tuple[tuple[str, float], ...] = ()

    def as_json(self) -> dict[str, Any]:
        """One entry of "solutions"."""
        return {
            "name": self.name,
            "signal_word": self.signal_word,
            "classes": [c.as_json() for c in self.classes],
            "euh": list(self.euh),
            "pictograms": list(self.pictograms),
            "p_statements": list(self.p_statements),
            "undecided": [u.as_json() for u in self.undecided],
            "statements": list(self.statements),
            "supplemental": [s.as_json() for s in self.supplemental],
            "notes": list(self.notes),
            "density_g_per_mL": self.density_g_ml,
            "density_note": self.density_note,
            "ph": self.ph,
            "shares_pct_ww": [{"substance": name, "pct": pct} for name, pct in self.shares],
        }


@dataclass(frozen=True, slots=True)
class Danger:
    """Two things that must not meet.

    between: what meets what. level: "critical", "serious" or "caution". instead: what to do. where: in the pot,
    between pots, on the metal, on the bench, on the shelf, in the waste. discard_within_h: hours after which the
    solution must be gone, None where no clock runs. rule: key in ``data/reactions.csv``.
    """

    between: tuple[str, str]
    consequence: str
    level: str
    instead: str
    source: str
    where: str
    discard_within_h: float | None = None
    rule: str = ""

    def as_json(self) -> dict[str, Any]:
        """One entry of "dangers"."""
        return {
            "between": list(self.between),
            "consequence": self.consequence,
            "level": self.level,
            "instead": self.instead,
            "where": self.where,
            "discard_within_h": self.discard_within_h,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class Limit:
    """One body's limit in the air. who: "NIOSH REL" ...; value: as that body writes it, with its unit."""

    who: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class Emission:
    """A gas, vapour, mist or fume that a step may give off. note: warnings, such as where smell is no alarm.
    formula: "H2S", empty for mixtures."""

    gas: str
    from_: str
    when: str
    limits: tuple[Limit, ...]
    note: str = ""
    source: str = ""
    formula: str = ""

    def as_json(self) -> dict[str, Any]:
        """One entry of "emits"."""
        return {
            "gas": self.gas,
            "formula": self.formula,
            "from": self.from_,
            "when": self.when,
            "limits": [{"who": x.who, "value": x.value, "source": x.source} for x in self.limits],
            "note": self.note,
            "source": self.source,
        }


@dataclass(frozen=True, slots=True)
class SafetySheet:
    """The safety notes of a recipe at the strength it is mixed. place: hot work, fire watch, first aid, spill."""

    solutions: tuple[SolutionSafety, ...]
    dangers: tuple[Danger, ...]
    emits: tuple[Emission, ...]
    ppe: tuple[str, ...]
    waste: tuple[str, ...]
    caution: str = CAUTION
    place: tuple[str, ...] = ()
    regime: str = "CLP"

    @property
    def critical(self) -> tuple[Danger, ...]:
        """The dangers that block a release until a named person has written why it is safe."""
        return tuple(d for d in self.dangers if d.level == "critical")

    @property
    def complete(self) -> bool:
        """False while a substance in it has no hazard information."""
        return not any(u.class_code == "all classes" for s in self.solutions for u in s.undecided)

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina safety --json`` prints."""
        return {
            "regime": self.regime,
            "solutions": [s.as_json() for s in self.solutions],
            "dangers": [d.as_json() for d in self.dangers],
            "emits": [e.as_json() for e in self.emits],
            "ppe": list(self.ppe),
            "waste": list(self.waste),
            "place": list(self.place),
            "caution": self.caution,
        }
