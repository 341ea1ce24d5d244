"""In which order a solution is put together, in plain sentences.

Source: [PRACTICE] and the rows' own sources, in ``data/mixing_order.csv`` and ``data/mixing_never.csv``
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from patina.chemistry.substances import Substance
from patina.datafile import number, one_of, read_table, text, words

_FORBIDDEN = "Do not mix this"
_IN_STRONG_ACID = 34
_MELTED = 20
_LAST = 60


@dataclass(frozen=True, slots=True)
class _Rule:
    rank: float
    tags: tuple[str, ...]
    not_tags: tuple[str, ...]
    form: str
    text: str

    def fits(self, substance: Substance) -> bool:
        forms = {
            "any": True,
            "solid": not substance.is_liquid,
            "liquid": substance.is_liquid,
            "solution": substance.form == "solution",
        }
        return forms[self.form] and set(self.tags) <= substance.tags and not set(self.not_tags) & substance.tags


@cache
def _rules() -> tuple[_Rule, ...]:
    columns: dict[str, Callable[[str], Any]] = {
        "rank": number,
        "tags": words,
        "not_tags": words,
        "form": one_of("any", "solid", "liquid", "solution"),
        "text": text,
        "source": text,
    }
    rows = read_table("mixing_order.csv", columns)
    return tuple(_Rule(r["rank"], r["tags"], r["not_tags"], r["form"], r["text"]) for r in rows)


@cache
def _nevers() -> tuple[tuple[str, str, str], ...]:
    rows = read_table("mixing_never.csv", dict.fromkeys(("tag_a", "tag_b", "text", "source"), text))
    return tuple((r["tag_a"], r["tag_b"], r["text"]) for r in rows)


def mixing_order(
    ingredients: Sequence[Substance], solvent: Substance, volume_is: str = "made up to"
) -> tuple[str, ...]:
    """The steps of putting a solution together, in order, each a sentence.

    ingredients: what goes in (the forms on the shelf). volume_is: "made up to" or "added to".
    What must not meet is said first. It speaks of one pot only; `patina.safety` looks at the whole
    recipe.

    >>> from patina.chemistry.substances import catalogue
    >>> c = catalogue()
    >>> for line in mixing_order([c.get("nitric_acid"), c.get("cupric_nitrate_3h2o")], c.get("distilled_water")):
    ...     print(line)
    Put about three quarters of the distilled water into the pot, cold.
    Add nitric acid slowly with stirring, acid into water and never the other way.
    Stir in cupric nitrate trihydrate until it has dissolved.
    Make up to the volume with distilled water, stir, and let it come to room temperature before the last drops.
    """
    stops = _stops(ingredients)
    if any(line.startswith(_FORBIDDEN) for line in stops):
        return (*stops, "Keep them in separate pots with separate brushes, and rinse the metal between them.")
    todo = sorted(((_rule_of(s), n, s) for n, s in enumerate(ingredients)), key=lambda item: (item[0].rank, item[1]))
    lines = [(rule.rank, rule.text.format(name=substance.name)) for rule, _, substance in todo]
    if any(rank == _MELTED for rank, _ in lines):
        return (*stops, *_melted(lines, solvent.name, volume_is))
    needs_acid = any(rank == _IN_STRONG_ACID for rank, _ in lines)
    early = [line for rank, line in lines if rank < _LAST]
    late = [line for rank, line in lines if rank >= _LAST]
    return (
        *stops,
        _first(solvent.name, volume_is, needs_acid),
        *early,
        *_late(late, solvent.name),
        *_end(solvent.name, volume_is, needs_acid),
    )


def _melted(lines: list[tuple[float, str]], solvent: str, volume_is: str) -> tuple[str, ...]:
    """A wax is melted first; the solvent comes to it, away from the flame."""
    wax = [line for rank, line in lines if rank == _MELTED]
    rest = [line for rank, line in lines if rank != _MELTED]
    whole = "Fill up to the volume with" if volume_is == "made up to" else "Stir in all of"
    stirred = f"Take it away from every flame and heater, then stir in {solvent} a little at a time."
    return (*wax, stirred, *rest, f"{whole} {solvent}, and stir until it is cold.")


def _first(solvent: str, volume_is: str, needs_acid: bool) -> str:
    if needs_acid:
        return f"Put about a tenth of the {solvent} into the pot, cold."
    portion = "about three quarters of the" if volume_is == "made up to" else "the whole of the"
    return f"Put {portion} {solvent} into the pot, cold."


def _late(late: list[str], solvent: str) -> tuple[str, ...]:
    return (
        (f"Let it cool, and leave room for what is still to come before {solvent} fills the volume.", *late)
        if late
        else ()
    )


def _end(solvent: str, volume_is: str, needs_acid: bool) -> tuple[str, ...]:
    if volume_is == "made up to":
        return (
            f"Make up to the volume with {solvent}, stir, and let it come to room temperature before the last drops.",
        )
    return (f"Add the rest of the {solvent} slowly with stirring.",) if needs_acid else ()


def _rule_of(substance: Substance) -> _Rule:
    return next(rule for rule in _rules() if rule.fits(substance))


def _stops(ingredients: Sequence[Substance]) -> tuple[str, ...]:
    found: dict[tuple[str, str], str] = {}
    for tag_a, tag_b, sentence in _nevers():
        for a in ingredients:
            for b in ingredients:
                if a.key != b.key and tag_a in a.tags and tag_b in b.tags:
                    first, second = sorted((a.key, b.key))
                    found.setdefault((first, second), sentence.format(a=a.name, b=b.name))
    return tuple(found.values())
