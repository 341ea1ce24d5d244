"""Where a class begins as one ingredient of a solution gets stronger: "above 5 % this becomes corrosive".

Source: the mixture rules of this room
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from patina.errors import NotFound
from patina.safety.mixture import Component, MixtureClass, classify

STEPS = 240
FINE = 1e-6


@dataclass(frozen=True, slots=True)
class Turn:
    """A share of one ingredient, in % w/w, at which the classes change. gains, loses: class codes with statement."""

    pct: float
    gains: tuple[str, ...]
    loses: tuple[str, ...]

    def words(self) -> str:
        """ "from 5 % on: Skin Corr. 1B (H314)"."""
        return f"from {self.pct:.4g} % on: {', '.join(self.gains) or 'no new class'}"


def turns(
    components: Sequence[Component], key: str, *, up_to_pct: float | None = None, regime: str = "CLP"
) -> tuple[Turn, ...]:
    """The shares at which the classes of a solution change as one ingredient gets stronger in place of water.

    key: catalogue key of the ingredient. up_to_pct: highest share looked at, None for all that fits. Density and
    pH are left out: the turns are in % w/w and by the sums alone. Raises NotFound for an ingredient that is not
    in the solution.

    >>> from patina.chemistry.substances import catalogue
    >>> acid = Component(catalogue().get("hydrochloric_acid"), 1.0)
    >>> [turn.words() for turn in turns([acid], "hydrochloric_acid")][-1]
    'from 25 % on: Skin Corr. 1B (H314)'
    """
    chosen = [c for c in components if c.substance.key == key]
    if not chosen:
        raise NotFound(f"The solution has no ingredient '{key}'.", "Choose one of its ingredients.")
    others = [Component(c.substance, c.pct_ww) for c in components if c.substance.key != key and not _is_water(c)]
    top = 100.0 - sum(c.pct_ww for c in others)
    top = min(top, up_to_pct) if up_to_pct is not None else top

    def at(pct: float) -> frozenset[str]:
        return _names(classify([*others, Component(chosen[0].substance, pct)], regime=regime))

    found = []
    grid = [top * (i / STEPS) ** 3 for i in range(STEPS + 1)]  # closer where limits lie close together
    before = at(0.0)
    for low, high in pairwise(grid):
        while (now := at(high)) != before:
            edge = _edge(at, low, high, before)
            there = at(edge)
            found.append(Turn(_rounded(edge), tuple(sorted(there - before)), tuple(sorted(before - there))))
            low, before = edge, there
            if there == now:
                break
    return tuple(found)


def _is_water(component: Component) -> bool:
    return "water" in component.substance.tags


def _names(found: MixtureClass) -> frozenset[str]:
    return frozenset(f"{f.code} ({f.h})" for f in found.found)


def _edge(at: Callable[[float], frozenset[str]], low: float, high: float, before: frozenset[str]) -> float:
    """The lowest share between two at which the classes are no longer those before, by halving."""
    while high - low > FINE * max(high, 1e-3):
        middle = (low + high) / 2
        if at(middle) == before:
            low = middle
        else:
            high = middle
    return high


def _rounded(pct: float) -> float:
    """Limits are round numbers: the halving's last digits are taken off."""
    return float(f"{pct:.5g}")
