"""Several readings of one zone taken together: their mean, their spread, and the doubt that stays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.colour.difference import compare, require_comparable
from patina.colour.values import Lab
from patina.errors import BadQuantity

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Spot:
    """A reading as it is kept. n, sd: where it is the mean of n single readings of that spread; a photograph's
    area counts as one. expanded: its uncertainty in ΔE (95 %), None where nobody has said. fixed: the part of it
    that more readings do not lessen (camera, light and chart of a photograph), None where it is not known apart."""

    lab: Lab
    n: int = 1
    sd: Vector | None = None
    expanded: float | None = None
    photograph: bool = False
    fixed: float | None = None

    @property
    def counted(self) -> int:
        """How many single readings it counts for."""
        return self.n if self.n > 1 and self.sd is not None and not self.photograph else 1


@dataclass(frozen=True, slots=True)
class Pooled:
    """Readings of a zone together.

    mean; n: single readings it rests on. sd: spread of single readings, None with only one. fixed_u:
    expanded uncertainty in ΔE that more readings do not lessen, None where none was said. singles:
    as many readings as ``judge_zone`` is to count. known_sd: sd to be given to it with df degrees
    of freedom, None where the singles show it themselves.
    """

    mean: Lab
    n: int
    sd: Vector | None
    fixed_u: float | None
    singles: tuple[Lab, ...]
    known_sd: Vector | None
    df: int


def pool(spots: Sequence[Spot]) -> Pooled:
    """Readings of one zone in one state taken together, each by the number of single readings it stands for.

    The spread is that of all single readings: within each mean and between the means. A single
    reading whose uncertainty is stated is taken with that for its whole doubt.
    Raises BadQuantity without readings, NotComparable for different illuminants. Source: [GUM].

    >>> p = pool([Spot(Lab(30, 5, 10), 5, (1.0, 1.0, 1.0), 0.5)])
    >>> p.n, p.sd, p.df
    (5, (1.0, 1.0, 1.0), 4)
    """
    if not spots:
        raise BadQuantity("There is no reading of this zone.", "Read it, five spots or more.", field="readings")
    first = spots[0].lab
    for spot in spots:
        require_comparable(first, spot.lab)
    n = sum(s.counted for s in spots)
    middle = [math.fsum(s.counted * getattr(s.lab, c) for s in spots) / n for c in ("L", "a", "b")]
    mean = Lab(middle[0], middle[1], middle[2], first.illuminant, first.observer)
    fixed = _fixed(spots)
    if n == 1:
        known = None if fixed is None else (0.0, 0.0, 0.0)
        return Pooled(mean, 1, None, fixed, (first,), known, 30)
    squares = []
    for i, c in enumerate(("L", "a", "b")):
        within = math.fsum((s.counted - 1) * s.sd[i] ** 2 for s in spots if s.sd is not None)
        between = math.fsum(s.counted * (getattr(s.lab, c) - middle[i]) ** 2 for s in spots)
        squares.append((within + between) / (n - 1))
    sd = (math.sqrt(squares[0]), math.sqrt(squares[1]), math.sqrt(squares[2]))
    if all(s.counted == 1 for s in spots):
        return Pooled(mean, n, sd, fixed, tuple(s.lab for s in spots), None, n - 1)
    return Pooled(mean, n, sd, fixed, (mean,) * n, sd, n - 1)


def _fixed(spots: Sequence[Spot]) -> float | None:
    """Root mean square of what each stated uncertainty holds besides the scatter of its own single readings."""
    several = len(spots) > 1  # then the scatter between them shows the other part
    known = [
        (s.counted, s.fixed if several and s.fixed is not None else _besides_scatter(s))
        for s in spots
        if s.expanded is not None
    ]
    if not known:
        return None
    return math.sqrt(math.fsum(c * u * u for c, u in known) / sum(c for c, _ in known))


def _besides_scatter(spot: Spot) -> float:
    expanded = spot.expanded or 0.0
    if spot.counted == 1 or spot.sd is None:
        return expanded
    square = 0.0
    for i in range(3):
        step = [spot.sd[i] / math.sqrt(spot.n) if i == c else 0.0 for c in range(3)]
        moved = Lab(
            spot.lab.L + step[0], spot.lab.a + step[1], spot.lab.b + step[2], spot.lab.illuminant, spot.lab.observer
        )
        square += compare(spot.lab, moved).delta_e ** 2
    return math.sqrt(max(0.0, expanded**2 - 4 * square))
