"""What the words of an old recipe can mean in g/L: an interval with its assumption, never a figure out of the air."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from patina.chemistry.concentration import grams_per_litre
from patina.chemistry.old_measures import old_measure
from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import Substance, catalogue
from patina.errors import AmbiguousQuantity, BadQuantity, PatinaError

if TYPE_CHECKING:
    from patina.bench.studio import Studio
    from patina.chemistry.old_measures import StrengthInterval

# Two ends closer than this share of the higher one are one figure.
ONE_FIGURE = 0.005


@dataclass(frozen=True, slots=True)
class OldStrength:
    """What words mean for one substance, in grams of its named form per litre of solution.

    low_g_per_l, high_g_per_l: the ends of all readings; equal where there is nothing to guess.
    assumption: what was taken, in words. source: keys of the sources, parted by semicolons.
    """

    as_written: str
    substance: str
    low_g_per_l: float
    high_g_per_l: float
    assumption: str
    source: str

    @property
    def certain(self) -> bool:
        """Whether it is one figure."""
        return self.high_g_per_l - self.low_g_per_l <= ONE_FIGURE * self.high_g_per_l

    @property
    def middle_g_per_l(self) -> float:
        """Where to begin with test tiles: as many times above the low end as below the high one."""
        low = max(self.low_g_per_l, self.high_g_per_l / 100)
        return float((low * self.high_g_per_l) ** 0.5)

    @property
    def words(self) -> str:
        """In one sentence: "6.0 to 17.9 g/L (a teaspoon of …)"."""
        if self.certain:
            return f"{figure(self.high_g_per_l)} g/L ({self.assumption})"
        return f"{figure(self.low_g_per_l)} to {figure(self.high_g_per_l)} g/L ({self.assumption})"

    def as_json(self) -> dict[str, Any]:
        """The document ``patina strength --json`` prints."""
        return {
            "as_written": self.as_written,
            "substance": self.substance,
            "low_g_per_L": self.low_g_per_l,
            "high_g_per_L": self.high_g_per_l,
            "certain": self.certain,
            "assumption": self.assumption,
            "source": self.source.split(";"),
        }


def figure(value: float) -> str:
    """Three figures that count, without a power of ten.

    >>> figure(17.888), figure(1234.5), figure(0.1)
    ('17.9', '1230', '0.1')
    """
    if value <= 0:
        return "0"
    from math import floor, log10

    places = 2 - floor(log10(value))
    rounded = round(value, places)
    return f"{rounded:.{max(places, 0)}f}".rstrip("0").rstrip(".") if places > 0 else f"{rounded:.0f}"


def old_strength(studio: Studio | None, written: str, substance: str, *, volume: str | None = None) -> OldStrength:
    """What "2 tsp per US pint", "8 deg Baume", "1:20", "5 %" or "medium stock" can mean of a substance.

    substance: as the catalogue, and the studio's own where one is open, name it. volume: what it
    goes into, with its unit, where the words do not say it. Where the words can be read in several
    ways the interval holds all of them. Raises BadQuantity, CannotConvert, UnknownSubstance.
    """
    if not written.strip():
        raise BadQuantity("No strength was written.", "Write it as the recipe has it: 2 tsp per pint.", field="written")
    known = catalogue() if studio is None else studio.catalogue()
    found = known.find(substance, field="substance")
    into_ml = None
    if volume is not None and volume.strip():
        from patina.units import volume_ml

        into_ml = volume_ml(volume, field="volume")
    try:
        return _of_interval(old_measure(written, found, into_ml, "written"), found)
    except BadQuantity as trouble:
        read = _as_strength(written, found)
        if read is None:
            raise trouble from None
        return read


def _of_interval(interval: StrengthInterval, substance: Substance) -> OldStrength:
    return OldStrength(
        interval.as_written,
        substance.name,
        interval.low_g_per_l,
        interval.high_g_per_l,
        interval.assumption,
        interval.source,
    )


def _as_strength(written: str, substance: Substance) -> OldStrength | None:
    """As a strength of today, or all readings of one that has several; None where it is none."""
    try:
        readings: Sequence[str] = (written,)
        parse_strength(written)
    except AmbiguousQuantity as trouble:
        readings = [_bare(reading) for reading in trouble.readings]
    except BadQuantity:
        return None
    found = []
    for reading in readings:
        try:
            grams, _ = grams_per_litre(parse_strength(reading), substance, volume_is="made up to")
        except PatinaError:
            continue
        found.append((grams, reading))
    if not found:
        return None
    found.sort()
    ways = " or ".join(reading for _, reading in found)
    assumption = "as written" if readings == (written,) else f"{ways}: the words do not say which"
    return OldStrength(written, substance.name, found[0][0], found[-1][0], assumption, "SI")


def _bare(reading: str) -> str:
    """A reading as it could be typed, without what is said of it: "1 part in 20, which is 5.00 %"."""
    return re.split(r" \(|, which ", reading)[0].strip()


def recipe_line(strength: OldStrength, g_per_l: float) -> str:
    """The line of a recipe file for a figure chosen within the interval, with the old words as a comment."""
    said = " ".join(strength.as_written.split())
    return f'strength = "{figure(g_per_l)} g/L"  # written "{said}": {strength.words}'
