"""Where variation comes from, as far as the readings can tell: the gauge, the spots of a piece, the pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.errors import BadQuantity
from patina.matching.anova import one_way

HOW_GAUGE = (
    "Read one spot 5 times, lifting the instrument and putting it back each time, and write the readings down "
    "one by one under one area name and the name of the instrument."
)


@dataclass(frozen=True, slots=True)
class Share:
    """One source of variation. sd: standard deviation in units of L*, a* or b*, None where it is not known; 0 only
    where words say that it is smaller than what hides it. df: degrees of freedom, 0 where not known."""

    sd: float | None
    df: int
    words: str


@dataclass(frozen=True, slots=True)
class ThreeSources:
    """The gauge (one spot read again), the spots within a piece, and the pieces, of one component."""

    component: str
    gauge: Share
    within: Share
    between: Share

    @property
    def words(self) -> str:
        """The three in a sentence."""
        return (
            f"{self.component}: gauge {self.gauge.words}; within a piece {self.within.words}; "
            f"between pieces {self.between.words}."
        )


def three_sources(
    pieces: Sequence[Sequence[tuple[float, int]]], repeats: Sequence[Sequence[float]], component: str = "L*"
) -> ThreeSources:
    """Standard deviations of gauge, spots and pieces of one component.

    pieces: of each piece its spots, each a mean and the number of readings it is the mean of (1 or more). repeats:
    sets of readings of one spot; sets of one count for nothing. One-way analysis of variance of the spots'
    means, from whose part within a piece the gauge's own is taken off (exact also for unequal numbers of repeats).
    Raises BadQuantity for a value that is no finite number or a spot of no reading. Source: [NIST_HANDBOOK]
    section 7.4.3.

    >>> three_sources([[(25.0, 1), (26.0, 1)], [(29.0, 1), (30.0, 1)]], [], "L*").within.words
    '0.71 (df 2), the gauge included'
    """
    filled = [list(spots) for spots in pieces if spots]
    _in_order(filled, repeats)
    gauge_var, gauge_df = _pooled(repeats)
    groups = [[mean for mean, _ in spots] for spots in filled]
    within_var, within_df = _pooled(groups)
    gauge = Share(math.sqrt(gauge_var), gauge_df, f"{math.sqrt(gauge_var):.2f} (df {gauge_df})")
    if not gauge_df:
        gauge = Share(None, 0, "not known")
    return ThreeSources(
        component,
        gauge,
        _within(filled, within_var, within_df, gauge_var, gauge_df),
        _between(groups, within_df),
    )


def _in_order(pieces: Sequence[Sequence[tuple[float, int]]], repeats: Sequence[Sequence[float]]) -> None:
    values = [mean for spots in pieces for mean, _ in spots] + [x for one in repeats for x in one]
    if not all(math.isfinite(x) for x in values):
        raise BadQuantity("A reading is not a finite number.", "Correct that reading.")
    if any(n < 1 for spots in pieces for _, n in spots):
        raise BadQuantity("A spot without a reading was given.", "Leave it out.")


def _pooled(groups: Sequence[Sequence[float]]) -> tuple[float, int]:
    """Variance within the groups and its degrees of freedom."""
    df = sum(len(g) - 1 for g in groups if g)
    if not df:
        return 0.0, 0
    means = [math.fsum(g) / len(g) if g else 0.0 for g in groups]
    return math.fsum((x - m) ** 2 for g, m in zip(groups, means, strict=True) for x in g) / df, df


def _within(
    pieces: Sequence[Sequence[tuple[float, int]]], var: float, df: int, gauge_var: float, gauge_df: int
) -> Share:
    if not df:
        return Share(None, 0, "not known (no piece is read on two spots)")
    if not gauge_df:
        return Share(math.sqrt(var), df, f"{math.sqrt(var):.2f} (df {df}), the gauge included")
    # a mean of n repeats holds 1/n of the gauge's variance
    held = math.fsum((1 - 1 / len(spots)) * sum(1 / n for _, n in spots) for spots in pieces) / df
    left = var - held * gauge_var
    if left <= 0:
        return Share(0.0, df, f"too small to be told from the gauge (df {df})")
    return Share(math.sqrt(left), df, f"{math.sqrt(left):.2f} (df {df})")


def _between(groups: Sequence[Sequence[float]], within_df: int) -> Share:
    if len(groups) < 2:
        return Share(None, 0, f"not known (too few pieces: {len(groups)} read so, two are needed, five are better)")
    if not within_df:
        var, df = _pooled([[x for g in groups for x in g]])
        return Share(None, 0, f"not known apart (with spots and gauge together {math.sqrt(var):.2f}, df {df})")
    found = one_way(groups)
    few = ", too few pieces to rely on" if len(groups) < 5 else ""
    if found.var_between <= 0:
        return Share(0.0, found.df_between, f"too small to be told from the spots (df {found.df_between}{few})")
    return Share(found.sd_between, found.df_between, f"{found.sd_between:.2f} (df {found.df_between}{few})")
