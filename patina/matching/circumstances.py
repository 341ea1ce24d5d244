"""What two makings of one finish share and do not share, and what each difference did in this house.

Used before a piece is torched (what has changed since the last cast, which tiles are needed) and
after it came out wrong (what may have caused it).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from patina.colour.values import Lab
from patina.datafile import Parser, read_table, text, yes_or_no
from patina.errors import BadQuantity
from patina.matching.verdict import student_t

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Circumstance:
    """Something that may differ. key: field name; words: in the trade's words; tile: a change asks for a tile first."""

    key: str
    words: str
    tile: bool
    source: str


@cache
def known_circumstances() -> Mapping[str, Circumstance]:
    """All circumstances by key, most telling first. Source: [PRACTICE]."""
    columns: dict[str, Parser] = {"key": text, "words": text, "tile": yes_or_no, "source": text}
    return {row["key"]: Circumstance(**row) for row in read_table("circumstances.csv", columns)}


@dataclass(frozen=True, slots=True)
class Making:
    """A piece or tile as it was made. name: "6/9"; facts: circumstance key to value, blank or absent where
    not written down; lab: the colour it got, or None."""

    name: str
    facts: Mapping[str, str]
    lab: Lab | None = None

    def fact(self, key: str) -> str:
        """The value of a circumstance, "" where it was not written down."""
        return str(self.facts.get(key, "")).strip()


@dataclass(frozen=True, slots=True)
class Changed:
    """A circumstance that differs. before, now: its values."""

    key: str
    words: str
    before: str
    now: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two makings side by side. same, blank: keys of circumstances; different: what changed; tiles: changes that
    ask for a test tile before torching; words: the whole for a person."""

    same: tuple[str, ...]
    different: tuple[Changed, ...]
    blank: tuple[str, ...]
    tiles: tuple[Changed, ...]
    words: str


def compare_makings(before: Making, now: Making) -> Comparison:
    """What a making shares with an earlier one, what differs, and what was not written down in one of them."""
    same, blank, different = [], [], []
    table = known_circumstances()
    keys = [*table, *(k for k in {**before.facts, **now.facts} if k not in table)]
    for key in keys:
        a, b = before.fact(key), now.fact(key)
        if not a or not b:
            blank.append(key)
        elif a.casefold() == b.casefold():
            same.append(key)
        else:
            different.append(Changed(key, _words(key), a, b))
    tiles = tuple(c for c in different if c.key not in table or table[c.key].tile)
    return Comparison(tuple(same), tuple(different), tuple(blank), tiles, _say(before, now, different, blank, tiles))


def _words(key: str) -> str:
    known = known_circumstances().get(key)
    return known.words if known else key.replace("_", " ")


def _say(
    before: Making, now: Making, different: Sequence[Changed], blank: Sequence[str], tiles: Sequence[Changed]
) -> str:
    said = [f"{now.name} against {before.name}:"]
    if different:
        said.append("; ".join(f"{c.words} {c.before} → {c.now}" for c in different) + ".")
    else:
        said.append("nothing written down differs.")
    if blank:
        said.append(f"Not written down for both: {', '.join(_words(k) for k in blank)}.")
    if tiles:
        said.append(f"Make a tile first for: {', '.join(c.words for c in tiles)}.")
    return " ".join(said)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a change did in this house's own records.

    vector: mean change of L*, a*, b*, None where there is no data. half_width: its 95 % half-width,
    None where one comparison only. comparisons: matched groups it rests on. with_others:
    circumstances that changed together with it, so that the effect may be theirs. words.
    """

    change: Changed
    vector: Vector | None
    half_width: Vector | None
    comparisons: int
    with_others: tuple[str, ...]
    words: str


def effect_of(change: Changed, history: Sequence[Making]) -> Effect:
    """The effect of one change, from makings that differ in it.

    history: makings of the same recipe with their colours. Makings alike in everything else that is
    written down are compared first; where there are none, all makings with the one value against all
    with the other, naming what changed with it. Either direction of the change counts.
    Source: matched comparison, Student's t [CALC].
    """
    one = [m for m in history if m.lab and m.fact(change.key).casefold() == change.before.casefold()]
    two = [m for m in history if m.lab and m.fact(change.key).casefold() == change.now.casefold()]
    if not one or not two:
        return Effect(change, None, None, 0, (), f"{_arrow(change)}: no data.")
    matched = _matched(change.key, one, two)
    if matched:
        mean, half = _mean_and_half(matched)
        return Effect(change, mean, half, len(matched), (), _told(change, mean, half, len(matched), ()))
    others = _together(change.key, one, two)
    mean = _minus(_mean(two), _mean(one))
    half = _two_sample(one, two)
    return Effect(change, mean, half, 1, others, _told(change, mean, half, 1, others))


def _arrow(change: Changed) -> str:
    return f"{change.words} {change.before} → {change.now}"


def _rest(key: str, making: Making) -> tuple[tuple[str, str], ...]:
    return tuple(sorted((k, making.fact(k).casefold()) for k in making.facts if k != key and making.fact(k)))


def _matched(key: str, one: Sequence[Making], two: Sequence[Making]) -> list[Vector]:
    """Differences of group means between makings that are alike in all else."""
    groups: dict[tuple[tuple[str, str], ...], tuple[list[Making], list[Making]]] = {}
    for side, makings in ((0, one), (1, two)):
        for making in makings:
            groups.setdefault(_rest(key, making), ([], []))[side].append(making)
    return [_minus(_mean(b), _mean(a)) for a, b in groups.values() if a and b]


def _together(key: str, one: Sequence[Making], two: Sequence[Making]) -> tuple[str, ...]:
    keys = {k for m in (*one, *two) for k in m.facts if k != key}
    values = {k: ({m.fact(k).casefold() for m in one}, {m.fact(k).casefold() for m in two}) for k in keys}
    return tuple(sorted(_words(k) for k, (a, b) in values.items() if a != b))


def _mean(makings: Sequence[Making]) -> Vector:
    labs = [m.lab for m in makings if m.lab]
    n = len(labs)
    return math.fsum(x.L for x in labs) / n, math.fsum(x.a for x in labs) / n, math.fsum(x.b for x in labs) / n


def _minus(a: Vector, b: Vector) -> Vector:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


def _mean_and_half(rows: Sequence[Vector]) -> tuple[Vector, Vector | None]:
    n = len(rows)
    columns = [[row[c] for row in rows] for c in range(3)]
    mean = (statistics.fmean(columns[0]), statistics.fmean(columns[1]), statistics.fmean(columns[2]))
    if n < 2:
        return mean, None
    half = [student_t(n - 1) * statistics.stdev(column) / math.sqrt(n) for column in columns]
    return mean, (half[0], half[1], half[2])


def _two_sample(one: Sequence[Making], two: Sequence[Making]) -> Vector | None:
    n, m = len(one), len(two)
    if n < 2 or m < 2:
        return None
    half = []
    for c in ("L", "a", "b"):
        va, vb = (statistics.variance([getattr(x.lab, c) for x in side]) / len(side) for side in (one, two))
        df = (va + vb) ** 2 / (va**2 / (n - 1) + vb**2 / (m - 1)) if va + vb > 0 else n + m - 2
        half.append(student_t(df) * math.sqrt(va + vb))
    return half[0], half[1], half[2]


def _told(change: Changed, mean: Vector, half: Vector | None, comparisons: int, others: Sequence[str]) -> str:
    listed = ", ".join(f"{n} {v:+.1f}" for n, v in zip(("L*", "a*", "b*"), mean, strict=True))
    doubt = "how sure is not known" if half is None else "± " + ", ".join(f"{h:.1f}" for h in half)
    base = f"{comparisons} like comparison{'s' if comparisons > 1 else ''}" if not others else "unlike makings"
    tail = f"; may be due to {', '.join(others)} as well" if others else ""
    return f"{_arrow(change)}: {listed} ({doubt}; {base}{tail})."


@dataclass(frozen=True, slots=True)
class Cause:
    """A difference that may explain a miss. explains: share of the miss along its own direction (1: all of it; below 0:
    it works the other way), None without data."""

    effect: Effect
    explains: float | None


@dataclass(frozen=True, slots=True)
class CauseList:
    """Causes, likeliest first; those without data after them; then fields left blank that could explain it too."""

    miss: Vector
    causes: tuple[Cause, ...]
    blank: tuple[str, ...]
    words: str


def find_causes(reference: Making, piece: Making, history: Sequence[Making]) -> CauseList:
    """What may have made a piece differ from the reference, ranked by what each difference did before.

    history: other makings of the recipe with colours; reference and piece themselves are left out.
    Raises BadQuantity where reference or piece has no colour.
    """
    if reference.lab is None or piece.lab is None:
        raise BadQuantity("A miss needs the colours of both pieces.", "Read reference and piece first.")
    compared = compare_makings(reference, piece)
    miss = _minus(_mean([piece]), _mean([reference]))
    size = math.sqrt(sum(x * x for x in miss))
    others = [m for m in history if m.name not in (reference.name, piece.name)]
    causes = []
    for change in compared.different:
        effect = effect_of(change, others)
        share = None
        if effect.vector is not None and size > 0:
            share = sum(e * x for e, x in zip(effect.vector, miss, strict=True)) / size**2
        causes.append(Cause(effect, share))
    causes.sort(key=lambda c: (c.explains is None, -(c.explains or 0.0)))
    told = " ".join(c.effect.words for c in causes) or "Nothing written down differs."
    return CauseList(miss, tuple(causes), compared.blank, told)
