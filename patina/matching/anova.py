"""Where variation comes from: within a piece, between pieces, and from the gauge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.errors import BadQuantity


@dataclass(frozen=True, slots=True)
class OneWay:
    """One-way analysis of variance.

    ms_between, ms_within: mean squares. df_between, df_within: degrees of freedom. f: their ratio
    (inf where nothing varies within). p: chance of so large a ratio were all pieces alike.
    var_within: variance of readings on one piece. var_between: of pieces beyond that, not below 0.
    share_between: of the variance of a single reading, 0 to 1.
    """

    ms_between: float
    ms_within: float
    df_between: int
    df_within: int
    f: float
    p: float
    var_within: float
    var_between: float

    @property
    def share_between(self) -> float:
        """Share of the variance of one reading that comes from the pieces."""
        total = self.var_within + self.var_between
        return self.var_between / total if total > 0 else 0.0

    @property
    def sd_between(self) -> float:
        """Standard deviation of the pieces' true values."""
        return math.sqrt(self.var_between)


def one_way(groups: Sequence[Sequence[float]]) -> OneWay:
    """Variation of one component (L*, a* or b*) split into within and between pieces.

    groups: readings of each piece; pieces may have different numbers. Variances are those of the
    random-effects model with the usual mean size for unequal groups.
    Raises BadQuantity with fewer than two pieces, an empty piece, no piece read twice, or a value that is no number.
    Source: [NIST_HANDBOOK] section 7.4.3.
    """
    sizes = [len(g) for g in groups]
    values = [x for g in groups for x in g]
    if len(groups) < 2 or min(sizes) < 1 or len(values) <= len(groups):
        raise BadQuantity(
            "Variation can be split only with two pieces or more, one of them read twice.", "Take more readings."
        )
    if not all(math.isfinite(x) for x in values):
        raise BadQuantity("A reading is not a finite number.", "Correct that reading.")
    mean = math.fsum(values) / len(values)
    means = [math.fsum(g) / len(g) for g in groups]
    between = math.fsum(n * (m - mean) ** 2 for n, m in zip(sizes, means, strict=True))
    within = math.fsum((x - m) ** 2 for g, m in zip(groups, means, strict=True) for x in g)
    df_b, df_w = len(groups) - 1, len(values) - len(groups)
    ms_b, ms_w = between / df_b, within / df_w
    size = (len(values) - sum(n * n for n in sizes) / len(values)) / df_b
    f = ms_b / ms_w if ms_w > 0 else math.inf
    return OneWay(ms_b, ms_w, df_b, df_w, f, _p_of_f(f, df_b, df_w), ms_w, max(0.0, (ms_b - ms_w) / size))


def _p_of_f(f: float, df_b: int, df_w: int) -> float:
    if math.isinf(f):
        return 0.0
    from scipy.special import fdtrc

    return float(fdtrc(df_b, df_w, f))
