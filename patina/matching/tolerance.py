"""Tolerance intervals: between which values most pieces of a series lie, and how sure that is."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from patina.errors import BadQuantity
from patina.matching.constants import constant


def _check(n: float, content: float, confidence: float) -> None:
    if n < 2 or not 0 < content < 1 or not 0 < confidence < 1:
        raise BadQuantity(
            f"No tolerance interval from {n:g} values for a share of {content:g} at {confidence:g}.",
            "Two values or more; share and confidence between 0 and 1.",
        )


def howe_factor(n: int, content: float = 0.95, confidence: float = 0.95, df: float | None = None) -> float:
    """Two-sided normal tolerance factor by Howe's approximation. Source: [HOWE1969].

    n: values that the mean rests on. content: share to be held. confidence: how sure. df: degrees of
    freedom of the standard deviation, n − 1 where left out. Raises BadQuantity.

    >>> round(howe_factor(3), 2), round(howe_factor(9), 2)
    (9.99, 3.53)
    """
    _check(n, content, confidence)
    from scipy.special import chdtri

    nu = n - 1 if df is None else df
    z = statistics.NormalDist().inv_cdf((1 + content) / 2)
    return z * math.sqrt(nu * (1 + 1 / n) / float(chdtri(nu, confidence)))


@lru_cache(maxsize=256)
def exact_factor(n: int, content: float = 0.95, confidence: float = 0.95, df: float | None = None) -> float:
    """Two-sided normal tolerance factor, exact: unknown mean and standard deviation. Source: [ISO16269-6].

    Solves E over the mean's error of P(s large enough) = confidence by quadrature. Arguments as in
    howe_factor. Raises BadQuantity.

    >>> round(exact_factor(10), 3)
    3.393
    """
    _check(n, content, confidence)
    import numpy as np
    from scipy.optimize import brentq
    from scipy.special import chdtrc, ndtr

    nu = float(n - 1 if df is None else df)
    nodes, weights = np.polynomial.legendre.leggauss(120)
    shift = 4.25 * (nodes + 1)  # 0 to 8.5 standard errors of the mean
    density = 2 * np.exp(-(shift**2) / 2) / math.sqrt(2 * math.pi) * weights * 4.25
    offset = shift / math.sqrt(n)
    # Half-width, in true standard deviations, that holds the content about a mean so far off.
    low, high = np.zeros_like(offset), np.full_like(offset, 50.0)
    for _ in range(80):
        middle = (low + high) / 2
        held = ndtr(offset + middle) - ndtr(offset - middle)
        low, high = np.where(held < content, middle, low), np.where(held < content, high, middle)
    half = (low + high) / 2

    def short(k: float) -> float:
        return float((density * chdtrc(nu, nu * half**2 / k**2)).sum()) - confidence

    return float(brentq(short, 0.1, 2000.0, xtol=1e-9))


@dataclass(frozen=True, slots=True)
class ToleranceInterval:
    """Between low and high lies the content share of all pieces, with the confidence stated.

    n: values it rests on. factor: of the standard deviation. proves: whether it is narrow enough to
    say anything against the spread allowed (None where none was given). words.
    """

    low: float
    high: float
    n: int
    factor: float
    proves: bool | None
    words: str


def tolerance_interval(
    values: Sequence[float],
    *,
    pooled_sd: float | None = None,
    pooled_df: float | None = None,
    allowed_spread: float | None = None,
    what: str = "L*",
) -> ToleranceInterval:
    """The interval for a component of the casts of an edition.

    values: one mean per cast. pooled_sd, pooled_df: standard deviation between casts from other
    editions of the same recipe with its degrees of freedom; makes few casts tell more.
    allowed_spread: width that the agreed limits allow, in the same unit.
    95 % of pieces with 95 % confidence (data/matching_constants.csv). Raises BadQuantity with fewer
    than two values and no pooled spread. Source: [ISO16269-6].
    """
    n = len(values)
    if n < 1 or (n < 2 and pooled_sd is None):
        raise BadQuantity("One cast tells nothing of the next.", "Two casts or more, or a pooled spread, are needed.")
    content, confidence = constant("tolerance_content_pct") / 100, constant("tolerance_confidence_pct") / 100
    mean = statistics.fmean(values)
    if pooled_sd is None:
        sd, factor = statistics.stdev(values), exact_factor(n, content, confidence)
    else:
        sd, df = pooled_sd, pooled_df or 30.0
        factor = howe_factor(max(n, 2), content, confidence, df) if n > 1 else _one_cast(content, confidence, df)
    low, high = mean - factor * sd, mean + factor * sd
    proves = None if allowed_spread is None else high - low <= allowed_spread
    words = (
        f"{what}: {100 * content:g} % of casts lie between {low:.1f} and {high:.1f} ({100 * confidence:g} % sure, "
        f"{n} casts, {factor:.2f} standard deviations)."
    )
    if n <= 3 and pooled_sd is None:
        words += f" {n} casts prove nothing: take the spread from earlier editions of this recipe, or use limit tiles."
    elif proves is False:
        words += f" Wider than the {allowed_spread:g} allowed: these casts do not show that the next will be inside."
    return ToleranceInterval(low, high, n, factor, proves, words)


def _one_cast(content: float, confidence: float, df: float) -> float:
    from scipy.special import chdtri

    z = statistics.NormalDist().inv_cdf((1 + content) / 2)
    return z * math.sqrt(2 * df / float(chdtri(df, confidence)))
