"""Test patches: the mildest that is enough, and what does not fit together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from patina.conservation.record import Kept
from patina.conservation.values import Patch


@dataclass(frozen=True, slots=True)
class Lowest:
    """The lowest effective of one agent. patches: ids of those that did enough without harm and that no other
    such patch undercuts in both strength and dwell; several where strength trades against dwell. words: why."""

    agent: str
    unit: str
    patches: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class PatchFinding:
    """All agents in the order they were tried, mildest first; the choice, and what contradicts itself."""

    agents: tuple[Lowest, ...]
    choice: str | None
    words: str
    contradictions: tuple[str, ...]


def lowest_effective(patches: Sequence[Kept[Patch]]) -> PatchFinding:
    """The lowest effective choice: of each agent its least strength and dwell that did enough without harm; of
    all agents the first such in the order of mildness that the conservator gave.

    A patch without strength, dwell, effect or harm decides nothing. Source: [PRACTICE].
    """
    groups: dict[tuple[str, str], list[Kept[Patch]]] = {}
    for patch in patches:
        key = (" ".join(patch.value.agent.casefold().split()), patch.value.strength_unit.casefold())
        groups.setdefault(key, []).append(patch)
    ordered = sorted(groups.values(), key=_mildness)
    agents = tuple(_lowest(group) for group in ordered)
    contradictions = tuple(words for group in ordered for words in _contradictions(group))
    chosen = next(((a, g) for a, g in zip(agents, ordered, strict=True) if a.patches), None)
    if chosen is None:
        return PatchFinding(agents, None, "No patch did enough without harm.", contradictions)
    agent, group = chosen
    earlier = ordered[: ordered.index(group)]
    if any(_mildness(g) == _mildness(group) for g in ordered if g is not group):
        words = "Two agents stand at the same place in the order of mildness: say which is the milder."
        return PatchFinding(agents, None, words, contradictions)
    if len(agent.patches) > 1:
        return PatchFinding(agents, None, f"{agent.agent}: {agent.words}", contradictions)
    passed = f" {len(earlier)} milder did not do." if earlier else ""
    return PatchFinding(agents, agent.patches[0], f"{agent.agent}: {agent.words}{passed}", contradictions)


def _mildness(group: Sequence[Kept[Patch]]) -> int:
    return min((p.value.mildness for p in group if p.value.mildness is not None), default=1000)


def _decides(patch: Patch) -> bool:
    return patch.strength is not None and patch.dwell_min is not None and bool(patch.effect and patch.harm)


def _size(patch: Kept[Patch]) -> tuple[float, float]:
    assert patch.value.strength is not None and patch.value.dwell_min is not None
    return patch.value.strength, patch.value.dwell_min


def _below(one: tuple[float, float], other: tuple[float, float]) -> bool:
    return one != other and one[0] <= other[0] and one[1] <= other[1]


def _lowest(group: Sequence[Kept[Patch]]) -> Lowest:
    agent, unit = group[0].value.agent, group[0].value.strength_unit
    deciding = [p for p in group if _decides(p.value)]
    good = [p for p in deciding if p.value.effect == "enough" and p.value.harm == "none"]
    least = [p for p in good if not any(_below(_size(q), _size(p)) for q in good)]
    sizes = dict.fromkeys(_size(p) for p in least)
    if not deciding:
        words = "no patch says strength, dwell, effect and harm"
    elif not least:
        words = "nothing tried was enough without harm"
    elif len(sizes) == 1:
        strength, dwell = next(iter(sizes))
        words = f"{strength:g} {unit} for {dwell:g} min is the lowest that was enough.".replace("  ", " ")
        least = least[:1]
    else:
        ways = " or ".join(f"{s:g} {unit} for {d:g} min" for s, d in sorted(sizes))
        words = f"weaker trades against shorter ({ways}): choose one, or try between them."
    return Lowest(agent, unit, tuple(p.id for p in least), words)


def _contradictions(group: Sequence[Kept[Patch]]) -> list[str]:
    """A stronger and longer patch that did less: two places that are not alike, or a slip."""
    found = []
    rank = {"none": 0, "too little": 1, "enough": 2, "too much": 3}
    deciding = [p for p in group if _decides(p.value)]
    for p in deciding:
        for q in deciding:
            if _below(_size(p), _size(q)) and rank[q.value.effect] < rank[p.value.effect]:
                found.append(
                    f"{q.id} was as strong and as long as {p.id} or more, and did less: the places are not alike, "
                    "or one was written down wrongly."
                )
    return found
