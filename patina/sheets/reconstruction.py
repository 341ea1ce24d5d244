"""From a vague card to plausible settings and the tiles that tell them apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from patina.colour.values import Lab

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class MeantRow:
    """What was taken for a setting. factor: its key; name: in words; said: words of the card, or where it is from."""

    factor: str
    name: str
    said: str
    meaning: str


@dataclass(frozen=True, slots=True)
class RankedRow:
    """A plausible setting. chance: that it is the one, among all. lab: expected; half_width: 95 % in L*, a*, b*.
    as_measured: the card's own measure that comes to it ("2 dessertspoons"), empty without one."""

    setting: str
    values: Mapping[str, float | str]
    chance: float
    lab: Lab
    half_width: Vector
    as_measured: str = ""


@dataclass(frozen=True, slots=True)
class LadderRow:
    """A tile to make. why: "confirm" or "tell apart". bits: information expected of it."""

    setting: str
    why: str
    chance: float
    bits: float


@dataclass(frozen=True, slots=True)
class TriedRow:
    """A tile made for this card, by its id and what is engraved on it. met: whether its colour is the target's, as far
    as can be told."""

    tile: str
    setting: str
    delta_e: float
    met: bool
    engraved: str = ""


@dataclass(frozen=True, slots=True)
class ReconstructionSheet:
    """Ranked settings, and the ladder.

    left: words of the card that were not understood. knows: what the tiles say, in a sentence.
    inside: share of tiles inside their own 95 % interval when left out one by one, inside_range: how well
    so many tiles tell that share (95 %), error: root mean square (None with fewer than three tiles).
    unknown_bits: how much is not known among the candidates.
    """

    card: str
    target: Lab
    target_name: str
    meant: tuple[MeantRow, ...]
    left: tuple[str, ...]
    tiles: int
    knows: str
    inside: float | None
    error: float | None
    candidates: int
    ranked: tuple[RankedRow, ...]
    unknown_bits: float
    ladder: tuple[LadderRow, ...]
    tried: tuple[TriedRow, ...] = ()
    cautions: tuple[str, ...] = ()
    inside_range: tuple[float, float] | None = None
