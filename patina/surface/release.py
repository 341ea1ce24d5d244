"""Release before wax: is the metal rinsed, dry and warm enough, and which reading is missing?

The rinse is at its end when its water has stopped changing, not when a time has passed.
Source: limits in data/release_limits.csv [PRACTICE]; dew in ``dew.py``
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from patina.datafile import number, read_table, text
from patina.errors import BadQuantity


@dataclass(frozen=True, slots=True)
class RinseReading:
    """What one rinse water showed. conductivity_us_cm: µS/cm; ph: 0-14; chloride_mg_l: mg/L, 0 for a
    strip at its blank. None: not measured."""

    conductivity_us_cm: float | None = None
    ph: float | None = None
    chloride_mg_l: float | None = None


@dataclass(frozen=True, slots=True)
class SurfaceState:
    """The metal and the air before wax: °C, °C, % relative humidity. None: not measured."""

    metal_c: float | None = None
    air_c: float | None = None
    air_rh_pct: float | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """given: wax may go on. missing: readings still to be taken. against: what speaks against it."""

    given: bool
    missing: tuple[str, ...]
    against: tuple[str, ...]


@cache
def release_limits() -> dict[str, float]:
    """The limits by key, from ``data/release_limits.csv``."""
    rows = read_table("release_limits.csv", {"key": text, "value": number, "meaning": text, "source": text})
    return {row["key"]: row["value"] for row in rows}


def release(
    supply: RinseReading, rinses: Sequence[RinseReading], surface: SurfaceState, *, chloride_used: bool
) -> Release:
    """Whether wax may go on.

    supply: the water that the piece is rinsed with. rinses: in order of time. chloride_used: a
    solution with chloride was on the metal, so the chloride strip must be read.
    Raises BadQuantity for readings that no instrument gives.

    >>> clean = RinseReading(210, 7.2, 0)
    >>> release(clean, [RinseReading(400, 6.0, 9), RinseReading(216, 7.1, 0), RinseReading(214, 7.2, 0)],
    ...         SurfaceState(24, 20, 60), chloride_used=True).given
    True
    """
    for reading in (supply, *rinses):
        _possible(reading)
    missing = [*_missing_rinse(supply, rinses, chloride_used), *_missing_surface(surface)]
    against = [*_rinse_against(supply, rinses, chloride_used), *_surface_against(surface)]
    return Release(not missing and not against, tuple(missing), tuple(against))


def _possible(reading: RinseReading) -> None:
    checks = (
        ("conductivity", reading.conductivity_us_cm, 0.0, 200_000.0, "µS/cm"),
        ("pH", reading.ph, 0.0, 14.0, ""),
        ("chloride", reading.chloride_mg_l, 0.0, 200_000.0, "mg/L"),
    )
    for what, value, low, high, unit in checks:
        if value is not None and not low <= value <= high:
            raise BadQuantity(
                f"A {what} of {value:g} {unit} cannot be.".replace("  ", " "),
                f"Give a value between {low:g} and {high:g} {unit}.".replace(" .", "."),
                field=what,
            )


def _missing_rinse(supply: RinseReading, rinses: Sequence[RinseReading], chloride_used: bool) -> list[str]:
    missing = []
    if supply.conductivity_us_cm is None:
        missing.append("conductivity of the supply water")
    if supply.ph is None:
        missing.append("pH of the supply water")
    if len([r for r in rinses if r.conductivity_us_cm is not None]) < 2:
        missing.append("conductivity of two rinses one after the other")
    if not rinses or rinses[-1].ph is None:
        missing.append("pH of the last rinse")
    if chloride_used and (not rinses or rinses[-1].chloride_mg_l is None):
        missing.append("chloride of the last rinse")
    return missing


def _missing_surface(surface: SurfaceState) -> list[str]:
    named = (
        ("temperature of the metal", surface.metal_c),
        ("temperature of the air", surface.air_c),
        ("relative humidity of the air", surface.air_rh_pct),
    )
    return [name for name, value in named if value is None]


def _rinse_against(supply: RinseReading, rinses: Sequence[RinseReading], chloride_used: bool) -> list[str]:
    limits = release_limits()
    against = []
    measured = [r.conductivity_us_cm for r in rinses if r.conductivity_us_cm is not None]
    if measured and supply.conductivity_us_cm is not None:
        above = measured[-1] - supply.conductivity_us_cm
        if above > limits["conductivity_above_supply_us_cm"]:
            against.append(f"the last rinse conducts {above:.0f} µS/cm more than the supply")
    if len(measured) >= 2 and abs(measured[-1] - measured[-2]) > limits["conductivity_flat_us_cm"]:
        against.append(f"the rinse still changes: {measured[-2]:.0f} to {measured[-1]:.0f} µS/cm")
    last = rinses[-1] if rinses else RinseReading()
    if last.ph is not None and supply.ph is not None and abs(last.ph - supply.ph) > limits["ph_from_supply"]:
        against.append(f"pH {last.ph:.1f} where the supply has {supply.ph:.1f}")
    blank = supply.chloride_mg_l or 0.0
    if chloride_used and last.chloride_mg_l is not None and last.chloride_mg_l > blank:
        against.append(f"chloride is still found: {last.chloride_mg_l:g} mg/L, supply {blank:g}")
    return against


def _surface_against(surface: SurfaceState) -> list[str]:
    if surface.metal_c is None or surface.air_c is None or surface.air_rh_pct is None:
        return []
    from patina.surface.dew import check_dew

    found = check_dew(surface.metal_c, surface.air_c, surface.air_rh_pct)
    return [] if found.dry else [found.words]
