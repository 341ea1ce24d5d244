"""Heat of a pass: how far the metal drops, how much may go on, what the torch must give.

The whole wall is taken to share the heat and the torch to be away, which holds after the time of
``sharing_time_s``; all water is taken to leave as steam. Source: [CALC] from [WATER_STEAM] and the
alloy's density and heat capacity.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from patina.errors import BadQuantity
from patina.surface.alloys import Alloy
from patina.surface.area import positive
from patina.surface.constants import constant


def _temperature(value: float, what: str, low: float = -40.0, high: float = 1000.0) -> float:
    if not math.isfinite(value) or not low <= value <= high:
        raise BadQuantity(
            f"{what} of {value:g} °C is not between {low:g} and {high:g} °C.", "Check the reading and its unit."
        )
    return value


def wall_heat_kj_m2_k(wall_mm: float, alloy: Alloy) -> float:
    """Heat that one m² of wall stores per kelvin, in kJ/(m² K). wall_mm: in mm, up to 100.

    >>> from patina.surface.alloys import find_alloy
    >>> round(wall_heat_kj_m2_k(5, find_alloy("C87300")), 1)
    15.8
    """
    positive(wall_mm, "The wall", "mm", most=100, field_name="wall")
    # g/mL × mm is kg/m²; J/(kg K) / 1000 is kJ/(kg K).
    return alloy.density_g_ml * wall_mm * alloy.specific_heat_j_kg_k / 1000


def water_heat_kj_ml(water_c: float = 20.0) -> float:
    """Heat that takes one mL of water (measured at 20 °C) from water_c to steam, in kJ/mL.

    Dissolved salts are not counted. water_c: 0 to 100 °C. Raises BadQuantity.

    >>> round(water_heat_kj_ml(20), 2)
    2.59
    """
    _temperature(water_c, "Water", 0.0, constant("water_boils_c"))
    warming = constant("water_heat_kj_kg_k") * (constant("water_boils_c") - water_c)
    return constant("water_density_g_ml") * (warming + constant("water_latent_kj_kg")) / 1000


@dataclass(frozen=True, slots=True)
class PassHeat:
    """What one pass does to the metal.

    stored_kj_m2_k: heat the wall stores, kJ/(m² K). drop_k: how far the metal cools, in K.
    most_ml_m2: water that spends the whole window, in mL/m² (None where no window was given).
    passes_in_window: how many such passes the window bears without the torch. hold_kw_m2: power
    into the metal that keeps the temperature at one pass per minute, kW/m².
    share_s: time after which the whole thickness shares, in s (None where the alloy's conductivity
    is unknown). working: the sums in words.
    """

    stored_kj_m2_k: float
    drop_k: float
    most_ml_m2: float | None
    passes_in_window: float | None
    hold_kw_m2: float
    share_s: float | None
    working: str


def pass_heat(
    wall_mm: float,
    alloy: Alloy,
    coverage_ml_m2: float,
    window_c: tuple[float, float] | None = None,
    *,
    per_min: float = 1.0,
    water_c: float = 20.0,
) -> PassHeat:
    """The heat budget of one pass.

    wall_mm: in mm. coverage_ml_m2: delivered to the metal per pass, in mL/m². window_c: lowest and
    highest surface temperature in °C. per_min: passes per minute over the same place. water_c:
    temperature of what goes on, in °C. Raises BadQuantity.
    """
    positive(coverage_ml_m2, "The coverage", "mL/m2", most=2000, field_name="coverage")
    positive(per_min, "The passes per minute", "per min", most=60, field_name="per_min")
    stored = wall_heat_kj_m2_k(wall_mm, alloy)
    heat = water_heat_kj_ml(water_c)
    drop = coverage_ml_m2 * heat / stored
    hold = coverage_ml_m2 * heat * per_min / 60
    most = most_ml_m2(wall_mm, alloy, window_c, water_c=water_c) if window_c else None
    working = (
        f"{alloy.density_g_ml:g} g/cm³ × {wall_mm:g} mm × {alloy.specific_heat_j_kg_k:g} J/(kg K) "
        f"= {stored:.1f} kJ/(m² K); "
        f"{coverage_ml_m2:g} mL/m² × {heat:.2f} kJ/mL / {stored:.1f} = {drop:.1f} K; "
        f"held by {hold:.1f} kW/m² into the metal at {per_min:g} pass per minute"
    )
    if window_c and most is not None:
        working += f"; a window of {window_c[1] - window_c[0]:g} K is spent by {most:.0f} mL/m²"
    return PassHeat(
        stored,
        drop,
        most,
        None if most is None else most / coverage_ml_m2,
        hold,
        sharing_time_s(wall_mm, alloy),
        working + ".",
    )


def most_ml_m2(wall_mm: float, alloy: Alloy, window_c: tuple[float, float], *, water_c: float = 20.0) -> float:
    """Water that cools the metal through the whole window, in mL/m². Raises BadQuantity for a window upside down."""
    low, high = (_temperature(t, "A window's end") for t in window_c)
    if low >= high:
        raise BadQuantity(
            f"The window {low:g} to {high:g} °C has no width.", "Give the lower temperature first.", field="window"
        )
    return (high - low) * wall_heat_kj_m2_k(wall_mm, alloy) / water_heat_kj_ml(water_c)


def torch_power_kw(hold_kw_m2: float, area_m2: float, torch_share: float) -> float:
    """Power of flame that puts a given power into the metal, in kW.

    hold_kw_m2: into the metal, per m² worked at a time. area_m2: of that part. torch_share: share
    of the flame's heat that the metal takes, 0 to 1; it is this house's own figure, from
    ``torch_share``. Raises BadQuantity.
    """
    positive(torch_share, "The torch's share", "", most=1, field_name="torch_share")
    return (
        positive(hold_kw_m2, "The power", "kW/m2", most=1e4)
        * positive(area_m2, "The area", "m2", most=1e4)
        / torch_share
    )


def torch_share(wall_mm: float, alloy: Alloy, area_m2: float, rise_k: float, minutes: float, flame_kw: float) -> float:
    """Share of a flame's heat that the metal took, from a dry heating of rise_k kelvin in so many minutes.

    Raises BadQuantity where the metal would have taken more than the flame gave.
    """
    positive(area_m2, "The area", "m2", most=1e4)
    positive(rise_k, "The rise", "K", most=1000)
    positive(minutes, "The time", "min", most=1000)
    positive(flame_kw, "The flame", "kW", most=1000)
    share = wall_heat_kj_m2_k(wall_mm, alloy) * area_m2 * rise_k / (minutes * 60) / flame_kw
    if share > 1:
        raise BadQuantity(
            f"The metal would have taken {share:.1f} times what the flame gave.",
            "Check area, wall, time and the power of the torch.",
        )
    return share


def sharing_time_s(wall_mm: float, alloy: Alloy) -> float | None:
    """Time in which heat crosses the wall (thickness² / diffusivity), in s; None where conductivity is unknown."""
    if alloy.conductivity_w_m_k is None:
        return None
    diffusivity = alloy.conductivity_w_m_k / (alloy.density_g_ml * 1000 * alloy.specific_heat_j_kg_k)
    return (wall_mm / 1000) ** 2 / diffusivity


@dataclass(frozen=True, slots=True)
class CastSettings:
    """What a tile's settings become on the cast.

    ratio: heat stored by the cast's wall over the tile's. coverage_ml_m2: that cools the cast as
    far as the tile was cooled, if the passes stay as many. drop_tile_k, drop_cast_k: how far the
    tile's own coverage cools each, in K. pause_ratio: how much longer the same torch takes to win
    back the same drop. words: what to do.
    """

    ratio: float
    coverage_ml_m2: float
    drop_tile_k: float
    drop_cast_k: float
    pause_ratio: float
    words: str


def tile_to_cast(
    tile_mm: float, tile_alloy: Alloy, cast_mm: float, cast_alloy: Alloy, coverage_ml_m2: float
) -> CastSettings:
    """What settings found on a tile become on a cast of another wall or alloy.

    tile_mm, cast_mm: walls in mm. coverage_ml_m2: per pass on the tile. The patina itself depends on
    the amount of salt per area, so the tile's coverage stays the aim; what changes is how far the
    metal swings. Raises BadQuantity.
    """
    tile = pass_heat(tile_mm, tile_alloy, coverage_ml_m2)
    cast = pass_heat(cast_mm, cast_alloy, coverage_ml_m2)
    ratio = cast.stored_kj_m2_k / tile.stored_kj_m2_k
    swing = f"{ratio:.2g} times less" if ratio >= 1 else f"{1 / ratio:.2g} times more"
    words = (
        f"At {coverage_ml_m2:g} mL/m² the tile dropped {tile.drop_k:.1f} K, "
        f"the cast drops {cast.drop_k:.1f} K: {swing}. "
        f"Keep the coverage and expect the cast to stay {'hotter' if ratio >= 1 else 'cooler'} between passes; "
        f"the same drop takes {coverage_ml_m2 * ratio:.0f} mL/m². "
        f"The torch needs {ratio:.2g} times as long for the same rise."
    )
    if cast_alloy.key != tile_alloy.key:
        words += f" Tile is {tile_alloy.key}, cast is {cast_alloy.key}: colour may differ whatever the heat."
    return CastSettings(ratio, coverage_ml_m2 * ratio, tile.drop_k, cast.drop_k, ratio, words)
