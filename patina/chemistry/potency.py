"""How strong a sulphide bath still is: seconds to brown on a test strip, over its age.

The trade judges a sulphide bath by how fast it browns a clean copper strip. Fresh, it takes
seconds; as the polysulphide oxidises it takes longer. The time is taken to grow exponentially with
age, which is fitted to the bath's own checks: common practice, no source for the curve.
Source: [PRACTICE]
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from patina.errors import BadQuantity


@dataclass(frozen=True, slots=True)
class StripCheck:
    """One check. age_h: hours since mixing, 0 or more. seconds: until the strip is brown, above 0."""

    age_h: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Potency:
    """What the checks say of a bath.

    seconds_now: expected at the age asked for. doubling_h: hours in which the time doubles, None
    where it does not grow. advice: "use", "strengthen or use up", "mix anew", or "check first".
    spread_factor: one standard deviation of a check about the curve, as a factor (1 where two
    checks or fewer leave none).
    """

    seconds_now: float | None
    fresh_seconds: float | None
    doubling_h: float | None
    advice: str
    why: str
    spread_factor: float | None = None


# beyond a millionth of a second or a million of them nothing is told of a strip
FARTHEST_LN = math.log(1e6)


def potency(checks: Sequence[StripCheck], age_h: float, *, weak_at: float = 2.0, dead_at: float = 4.0) -> Potency:
    """What a bath's own strip checks say at an age.

    weak_at, dead_at: how many times the fresh bath's seconds count as weak and as spent (common
    practice, set them for the house). Raises BadQuantity for ages below 0 or times not above 0.

    >>> round(potency([StripCheck(0, 10), StripCheck(4, 20)], 4).doubling_h, 6)
    4.0
    """
    for check in checks:
        if check.age_h < 0 or not check.seconds > 0 or not math.isfinite(check.seconds):
            raise BadQuantity(
                f"A strip check of {check.seconds:g} s at {check.age_h:g} h cannot be.",
                "Give an age of 0 h or more and a time above 0 s.",
            )
    if not checks:
        return Potency(None, None, None, "check first", "No strip was tried in this bath.")
    mean = math.exp(sum(math.log(c.seconds) for c in checks) / len(checks))
    if len({c.age_h for c in checks}) == 1:
        why = "All checks were made at one age, so how fast the bath ages is not known."
        return Potency(mean, None, None, "check first", why)
    start, slope, spread = _fit(checks)
    if max(abs(start), abs(start + slope * age_h)) > FARTHEST_LN:
        why = "The checks lie too close together in time to tell how fast the bath ages."
        return Potency(mean, None, None, "check first", why)
    now, fresh = math.exp(start + slope * age_h), math.exp(start)
    doubling = math.log(2.0) / slope if slope > 1e-9 else None
    ratio = now / fresh
    why = f"{now:.0f} s expected at {age_h:g} h, {ratio:.1f} times the fresh bath's {fresh:.0f} s."
    advice = "use" if ratio < weak_at else "strengthen or use up" if ratio < dead_at else "mix anew"
    return Potency(now, fresh, doubling, advice, why, spread)


def _fit(checks: Sequence[StripCheck]) -> tuple[float, float, float | None]:
    """Intercept and slope of ln(seconds) over age by least squares, and the spread as a factor."""
    n = len(checks)
    x = [c.age_h for c in checks]
    y = [math.log(c.seconds) for c in checks]
    mean_x, mean_y = sum(x) / n, sum(y) / n
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / sum((a - mean_x) ** 2 for a in x)
    start = mean_y - slope * mean_x
    if n < 3:
        return start, slope, None
    left = sum((b - start - slope * a) ** 2 for a, b in zip(x, y, strict=True))
    return start, slope, math.exp(math.sqrt(left / (n - 2)))
