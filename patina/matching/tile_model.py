"""Colour as a function of how a tile was made, learnt from a house's own tiles.

A Gaussian process over the settings: numbers (strength, passes, temperature) and words (method,
alloy). With no tiles it says that it knows nothing; with few it says how little; predictions have
intervals, and how often those hold is checked by leaving tiles out.
Source: [RASMUSSEN2006]
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.optimize import minimize
from scipy.special import stdtrit

from patina.colour.values import Lab
from patina.errors import BadQuantity
from patina.matching.constants import constant

Array = np.ndarray[Any, np.dtype[Any]]
Value = float | str

# Factors that act by ratios rather than by steps.
_BY_RATIO = ("strength_g_per_l", "passes", "dwell_min", "coverage_ml_m2")
_FIT_TILES = 150
_MOST_TILES = 1500
# Spread of the logarithms of lengths and noise about their start: narrow enough that intervals from
# five tiles hold as often as they say, which the tests check.
_PRIOR_SD = 0.8


@dataclass(frozen=True, slots=True)
class Setting:
    """How a tile is or would be made. values: factor key to a number (unit in the key) or a word."""

    values: Mapping[str, Value]

    def text(self) -> str:
        """The setting as a person reads it."""
        return ", ".join(
            f"{k.replace('_', ' ')} {v:g}" if isinstance(v, (int, float)) else str(v) for k, v in self.values.items()
        )


@dataclass(frozen=True, slots=True)
class MadeTile:
    """A tile with its setting and the colour read on it."""

    setting: Setting
    lab: Lab


@dataclass(frozen=True, slots=True)
class Expected:
    """A predicted colour. lab: mean; sd: standard deviation of a tile's L*, a*, b*; half_width: 95 %; known: share of
    the spread of all patinas that the tiles explain here, 0 (nothing known) to 1."""

    lab: Lab
    sd: tuple[float, float, float]
    half_width: tuple[float, float, float]
    known: float


class _Coder:
    """Turns settings into numbers: one column per factor, scaled to the spread of what was seen."""

    def __init__(self, settings: Sequence[Setting]) -> None:
        self.keys = sorted({k for s in settings for k in s.values})
        if not self.keys:
            raise BadQuantity("The settings name nothing.", "Give strength, passes, temperature or method.")
        self.words: dict[str, dict[str, float]] = {}
        self.middle: dict[str, float] = {}
        self.scale: dict[str, float] = {}
        for key in self.keys:
            seen = [s.values[key] for s in settings if key in s.values]
            if any(isinstance(v, str) for v in seen):
                self.words[key] = {w: float(i) for i, w in enumerate(sorted({str(v) for v in seen}))}
            else:
                numbers = np.array([self._number(key, v) for v in seen])
                self.middle[key] = float(numbers.mean())
                self.scale[key] = float(np.ptp(numbers)) or 1.0

    def _number(self, key: str, value: Value) -> float:
        if isinstance(value, str) or not math.isfinite(value):
            raise BadQuantity(
                f"'{value}' is no number for {key}.", "Give a number, or words for every tile.", field=key
            )
        if key in _BY_RATIO:
            if value <= 0:
                raise BadQuantity(f"{key} of {value:g} is not above zero.", "Give it above zero.", field=key)
            return math.log(value)
        return float(value)

    def rows(self, settings: Sequence[Setting]) -> Array:
        """One row per setting; a factor that was not written down stands at the middle (a word: apart from all)."""
        found = np.zeros((len(settings), len(self.keys)))
        for i, setting in enumerate(settings):
            for j, key in enumerate(self.keys):
                value = setting.values.get(key)
                if key in self.words:
                    found[i, j] = self.words[key].get(str(value), -1.0) if value is not None else -1.0
                elif value is not None:
                    found[i, j] = (self._number(key, value) - self.middle[key]) / self.scale[key]
        return found

    def apart(self, one: Array, two: Array) -> Array:
        """Distances per factor, shape (factors, n, m): differences of numbers, 0 or 1 for words."""
        away = np.abs(one[:, None, :] - two[None, :, :])
        for j, key in enumerate(self.keys):
            if key in self.words:
                away[:, :, j] = (away[:, :, j] > 0).astype(float)
        return np.moveaxis(away, 2, 0)


def _likeness(apart: Array, lengths: Array, worded: Array) -> Array:
    """Matérn 5/2 along numbers, exponential of being different along words."""
    total = np.ones(apart.shape[1:])
    for away, length, word in zip(apart, lengths, worded, strict=True):
        if word:
            total = total * np.exp(-away / length)
        else:
            r = math.sqrt(5) * away / length
            total = total * (1 + r + r * r / 3) * np.exp(-r)
    return total


def _slope(away: Array, length: float, word: bool) -> Array:
    """How the logarithm of the likeness along one factor changes with the logarithm of its length."""
    if word:
        return away / length
    r = math.sqrt(5) * away / length
    return np.asarray(r * r * (1 + r) / (3 + 3 * r + r * r))


class TileModel:
    """What a house's tiles say of colour.

    tiles: tiles with their readings, of one illuminant and observer; 0 or more. space: settings that
    will be asked about (they set the scale while there are few tiles). Beyond 1500 tiles those
    nearest to the space are used. Raises BadQuantity for values that are no numbers or mixed kinds.
    """

    def __init__(self, tiles: Sequence[MadeTile], space: Sequence[Setting] = ()) -> None:
        self.tiles = tuple(tiles)
        self._coder = (
            _Coder([t.setting for t in tiles] + list(space)) if tiles or space else _Coder([Setting({"": 0.0})])
        )
        self._worded = np.array([k in self._coder.words for k in self._coder.keys])
        self._x = self._coder.rows([t.setting for t in tiles])
        self._y = np.array([t.lab.as_list() for t in tiles]).reshape(-1, 3) - self._blank()
        if not np.isfinite(self._y).all():
            raise BadQuantity("A tile's colour is not three numbers.", "Correct that reading.")
        self._keep_near(space)
        self.lengths, self.noise = self._fit()
        self._solve()

    @staticmethod
    def _blank() -> Array:
        return np.array([constant("blank_L"), constant("blank_a"), constant("blank_b")])

    def _keep_near(self, space: Sequence[Setting]) -> None:
        if len(self._x) > _MOST_TILES:
            goal = self._coder.rows(space) if space else self._x[-50:]
            near = self._coder.apart(self._x, goal).sum(axis=0).min(axis=1)
            chosen = np.sort(np.argsort(near, kind="stable")[:_MOST_TILES])
            self._x, self._y = self._x[chosen], self._y[chosen]

    def _fit(self) -> tuple[Array, float]:
        """Length of each factor and the noise, by the likelihood of the tiles and a wide prior."""
        d = len(self._coder.keys)
        start = np.concatenate([np.zeros(d), [math.log(self._usual_noise())]])
        if len(self._x) < 3:
            return np.exp(start[:d]), float(np.exp(start[d]))
        step = max(1, len(self._x) // _FIT_TILES)
        x, y = self._x[::step][:_FIT_TILES], self._y[::step][:_FIT_TILES]
        apart = self._coder.apart(x, x)

        def unlikely(p: Array) -> tuple[float, Array]:
            """Minus the logarithm of the posterior, and its slope along the logarithms of lengths and noise."""
            lengths, noise = np.exp(p[:d]), float(np.exp(p[d]))
            alike = _likeness(apart, lengths, self._worded)
            factor = cho_factor(1 + alike + noise * np.eye(len(x)), lower=True)
            inverse = cho_solve(factor, np.eye(len(x)))
            weights = inverse @ y
            spread = self._variance(y, weights)
            likelihood = 0.5 * (len(x) + constant("blank_weight")) * np.log(spread).sum()
            likelihood += 3 * np.log(np.diag(factor[0])).sum()
            pull = 1.5 * inverse - 0.5 * (weights / spread) @ weights.T
            slopes = [(pull * alike * _slope(apart[j], lengths[j], self._worded[j])).sum() for j in range(d)]
            slope = np.array([*slopes, noise * np.trace(pull)]) + (p - start) / _PRIOR_SD**2
            return float(likelihood + 0.5 * ((p - start) ** 2).sum() / _PRIOR_SD**2), slope

        bounds = [(math.log(0.05), math.log(20))] * d + [(math.log(1e-4), math.log(2))]
        # TNC: L-BFGS-B calls threaded LAPACK on tiny matrices, which stalls on a busy machine.
        best = minimize(unlikely, start, jac=True, method="TNC", bounds=bounds, options={"maxfun": 60})
        return np.exp(best.x[:d]), float(np.exp(best.x[d]))

    @staticmethod
    def _usual_noise() -> float:
        return (constant("tile_repeat_sd") / constant("blank_sd")) ** 2

    @staticmethod
    def _variance(y: Array, solved: Array) -> Array:
        """Variance of each component: what the tiles say and the spread of all patinas, by weight."""
        weight = constant("blank_weight")
        return np.asarray((weight * constant("blank_sd") ** 2 + (y * solved).sum(axis=0)) / (weight + len(y)))

    def _alike(self, one: Array, two: Array) -> Array:
        """How alike tiles are: a common level and the likeness of their settings."""
        return np.asarray(1 + _likeness(self._coder.apart(one, two), self.lengths, self._worded))

    def _solve(self) -> None:
        n = len(self._x)
        k = self._alike(self._x, self._x) + self.noise * np.eye(n)
        self._factor = cho_factor(k, lower=True) if n else None
        self._weights = cho_solve(self._factor, self._y) if n else np.zeros((0, 3))
        self._spread = self._variance(self._y, self._weights)
        self._df = constant("blank_weight") + n

    def joint(self, settings: Sequence[Setting]) -> tuple[Array, Array, Array]:
        """Means (m, 3), the shared covariance (m, m) without noise, and the variance (3,) that scales it.

        Variances of single tiles are (diagonal + noise) × variance.
        """
        x = self._coder.rows(settings)
        own = self._alike(x, x)
        if self._factor is None:
            return np.tile(self._blank(), (len(x), 1)), own, self._spread
        cross = self._alike(self._x, x)
        mean = self._blank() + cross.T @ self._weights
        return mean, own - cross.T @ cho_solve(self._factor, cross), self._spread

    def expect(self, setting: Setting) -> Expected:
        """The colour a tile made so would have, with its interval."""
        mean, covariance, spread = self.joint([setting])
        share = float(max(covariance[0, 0], 0.0)) + self.noise
        sd = np.sqrt(share * spread)
        half = float(stdtrit(self._df, 0.975)) * sd
        first = self.tiles[0].lab if self.tiles else Lab(0, 0, 0)
        lab = Lab(float(mean[0, 0]), float(mean[0, 1]), float(mean[0, 2]), first.illuminant, first.observer)
        known = max(0.0, 1 - float(sd.mean()) / (math.sqrt(2) * constant("blank_sd")))
        return Expected(lab, _three(sd), _three(half), known)

    def left_out(self) -> tuple[float, float]:
        """How well tiles are predicted that were left out: (share inside their 95 % interval, root mean square error).

        The share is over L*, a* and b*; (nan, nan) with fewer than three tiles. Source: [RASMUSSEN2006] 5.4.2.
        """
        n = len(self._x)
        if self._factor is None or n < 3:
            return math.nan, math.nan
        inverse = np.diag(cho_solve(self._factor, np.eye(n)))
        error = self._weights / inverse[:, None]
        half = stdtrit(self._df, 0.975) * np.sqrt(self._spread[None, :] / inverse[:, None])
        return float((np.abs(error) <= half).mean()), float(np.sqrt((error**2).sum(axis=1).mean()))

    def left_out_range(self) -> tuple[float, float]:
        """How well so many tiles tell the share of ``left_out``: its 95 % interval, each tile counted once, since its
        L*, a* and b* go together; (0, 1) with fewer than three tiles. Source: [WILSON1927]"""
        n = len(self._x)
        inside, _ = self.left_out()
        if math.isnan(inside):
            return 0.0, 1.0
        z2 = 1.959963985**2
        middle = (inside + z2 / (2 * n)) / (1 + z2 / n)
        half = math.sqrt(z2 * (inside * (1 - inside) / n + z2 / (4 * n * n))) / (1 + z2 / n)
        return max(0.0, middle - half), min(1.0, middle + half)

    def words(self) -> str:
        """What the model knows, in a sentence."""
        n = len(self.tiles)
        if n == 0:
            return "No tiles yet: nothing is known; every setting is as likely as the card makes it."
        if n < 3:
            return f"{n} tile{'s' if n > 1 else ''}: hardly more than the colour of those is known."
        inside, error = self.left_out()
        low, high = self.left_out_range()
        few = f" (so few tell that share only as {100 * low:.0f} to {100 * high:.0f} %)" if high - low > 0.2 else ""
        return (
            f"{n} tiles; left out one by one, {100 * inside:.0f} % lie inside their 95 % interval{few}, "
            f"error {error:.1f}."
        )


def _three(values: Array) -> tuple[float, float, float]:
    return float(values[0]), float(values[1]), float(values[2])
