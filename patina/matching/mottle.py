"""Uneven finishes compared as distributions: tones with their shares, spread and grain.

Two surfaces of one mean may be a smooth brown and a two-tone one; a single ΔE cannot tell them apart.
The earth mover's distance is the least work that turns the tones of one into those of the other:
share moved times how far (CIEDE2000). Source: [RUBNER2000]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.colour.difference import compare, delta_e_many, in_words, require_comparable
from patina.colour.values import Lab, Part
from patina.errors import BadQuantity
from patina.matching.constants import constant

_SHARE_WORTH_A_WORD = 0.08


@dataclass(frozen=True, slots=True)
class Surface:
    """A finish as a distribution.

    parts: tones and shares, adding up to 1. spread: standard deviation within a tone in L*, a*, b*
    (pooled), or None where not measured. grain: size of the mottle in mm, of both surfaces in pixels
    where both were read in one photograph, or None where not known or there is no mottle.
    Raises BadQuantity without parts, for a share not above 0, or shares that do not add up to 1 (2 %).
    """

    parts: tuple[Part, ...]
    spread: tuple[float, float, float] | None = None
    grain: float | None = None

    def __post_init__(self) -> None:
        if not self.parts or not all(p.share > 0 for p in self.parts):
            raise BadQuantity("A surface needs tones, each with a share above 0.", "Leave out tones without a share.")
        if abs(sum(p.share for p in self.parts) - 1) > 0.02:
            raise BadQuantity("The shares of the tones do not add up to 100 %.", "Correct the shares.")

    @property
    def mean(self) -> Lab:
        """The mean of the tones by share, in L*a*b*."""
        first, total = self.parts[0].lab, sum(p.share for p in self.parts)
        sums = [sum(p.share * getattr(p.lab, c) for p in self.parts) / total for c in ("L", "a", "b")]
        return Lab(sums[0], sums[1], sums[2], first.illuminant, first.observer)


@dataclass(frozen=True, slots=True)
class Moved:
    """Part of the least work: share of the surface that goes from one tone to another, so far apart in CIEDE2000."""

    share: float
    origin: Lab
    goal: Lab
    distance: float


@dataclass(frozen=True, slots=True)
class MottleDifference:
    """How two finishes differ as distributions.

    distance: earth mover's distance in CIEDE2000. mean_difference: of their means. moves: what the
    distance is made of, largest first. spread_ratio: sample over master, sum over L*, a*, b* (None
    where unknown). grain_ratio: sample over master (None where unknown). words: what differs.
    """

    distance: float
    mean_difference: float
    moves: tuple[Moved, ...]
    spread_ratio: float | None
    grain_ratio: float | None
    words: str

    @property
    def apart(self) -> tuple[str, ...]:
        """Which of spread and grain differ so much that surfaces of the same tones do not look alike."""
        most = constant("texture_apart")
        ratios = (("spread", self.spread_ratio), ("grain", self.grain_ratio))
        return tuple(name for name, r in ratios if r is not None and not 1 / most <= r <= most)


def spread_within(sd: tuple[float, float, float], parts: Sequence[Part]) -> tuple[float, float, float]:
    """The spread within a tone, from that of the whole surface and its tones: variance within is the whole
    variance less that between the tones. sd: standard deviations of L*, a*, b* over the surface.

    >>> from patina.colour.values import Lab, Part
    >>> tones = (Part(Lab(30, 0, 0), 0.5), Part(Lab(40, 0, 0), 0.5))
    >>> spread_within((5.385, 1.0, 0.0), tones)
    (2.0, 1.0, 0.0)
    """
    if len(parts) < 2:
        return sd
    mean = Surface(tuple(parts)).mean
    within = []
    for s, c in zip(sd, ("L", "a", "b"), strict=True):
        between = sum(p.share * (getattr(p.lab, c) - getattr(mean, c)) ** 2 for p in parts)
        within.append(round(math.sqrt(max(0.0, s * s - between)), 3))
    return within[0], within[1], within[2]


def compare_mottle(master: Surface, sample: Surface) -> MottleDifference:
    """A sample's finish against the master's. Raises NotComparable for different illuminants.

    The distance is never less than it would be for the best pairing of tones and is 0 only where
    tones and shares agree.
    """
    for part in (*master.parts, *sample.parts):
        require_comparable(master.parts[0].lab, part.lab)
    moves = _least_work(master.parts, sample.parts)
    distance = sum(m.share * m.distance for m in moves)
    spread = _ratio(_size(sample.spread), _size(master.spread))
    grain = _ratio(sample.grain, master.grain)
    mean = compare(master.mean, sample.mean).delta_e
    words = _words(master, sample, distance, mean, moves, spread, grain)
    return MottleDifference(distance, mean, moves, spread, grain, words)


def _size(spread: tuple[float, float, float] | None) -> float | None:
    return None if spread is None else math.sqrt(sum(s * s for s in spread))


def _ratio(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None or b <= 0 else a / b


def _least_work(master: Sequence[Part], sample: Sequence[Part]) -> tuple[Moved, ...]:
    """The transport of least work between two sets of tones."""
    import numpy as np
    from scipy.optimize import linprog

    n, m = len(master), len(sample)
    supply = np.array([p.share for p in master])
    demand = np.array([p.share for p in sample])
    supply, demand = supply / supply.sum(), demand / demand.sum()
    first = np.repeat([p.lab.as_list() for p in master], m, axis=0)
    second = np.tile([p.lab.as_list() for p in sample], (n, 1))
    cost = delta_e_many(first, second)
    rows = np.kron(np.eye(n), np.ones(m))
    columns = np.kron(np.ones(n), np.eye(m))
    # One of the sums follows from the others; leaving it out keeps the equations independent.
    done = linprog(
        cost, A_eq=np.vstack([rows, columns[:-1]]), b_eq=np.concatenate([supply, demand[:-1]]), bounds=(0, None)
    )
    moves = [
        Moved(float(x), master[i // m].lab, sample[i % m].lab, float(cost[i])) for i, x in enumerate(done.x) if x > 1e-9
    ]
    return tuple(sorted(moves, key=lambda move: -move.share * move.distance))


def _words(
    master: Surface,
    sample: Surface,
    distance: float,
    mean: float,
    moves: Sequence[Moved],
    spread: float | None,
    grain: float | None,
) -> str:
    said = [f"Tones differ by {distance:.1f} (means by {mean:.1f})."]
    if len(master.parts) != len(sample.parts):
        said.append(f"The master has {_tones(master)}, the sample {_tones(sample)}.")
    for move in moves[:2]:
        if move.share >= _SHARE_WORTH_A_WORD and move.distance >= 1:
            o, g = move.origin, move.goal
            how = in_words(g.L - o.L, g.a - o.a, g.b - o.b, g.chroma - o.chroma)
            said.append(f"{100 * move.share:.0f} % of the surface is {how}, by {move.distance:.1f}.")
    worth = constant("texture_worth_a_word")
    if spread is not None and not 1 / worth < spread < worth:
        said.append(f"The tones are {_times(spread)} {'more' if spread > 1 else 'less'} uneven in themselves.")
    if grain is not None and not 1 / worth < grain < worth:
        said.append(f"The mottle is {_times(grain)} {'coarser' if grain > 1 else 'finer'}.")
    return " ".join(said)


def _times(ratio: float) -> str:
    return f"{max(ratio, 1 / max(ratio, 1e-3)):.1f} times"


def _tones(surface: Surface) -> str:
    n = len(surface.parts)
    if n == 1:
        return "one tone"
    return f"{n} tones ({', '.join(f'{100 * p.share:.0f} %' for p in surface.parts)})"
