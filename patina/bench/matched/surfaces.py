"""What the records know of a surface as a distribution: tones with shares, spread within them, grain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from patina.colour.values import Lab, Part
from patina.matching.constants import constant
from patina.matching.mottle import Surface, spread_within
from patina.sheets import ReadingRow
from patina.sheets.matching import ZoneRow

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Seen:
    """A surface as it was read. parts: empty where the tones were not read. spread: within a tone, None where not
    read. grain_px, grain_mm: None where not known. photograph: SHA-256 of the picture it was read in."""

    lab: Lab
    parts: tuple[Part, ...] = ()
    spread: Vector | None = None
    grain_px: float | None = None
    grain_mm: float | None = None
    photograph: str | None = None
    reading: str = ""

    @property
    def uneven(self) -> bool:
        """Whether there is a mottle that can have a grain."""
        if len(self.parts) > 1:
            return True
        return self.spread is not None and max(self.spread) >= constant("texture_least_spread")

    def surface(self, grain: float | None) -> Surface:
        """As it is compared; without tones it stands as one."""
        return Surface(whole(self.parts) or (Part(self.lab, 1.0),), self.spread, grain)


def whole(parts: Sequence[Part]) -> tuple[Part, ...]:
    """The tones that cover something, their shares adding up to 1 (kept shares are rounded)."""
    covering = [p for p in parts if p.share > 0]
    total = sum(p.share for p in covering)
    return tuple(replace(p, share=p.share / total) for p in covering)


def seen_in(row: ReadingRow) -> Seen:
    """What a reading says of the surface. Only a photograph's spread is of the surface: an instrument's is of its
    spots."""
    spread = None
    if row.source == "photograph" and row.sd is not None:
        spread = spread_within(row.sd, whole(row.parts))
    return Seen(row.lab, row.parts, spread, row.grain_px, row.grain_mm, row.photograph, row.id)


def seen_of(rows: Sequence[ReadingRow]) -> Seen | None:
    """The first reading whose tones were read, else the first photograph, else nothing."""
    found = next((r for r in rows if r.parts), None) or next((r for r in rows if r.source == "photograph"), None)
    return None if found is None else seen_in(found)


def seen_zone(zone: ZoneRow) -> Seen:
    """What an agreed zone says of its surface."""
    return Seen(zone.lab, zone.parts, zone.spread, zone.grain_px, zone.grain_mm, zone.photograph, zone.surface_of)


def with_surface(zone: ZoneRow, seen: Seen | None) -> ZoneRow:
    """The zone with what a reading says of its surface; its tones stay as they were agreed."""
    if seen is None:
        return zone
    return replace(
        zone,
        parts=zone.parts or seen.parts,
        surface_of=seen.reading,
        spread=seen.spread,
        grain_px=seen.grain_px,
        grain_mm=seen.grain_mm,
        photograph=seen.photograph,
    )


def grains(one: Seen, other: Seen) -> tuple[float | None, float | None]:
    """The grain of both in one unit: mm, or pixels where both were read in one photograph. None where not known or
    where a side is even."""
    if not (one.uneven and other.uneven):
        return None, None
    if one.grain_mm is not None and other.grain_mm is not None:
        return one.grain_mm, other.grain_mm
    if one.photograph is not None and one.photograph == other.photograph:
        return one.grain_px, other.grain_px
    return None, None


def grain_words(one: Seen, other: Seen, names: tuple[str, str]) -> str:
    """Why the grain could not be compared, empty where it was or where there is none."""
    if not (one.uneven and other.uneven) or None not in grains(one, other):
        return ""
    unknown = [name for name, seen in zip(names, (one, other), strict=True) if seen.grain_mm is None]
    return (
        f"Grain was not compared: that of {' and of '.join(unknown)} is not known in mm. Read it on a placard, or say "
        "what the area measures."
    )
