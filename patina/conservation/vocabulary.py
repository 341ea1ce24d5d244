"""The controlled words of a treatment record: condition terms, scales, triggers of care, scope of standards."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeVar

from patina.datafile import any_text, number, one_of, optional_number, read_table, text, words
from patina.errors import NotFound


@dataclass(frozen=True, slots=True)
class Term:
    """A condition term. group: corrosion, coating, surface, structure. formula, cas: of a mineral, where it is
    one. aat: number in the Art and Architecture Thesaurus, empty where it was not seen. note: what it means."""

    key: str
    name: str
    group: str
    formula: str
    cas: str
    aat: str
    note: str
    source: str
    id_source: str


@dataclass(frozen=True, slots=True)
class Trigger:
    """What sets off care. sense: "above" or "below" (a reading beyond its limit), "words" (a finding that is one
    of ``bad``) or "months". limit: to begin with, None where the studio must say. bad: findings that set it off."""

    key: str
    name: str
    unit: str
    sense: str
    limit: float | None
    months: float
    bad: tuple[str, ...]
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a scale: its value, in words, and what it means."""

    scale: str
    value: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class Scope:
    """What a standard covers. mark: how it is recognised in a text. copper_alloys: whether readings or reports on
    a patinated copper alloy may be said to follow it."""

    key: str
    mark: str
    covers: str
    copper_alloys: bool
    instead: str
    source: str


T = TypeVar("T", Term, Trigger)


@cache
def terms() -> dict[str, Term]:
    """Condition terms by key, in the order of the file."""
    columns = {
        **dict.fromkeys(("key", "name", "group", "note", "source"), text),
        **dict.fromkeys(("formula", "cas", "aat", "id_source"), any_text),
    }
    return {row["key"]: Term(**row) for row in read_table("condition_terms.csv", columns)}


@cache
def triggers() -> dict[str, Trigger]:
    """Triggers of care by key."""
    columns = {
        **dict.fromkeys(("key", "name", "note", "source"), text),
        "unit": any_text,
        "sense": one_of("above", "below", "words", "months"),
        "limit": optional_number,
        "months": number,
        "bad": words,
    }
    return {row["key"]: Trigger(**row) for row in read_table("care_triggers.csv", columns)}


@cache
def scales() -> tuple[Step, ...]:
    """The steps of every scale of the condition map."""
    columns = dict.fromkeys(("scale", "value", "meaning", "source"), text)
    return tuple(Step(**row) for row in read_table("condition_scales.csv", columns))


@cache
def scopes() -> tuple[Scope, ...]:
    """What each standard that a record may name covers."""
    columns = {
        **dict.fromkeys(("key", "mark", "covers", "instead", "source"), text),
        "copper_alloys": lambda cell: one_of("yes", "no")(cell) == "yes",
    }
    return tuple(Scope(**row) for row in read_table("standards_scope.csv", columns))


def not_covered(words_said: str) -> tuple[Scope, ...]:
    """Standards that a text names although they do not cover a patinated copper alloy.

    >>> [scope.key for scope in not_covered("colour measured to EN 15886")]
    ['EN15886']
    >>> [scope.key for scope in not_covered("viewed as ASTM-D 1729 has it")]
    ['ASTM_D1729']
    """
    level = _squeezed(words_said)
    return tuple(scope for scope in scopes() if not scope.copper_alloys and _squeezed(scope.mark) in level)


def _squeezed(words_said: str) -> str:
    """A text without blanks and hyphens, since the marks of standards are written with and without."""
    return "".join(c for c in words_said.casefold() if not (c.isspace() or c in "-\N{NON-BREAKING HYPHEN}\N{EN DASH}"))


def find_term(said: str, field: str | None = None) -> Term:
    """A term by key or name. Raises NotFound with those that come near."""
    return _found(said, terms(), "condition term", field)


def find_trigger(said: str, field: str | None = None) -> Trigger:
    """A trigger by key or name. Raises NotFound with all there are."""
    return _found(said, triggers(), "trigger of care", field)


def _found(said: str, known: dict[str, T], what: str, field: str | None) -> T:
    level = " ".join(said.casefold().replace("_", " ").split())
    for key, one in known.items():
        if level in (key.casefold().replace("_", " "), one.name.casefold()):
            return one
    import difflib

    names = [one.name for one in known.values()]
    near = difflib.get_close_matches(level, names, 3, 0.6) or names[:12]
    raise NotFound(f"'{said}' is no {what} of the list.", f"Use one such as: {', '.join(near)}.", field=field)
