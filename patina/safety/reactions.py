"""What must not meet, matched on what substances are (their reaction tags), never on their names.

A group is whatever stands together: a solution, an open batch, a lot, a waste container, a step of the work. The
rules lie in ``data/reactions.csv``; each says where it holds.

Source: each rule's own
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations

from patina.chemistry.substances import Substance
from patina.datafile import Parser, any_text, one_of, optional_number, read_table, text, words
from patina.safety.tagwords import matcher
from patina.safety.values import Danger

LEVELS = ("critical", "serious", "caution")
SCOPES = ("pot", "pots", "metal", "heat", "place", "bench", "shelf", "waste")
WHERE = {
    "pot": "in one pot",
    "pots": "between the pots of this recipe",
    "metal": "one after the other on the metal",
    "heat": "at the torch or on the cast",
    "place": "in the workshop",
    "bench": "open on the bench together",
    "shelf": "stored together",
    "waste": "in one waste container",
}


@dataclass(frozen=True, slots=True)
class Member:
    """One thing in a group. key: what counts as the same thing; tags: what it is to a reaction; pct: its share in
    % w/w, None where it is not known or does not matter."""

    key: str
    name: str
    tags: frozenset[str]
    pct: float | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """What stands together under one name."""

    name: str
    members: tuple[Member, ...]


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of ``data/reactions.csv``."""

    key: str
    a: str
    b: str
    near: str
    scopes: tuple[str, ...]
    level: str
    shelf_level: str
    a_min_pct: float | None
    discard_within_h: float | None
    consequence: str
    instead: str
    source: str


def _scopes(cell: str) -> tuple[str, ...]:
    found = words(cell)
    if not found or set(found) - set(SCOPES):
        raise ValueError(f"'{cell}' names a scope that is not one of {', '.join(SCOPES)}")
    return found


def _expression(cell: str) -> str:
    matcher(text(cell))
    return cell


@cache
def rules() -> tuple[Rule, ...]:
    """All rules, in the order of the file."""
    columns: dict[str, Parser] = {
        "key": text,
        "a": _expression,
        "b": _expression,
        "with": any_text,
        "scopes": _scopes,
        "level": one_of(*LEVELS),
        "shelf_level": any_text,
        "a_min_pct": optional_number,
        "discard_within_h": optional_number,
        "consequence": text,
        "instead": text,
        "source": text,
    }
    return tuple(Rule(near=row.pop("with"), **row) for row in read_table("reactions.csv", columns))


def member(substance: Substance, pct: float | None = None) -> Member:
    """A substance as a member of a group; hydrates of one salt count as the same thing."""
    return Member(substance.base or substance.key, substance.name, substance.tags, pct)


def group_of(name: str, substances: Iterable[Substance]) -> Group:
    """A group of substances whose shares do not matter (a lot, a shelf, a waste container)."""
    return _with_made(Group(name, tuple(member(s) for s in substances)))


def group(name: str, members: Iterable[Member]) -> Group:
    """A group of members, with what they make of each other in the pot (free ammonia, ammoniacal copper)."""
    return _with_made(Group(name, tuple(members)))


def _with_made(of: Group) -> Group:
    """Adds what the members make together, so that rules need only ever compare two things."""

    def some(expression: str) -> Member | None:
        return next((m for m in of.members if matcher(expression)(m.tags)), None)

    made = []
    ammonium, base = some("ammonium & !ammonia"), some("strong base | sulphide")
    if ammonium and base and not some("ammonia"):
        made.append(Member("made ammonia", f"ammonia from {ammonium.name} with {base.name}", frozenset({"ammonia"})))
    copper, ammonia = some("copper"), some("ammonia")
    if copper and (ammonia or made):
        name = f"ammoniacal copper from {copper.name}"
        made.append(Member("made ammoniacal copper", name, frozenset({"ammoniacal copper"})))
    return replace(of, members=(*of.members, *made))


def dangers_within(one: Group, scope: str = "pot") -> tuple[Danger, ...]:
    """Dangers between the members of one group. scope: "pot", "waste" or "shelf"."""
    found = []
    tags = [m.tags for m in one.members]
    for first, second in combinations(one.members, 2):
        for rule in _matching(first, second, scope, tags):
            found.append(_danger(rule, (first.name, second.name), scope, f"{WHERE[scope]}: {one.name}"))
    return _unique(found)


def dangers_between(groups: Sequence[Group], scope: str) -> tuple[Danger, ...]:
    """Dangers between groups that stay apart only as long as nobody brings them together.

    scope: "pots" (solutions of one recipe), "metal", "bench" (open batches), "shelf" (lots) or "waste".
    A pair that stands in one group already is not repeated between groups.
    """
    inside = {frozenset((a.key, b.key)) for one in groups for a, b in combinations(one.members, 2) if a.key != b.key}
    found = []
    for one, other in combinations(groups, 2):
        tags = [m.tags for m in (*one.members, *other.members)]
        for first in one.members:
            for second in other.members:
                if frozenset((first.key, second.key)) in inside:
                    continue
                for rule in _matching(first, second, scope, tags):
                    names = (_placed(first, one), _placed(second, other))
                    found.append(_danger(rule, names, scope, WHERE[scope]))
    return _unique(found)


def dangers_with(one: Group, surroundings: Sequence[Member], scope: str, where: str = "") -> tuple[Danger, ...]:
    """Dangers between a group and what is around it: the torch, hot metal, air, cloth, tools."""
    found = []
    tags = [m.tags for m in (*one.members, *surroundings)]
    for first in one.members:
        for second in surroundings:
            for rule in _matching(first, second, scope, tags):
                names = (_placed(first, one), second.name)
                found.append(_danger(rule, names, scope, where or WHERE[scope]))
    return _unique(found)


def _placed(of: Member, one: Group) -> str:
    return of.name if of.name == one.name else f"{of.name} ({one.name})"


def _matching(first: Member, second: Member, scope: str, tags: Sequence[frozenset[str]]) -> Iterator[Rule]:
    """Rules that hold between two things; the stricter of two rules that differ only in strength wins."""
    if first.key == second.key:
        return
    seen: set[tuple[str, str]] = set()
    for rule in rules():
        if scope not in rule.scopes or (rule.a, rule.b) in seen:
            continue
        for a, b in ((first, second), (second, first)):
            if not (matcher(rule.a)(a.tags) and matcher(rule.b)(b.tags)):
                continue
            if rule.near and not any(matcher(rule.near)(t) for t in tags):
                continue
            if rule.a_min_pct is not None and (a.pct is None or a.pct < rule.a_min_pct):
                continue
            seen.add((rule.a, rule.b))
            yield rule
            break


def _danger(rule: Rule, names: tuple[str, str], scope: str, where: str) -> Danger:
    level = rule.shelf_level if scope == "shelf" and rule.shelf_level else rule.level
    clock = rule.discard_within_h if scope == "pot" else None
    return Danger(names, rule.consequence, level, rule.instead, rule.source, where, clock, rule.key)


def _unique(found: Iterable[Danger]) -> tuple[Danger, ...]:
    kept = {(d.rule, frozenset(d.between), d.where): d for d in found}
    return tuple(sorted(kept.values(), key=lambda d: (LEVELS.index(d.level), d.rule, d.between)))
