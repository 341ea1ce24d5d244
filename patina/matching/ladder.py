"""From a vague card to a recipe: plausible settings, ranked, and the tile that tells most.

Each candidate setting is a guess that it made the target. Tiles are made, the ranking follows, until
one tile meets the target. Source: expected information after [LINDLEY1956], with moments matched.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from patina.colour.values import Lab
from patina.datafile import Parser, number, read_table, text
from patina.errors import BadQuantity, NotFound
from patina.matching.constants import constant
from patina.matching.tile_model import Setting, TileModel, Value

_MOST_CANDIDATES = 400


@cache
def vague_words() -> dict[tuple[str, str], tuple[float, float]]:
    """(word, factor) to (low, high). Source: [PRACTICE]."""
    columns: dict[str, Parser] = {"word": text, "factor": text, "low": number, "high": number, "source": text}
    return {(r["word"], r["factor"]): (r["low"], r["high"]) for r in read_table("vague_words.csv", columns)}


def what_may_be_meant(word: str, factor: str) -> tuple[float, float]:
    """The interval a word on a card may mean for a factor, in the factor's unit; raises NotFound with the known words.

    >>> what_may_be_meant("few", "passes")
    (2.0, 4.0)
    """
    try:
        return vague_words()[word.strip().casefold(), factor]
    except KeyError:
        known = [w for w, f in vague_words() if f == factor]
        raise NotFound(
            f"'{word}' is not a word known for {factor}.", f"Use {', '.join(known) or 'numbers'}, or give two numbers."
        ) from None


def candidates(card: Mapping[str, tuple[float, float] | Sequence[str] | Value], levels: int = 3) -> tuple[Setting, ...]:
    """Plausible settings from a card.

    card: factor to an interval (low, high), a list of words to choose from, or one value. levels:
    values taken from each interval, spaced by ratio where both ends are above zero and far apart.
    Raises BadQuantity for intervals upside down and more than 400 settings.
    """
    axes: list[tuple[str, list[Value]]] = []
    for key, meant in card.items():
        axes.append((key, _values(key, meant, levels)))
    count = math.prod(len(values) for _, values in axes)
    if not axes or count > _MOST_CANDIDATES:
        raise BadQuantity(
            f"The card leaves {count if axes else 0} settings, between 1 and {_MOST_CANDIDATES} can be ranked.",
            "Fix one of the factors, or take fewer levels.",
        )
    keys = [key for key, _ in axes]
    return tuple(
        Setting(dict(zip(keys, values, strict=True))) for values in itertools.product(*(values for _, values in axes))
    )


def _values(key: str, meant: tuple[float, float] | Sequence[str] | Value, levels: int) -> list[Value]:
    if isinstance(meant, (str, int, float)):
        return [meant]
    if all(isinstance(m, str) for m in meant):
        return list(meant)
    low, high = (float(m) for m in meant)
    if not (math.isfinite(low) and math.isfinite(high) and low <= high):
        raise BadQuantity(f"{key} from {low:g} to {high:g} is no interval.", "Give the lower end first.", field=key)
    if low == high or levels < 2:
        return [(low + high) / 2]
    spaced = np.geomspace(low, high, levels) if low > 0 and high / low > 1.5 else np.linspace(low, high, levels)
    return [float(f"{v:.4g}") for v in spaced]


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate. chance: that it is the one, among the candidates; lab: the colour expected; half_width: 95 %."""

    setting: Setting
    chance: float
    lab: Lab
    half_width: tuple[float, float, float]


def _chances(model: TileModel, settings: Sequence[Setting], target: Lab, target_sd: float) -> np.ndarray:
    mean, covariance, spread = model.joint(settings)
    variance = (np.maximum(np.diag(covariance), 0)[:, None] + model.noise) * spread[None, :] + target_sd**2
    log = -0.5 * (np.log(variance) + (np.array(target.as_list()) - mean) ** 2 / variance).sum(axis=1)
    weights = np.exp(log - log.max())
    return np.asarray(weights / weights.sum())


def rank(model: TileModel, settings: Sequence[Setting], target: Lab, target_sd: float = 1.0) -> tuple[Ranked, ...]:
    """Candidates by their chance to be what made the target, likeliest first.

    target_sd: standard uncertainty of the target's L*, a*, b* (its reading, ageing, wax). With no
    tiles all chances are alike. Raises BadQuantity without candidates.
    """
    if not settings:
        raise BadQuantity("There is no setting to rank.", "Give the card's intervals.")
    found = []
    for setting, chance in zip(settings, _chances(model, settings, target, target_sd), strict=True):
        expected = model.expect(setting)
        found.append(Ranked(setting, float(chance), expected.lab, expected.half_width))
    return tuple(sorted(found, key=lambda r: -r.chance))


@dataclass(frozen=True, slots=True)
class NextTile:
    """The tile to make next. setting; why: "confirm" where one candidate is likely, else "tell apart"; information: in
    bits expected of it; words."""

    setting: Setting
    why: str
    information: float
    words: str


def next_tile(
    model: TileModel,
    settings: Sequence[Setting],
    target: Lab,
    *,
    target_sd: float = 1.0,
    made: Sequence[Setting] = (),
) -> NextTile:
    """The candidate whose tile tells most about which candidate made the target.

    made: settings that have been tried and did not meet the target; they are not proposed again and
    count as ruled out. Where one candidate is at least as likely as not, it is made, to confirm it.
    Raises BadQuantity where none is left.
    """
    left = [s for s in settings if s not in made]
    if not left:
        raise BadQuantity("Every candidate has been made.", "Widen the card's intervals.")
    chances = _chances(model, left, target, target_sd)
    information = _information(model, left, target, target_sd, chances)
    top = int(chances.argmax())
    if chances[top] >= constant("confirm_at_pct") / 100 or len(left) == 1:
        pick, why = top, "confirm"
    else:
        pick, why = int(information.argmax()), "tell apart"
    words = (
        f"Make {left[pick].text()} next, to {why}: chance {100 * chances[pick]:.0f} %, "
        f"{information[pick]:.1f} bits expected."
    )
    return NextTile(left[pick], why, float(information[pick]), words)


def _information(
    model: TileModel, settings: Sequence[Setting], target: Lab, target_sd: float, chances: np.ndarray
) -> np.ndarray:
    """Expected information in bits of a tile at each setting about which candidate is the one.

    Were candidate h the one, its colour would be the target: that conditions what every other tile
    would show. Tiles that would show much the same whichever candidate is the one tell nothing.
    """
    mean, covariance, spread = model.joint(settings)
    goal = np.array(target.as_list())
    own = np.maximum(np.diag(covariance), 0) + model.noise
    total = np.zeros(len(settings))
    for c in range(3):
        known = own + target_sd**2 / spread[c]
        gain = covariance / known[None, :]  # column h: how a tile follows candidate h
        shown = mean[:, c][:, None] + gain * (goal[c] - mean[:, c])[None, :]
        left = np.maximum(own[:, None] - gain * covariance, model.noise) * spread[c]
        middle = shown @ chances
        mixed = (left + (shown - middle[:, None]) ** 2) @ chances
        total += 0.5 * (np.log2(mixed) - np.log2(left) @ chances)
    return np.maximum(total, 0.0)
