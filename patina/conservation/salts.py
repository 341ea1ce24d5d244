"""Salt extraction: how much is out, how much is left, and whether that can be told; by the curve, never by time.

Three laws of release are fitted to the readings themselves, each with two unknowns (all there is to come out,
and a rate), and compared by the corrected criterion of Akaike:

- "root-time": 1 - exp(-k sqrt t), a rule that begins with the root of time as diffusion does (empirical)
- "even layer": diffusion out of a layer that held the salt evenly. Source: [CRANK], [SELWYN2001] first case
- "metal face": diffusion through a layer from the face of the metal. Source: [SELWYN2001] second case

A model that is nearly as good as the best has its say in the interval. Source: [AICC]
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from patina.conservation.record import Kept
from patina.conservation.values import Bath, BathReading

if TYPE_CHECKING:
    import numpy as np

    Array = np.ndarray[Any, np.dtype[Any]]

LEAST_READINGS = 5
LEAST_BATHS = 3
AIM_PCT = 95.0
NEARLY_AS_GOOD = 2.0  # of the criterion; Source: [AICC]
_TERMS = 12  # from x = 0.05 on the next would be below 1e-19
_STEPS = 200


@dataclass(frozen=True, slots=True)
class BathPoint:
    """One reading as it is fitted. begun_h, at_h: hours of extraction when its bath was begun and when it was
    read. gained: reading less what the fresh bath reads. volume_ml: 1.0 where no volume counts. total: all that
    came out until then, in mg (with volumes in mL and mg/L) or in the reading's own unit."""

    number: int
    begun_h: float
    at_h: float
    gained: float
    volume_ml: float
    total: float
    root_h: float


@dataclass(frozen=True, slots=True)
class Extraction:
    """What the curve of one extraction says.

    verdict: "reached", "not reached" or "cannot be told yet". share_pct, low_pct, high_pct: of all that will come
    out, the part that is out, with its interval (95 %). until_h: hours until the aim, counted from the first
    bath, with its interval (infinite where the data set no end). model: the law that fits best; beside: those
    nearly as good. all_out: everything that will come out, in ``unit``. why: the verdict in words. read_in: the
    unit of the readings themselves.
    """

    bath: str
    unit: str
    aim_pct: float
    points: tuple[BathPoint, ...]
    verdict: str
    why: str
    model: str = ""
    beside: tuple[str, ...] = ()
    share_pct: float | None = None
    low_pct: float | None = None
    high_pct: float | None = None
    all_out: float | None = None
    until_h: float | None = None
    until_low_h: float | None = None
    until_high_h: float | None = None
    rate: float | None = None
    residual: float | None = None
    cautions: tuple[str, ...] = ()
    read_in: str = ""


def even_layer(x: float) -> float:
    """Share released from a layer that held the salt evenly, at x = D t / l² (l: its depth, the metal side closed).

    >>> round(even_layer(0.19674), 3)
    0.5
    """
    if x <= 0.0:
        return 0.0
    if x < 0.05:  # the other form of the same sum, which is short here
        root = math.sqrt(x)
        more = sum((-1) ** n * _ierfc(n / root) for n in range(1, 6))
        return 2.0 * root * (1.0 / math.sqrt(math.pi) + 2.0 * more)
    terms = (
        8.0 / ((2 * n + 1) ** 2 * math.pi**2) * math.exp(-((2 * n + 1) ** 2) * math.pi**2 * x / 4)
        for n in range(_TERMS)
    )
    return 1.0 - math.fsum(terms)


def metal_face(x: float) -> float:
    """Share released where all salt lay at the closed face of the layer, at x = D t / l²."""
    if x <= 0.0:
        return 0.0
    if x < 0.05:  # what has come through by reflected sources
        return 2.0 * sum((-1) ** n * math.erfc((2 * n + 1) / (2.0 * math.sqrt(x))) for n in range(4))
    terms = ((-1) ** n / (2 * n + 1) * math.exp(-((2 * n + 1) ** 2) * math.pi**2 * x / 4) for n in range(_TERMS))
    return 1.0 - 4.0 / math.pi * math.fsum(terms)


def root_time(x: float) -> float:
    """The empirical rule, at x = k² t."""
    return 1.0 - math.exp(-math.sqrt(x)) if x > 0.0 else 0.0


def _ierfc(z: float) -> float:
    return math.exp(-z * z) / math.sqrt(math.pi) - z * math.erfc(z)


MODELS: dict[str, Callable[[float], float]] = {
    "even layer": even_layer,
    "metal face": metal_face,
    "root-time": root_time,
}


def bath_points(bath: Kept[Bath], readings: Sequence[Kept[BathReading]]) -> tuple[tuple[BathPoint, ...], list[str]]:
    """The readings of an extraction in order of time, and what had to be taken for granted."""
    own = [r.value for r in readings if r.value.bath == bath.id]
    own.sort(key=lambda r: (r.number or 0, r.hours or 0.0))
    cautions: list[str] = []
    supply = bath.value.supply
    if supply is None:
        cautions.append("What the fresh bath reads was not said; it counts as nothing.")
    weigh = bool(own) and all(r.volume_ml for r in own)
    if not weigh and bath.value.scheme == "baths changed":
        cautions.append("Not every bath has a volume: all baths count as equally large.")
    points: list[BathPoint] = []
    begun = out_before = last_h = last_gain = 0.0
    number: int | None = None
    for r in own:
        if number is not None and r.number != number and bath.value.scheme == "baths changed":
            begun, out_before = last_h, out_before + last_gain
        number = r.number
        volume = (r.volume_ml or 1.0) if weigh else 1.0
        gained = (r.value or 0.0) - (supply or 0.0)
        at = begun + (r.hours or 0.0)
        scale = volume / 1000.0 if weigh else 1.0
        last_h, last_gain = at, gained * scale
        points.append(BathPoint(r.number or 0, begun, at, gained, volume, out_before + last_gain, math.sqrt(at)))
    return tuple(points), cautions


@lru_cache(maxsize=64)
def judge_extraction(bath: Kept[Bath], readings: tuple[Kept[BathReading], ...]) -> Extraction:
    """Whether the extraction is at its end, by the curve. Never by the calendar."""
    points, cautions = bath_points(bath, readings)
    aim = bath.value.target_share or AIM_PCT
    weighed = any(p.volume_ml != 1.0 for p in points)
    chloride = bath.value.measured.startswith("chloride")
    read_in = bath.value.measured.partition(" ")[2]
    unit = read_in if not weighed else "mg" if chloride else f"{read_in}·L"
    if not chloride:
        cautions.append("Conductivity counts every ion, also those of the bath itself and of other salts.")
    if bath.value.scheme == "one bath followed":
        cautions.append("A level bath is even with the object, which is not yet free of salt: change it and go on.")
    missing = _missing(bath.value, points)
    if missing:
        said = tuple(cautions)
        return Extraction(bath.id, unit, aim, points, "cannot be told yet", missing, cautions=said, read_in=read_in)
    fits = sorted((_fit(name, law, points) for name, law in MODELS.items()), key=lambda f: f.criterion)
    near = [f for f in fits if f.criterion - fits[0].criterion <= NEARLY_AS_GOOD]
    best = fits[0]
    last = points[-1].at_h
    low = min(f.law(f.slowest * last) for f in near) * 100.0
    high = max(f.law(f.fastest * last) for f in near) * 100.0
    verdict = "reached" if low >= aim else "not reached" if high < aim else "cannot be told yet"
    until = [_hours_until(best.law, best.rate, aim)]
    until += [min(_hours_until(f.law, f.fastest, aim) for f in near)]
    until += [max(math.inf if f.open_ended else _hours_until(f.law, f.slowest, aim) for f in near)]
    share = best.law(best.rate * last) * 100.0
    return Extraction(
        bath=bath.id,
        unit=unit,
        aim_pct=aim,
        points=points,
        verdict=verdict,
        why=_words(verdict, share, low, high, aim, until),
        model=best.name,
        beside=tuple(f.name for f in near[1:]),
        share_pct=share,
        low_pct=low,
        high_pct=high,
        all_out=best.all_out,
        until_h=until[0],
        until_low_h=until[1],
        until_high_h=until[2],
        rate=best.rate,
        residual=best.residual,
        cautions=tuple(cautions),
        read_in=read_in,
    )


def _missing(bath: Bath, points: Sequence[BathPoint]) -> str:
    if len(points) < LEAST_READINGS:
        return f"{len(points)} readings are too few for a curve: {LEAST_READINGS} are needed."
    if bath.scheme == "baths changed" and len({p.number for p in points}) < LEAST_BATHS:
        return f"Too few baths for a curve: {LEAST_BATHS} are needed."
    if len({p.at_h for p in points}) < LEAST_READINGS - 1:
        return "The readings lie at too few different times."
    if max(p.gained for p in points) <= 0.0:
        return "No reading is above the fresh bath: nothing is coming out that this method sees."
    return ""


@dataclass(frozen=True, slots=True)
class _Fit:
    name: str
    law: Callable[[float], float]
    rate: float
    slowest: float
    fastest: float
    open_ended: bool
    all_out: float
    residual: float
    criterion: float


def _fit(name: str, law: Callable[[float], float], points: Sequence[BathPoint]) -> _Fit:
    """Least squares on the readings; for each rate the amount follows, so the search is along one line."""
    import numpy as np
    from scipy import optimize, stats

    scale = np.array([p.volume_ml if p.volume_ml == 1.0 else p.volume_ml / 1000.0 for p in points])
    measured = np.array([p.gained for p in points])
    last = points[-1].at_h

    def shape(rate: float) -> Array:
        return np.array([law(rate * p.at_h) - law(rate * p.begun_h) for p in points]) / scale

    def amount(shape_now: Array) -> float:
        bottom = float(shape_now @ shape_now)
        return max(0.0, float(shape_now @ measured) / bottom) if bottom > 0.0 else 0.0

    def misfit(log_rate: float) -> float:
        now = shape(math.exp(log_rate))
        return float(((measured - amount(now) * now) ** 2).sum())

    grid = np.linspace(math.log(1e-4 / last), math.log(1e3 / last), _STEPS)
    values = np.array([misfit(g) for g in grid])
    k = int(values.argmin())
    span = (grid[max(k - 1, 0)], grid[min(k + 1, _STEPS - 1)])
    found = optimize.minimize_scalar(misfit, bounds=span, method="bounded", options={"xatol": 1e-9})
    best, at = (float(found.fun), float(found.x)) if found.fun <= values[k] else (float(values[k]), float(grid[k]))
    n = len(points)
    floor = n * (1e-6 * float(np.abs(measured).max())) ** 2
    best = max(best, floor)
    allowed = best * (1.0 + float(stats.f.ppf(0.95, 1, n - 2)) / (n - 2))
    slow, open_ended = _edge(misfit, allowed, at, float(grid[0]), optimize)
    fast, _ = _edge(misfit, allowed, at, float(grid[-1]), optimize)
    rate = math.exp(at)
    criterion = n * math.log(best / n) + 2 * 3 + 2 * 3 * 4 / (n - 4)  # two unknowns and the scatter
    return _Fit(
        name,
        law,
        rate,
        math.exp(slow),
        math.exp(fast),
        open_ended,
        amount(shape(rate)),
        math.sqrt(best / (n - 2)),
        criterion,
    )


def _edge(misfit: Callable[[float], float], allowed: float, at: float, end: float, optimize: Any) -> tuple[float, bool]:
    """Where the misfit leaves what is allowed, from the best towards the end of the line; and whether it never does."""
    step = (end - at) / 60.0
    inside = at
    for k in range(1, 61):
        here = at + k * step
        if misfit(here) > allowed:
            return float(optimize.brentq(lambda r: misfit(r) - allowed, inside, here)), False
        inside = here
    return end, True


def _hours_until(law: Callable[[float], float], rate: float, aim_pct: float) -> float:
    """Hours of extraction at which the share comes to the aim."""
    from scipy import optimize

    x = optimize.brentq(lambda x: law(x) - aim_pct / 100.0, 1e-9, 1e3)
    return float(x) / rate


def _words(verdict: str, share: float, low: float, high: float, aim: float, until: Sequence[float]) -> str:
    span = f"{low:.0f} to {high:.0f} %"
    if verdict == "reached":
        return f"At least {min(low, 99.9):.1f} % of what will come out is out; {aim:g} % was the aim."
    more = f"about {until[0]:.0f} h of extraction in all ({_h(until[1])} to {_h(until[2])})"
    if verdict == "not reached":
        return f"About {share:.0f} % is out ({span}); the curve comes to {aim:g} % after {more}."
    return f"About {share:.0f} % is out, but the readings allow {span}; the aim is {aim:g} %. Read on."


def _h(hours: float) -> str:
    return f"{hours:.0f} h" if math.isfinite(hours) else "no end in sight"


def curve(found: Extraction, count: int = 60) -> tuple[tuple[float, float], ...]:
    """The law that fits best as points (root of hours, all that is out), from nothing to the last reading or to the
    aim, whichever is later; empty where no curve was fitted."""
    if not found.model or found.rate is None or found.all_out is None or not found.points:
        return ()
    law = MODELS[found.model]
    last = found.points[-1].at_h
    until = found.until_h if found.until_h is not None and math.isfinite(found.until_h) else last
    end = math.sqrt(max(last, min(until, 4.0 * last)))
    roots = [end * k / (count - 1) for k in range(count)]
    return tuple((root, found.all_out * law(found.rate * root * root)) for root in roots)
