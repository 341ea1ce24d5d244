"""What a reading becomes when it is cold, waxed or older, and what an old piece was."""

from __future__ import annotations

from dataclasses import dataclass

from patina.colour.values import Lab

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class ShiftRow:
    """A learnt shift. of: "wax", "lacquer" or "cooling". tiles: one pair each. vector, sd: change of L*, a*, b* and
    its spread (None with one pair). own: whether the pairs are of this recipe."""

    of: str
    vector: Vector
    sd: Vector | None
    tiles: tuple[str, ...]
    own: bool
    words: str


@dataclass(frozen=True, slots=True)
class CourseRow:
    """How twins aged in one place. kept: dark, shelf, outdoors or "not stated". amount: final change of L*, a*, b*.
    time_days: after which 63 % of it is done, low_days to high_days by the fit (95 %)."""

    kept: str
    twins: int
    readings: int
    longest_days: float
    amount: Vector
    time_days: float
    low_days: float
    high_days: float
    words: str


@dataclass(frozen=True, slots=True)
class Foretold:
    """A colour not read but worked out. half_width: 95 % in L*, a*, b*, None where it is not known."""

    lab: Lab
    half_width: Vector | None
    words: str


@dataclass(frozen=True, slots=True)
class PredictionSheet:
    """What a reading becomes, and what the piece was when it was delivered.

    reading: its id; lab: as read; was, becomes: the states. shifts: used, in order. final: None where a
    shift was never seen. missing: why. difference: of the final colour from the agreed finish, master.
    delivered: None where it was not asked or cannot be told, delivered_words says which. courses: all
    places that twins were kept in. target_name: what the piece is called.
    """

    target: str
    reading: str
    lab: Lab
    was: str
    becomes: str
    shifts: tuple[ShiftRow, ...]
    final: Foretold | None
    missing: tuple[str, ...]
    master: str | None
    master_lab: Lab | None
    delta_e: float | None
    delivered: Foretold | None
    delivered_words: str
    courses: tuple[CourseRow, ...]
    cautions: tuple[str, ...] = ()
    master_name: str = ""
    target_name: str = ""
