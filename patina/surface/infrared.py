"""Infrared thermometers on bronze: what the metal is when the instrument says something else.

A hand-held instrument sees 8 to 14 µm. Bare bronze sends little of it and mirrors the room, so an
instrument left at 0.95 reads far too low, and the error shrinks as the metal oxidises. Signal:
emissivity × metal + (1 − emissivity) × surroundings, as the instrument's own arithmetic assumes it
with its own setting. Source: [PLANCK_SERIES] [SI_2019]; band and spreads [PRACTICE].
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from patina.errors import BadQuantity, Refused
from patina.surface.constants import constant

_ZERO_C = 273.15
_LOWEST_C, _HIGHEST_C = -50.0, 1500.0


@cache
def _second_constant_um_k() -> float:
    return constant("planck_h_j_s") * constant("light_speed_m_s") / constant("boltzmann_j_k") * 1e6


@cache
def _stefan_boltzmann() -> float:
    h, c, k = constant("planck_h_j_s"), constant("light_speed_m_s"), constant("boltzmann_j_k")
    return float(2 * math.pi**5 * k**4 / (15 * h**3 * c**2))


def share_below(wavelength_um: float, temperature_k: float) -> float:
    """Share of a black body's radiation below a wavelength, 0 to 1. Source: [PLANCK_SERIES].

    wavelength_um in µm, temperature_k in K.
    """
    x = _second_constant_um_k() / (wavelength_um * temperature_k)
    total = 0.0
    for n in range(1, 400):
        term = math.exp(-n * x) / n * (x**3 + 3 * x**2 / n + 6 * x / n**2 + 6 / n**3)
        total += term
        if term < 1e-16 * total:
            break
    return 15 / math.pi**4 * total


def band_w_m2(temperature_c: float) -> float:
    """What a black surface sends in the instrument's band, 8 to 14 µm, in W/m². temperature_c in °C."""
    kelvin = temperature_c + _ZERO_C
    low, high = constant("infrared_low_um"), constant("infrared_high_um")
    return _stefan_boltzmann() * kelvin**4 * (share_below(high, kelvin) - share_below(low, kelvin))


def _temperature_of(band: float) -> float:
    """The black-body temperature in °C that sends so much in the band, by halving."""
    low, high = _LOWEST_C - 150, _HIGHEST_C + 500
    for _ in range(80):
        middle = (low + high) / 2
        if band_w_m2(middle) < band:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _check(emissivity: float, what: str) -> float:
    if not math.isfinite(emissivity) or not 0.01 <= emissivity <= 1:
        raise BadQuantity(
            f"{what} of {emissivity:g} is not between 0.01 and 1.",
            "Emissivity is a share: 0.1 bare and polished, 0.95 tape.",
        )
    return emissivity


def _range(value: float, what: str) -> float:
    if not math.isfinite(value) or not _LOWEST_C <= value <= _HIGHEST_C:
        raise BadQuantity(
            f"{what} of {value:g} °C is outside what such an instrument reads ({_LOWEST_C:g} to {_HIGHEST_C:g} °C).",
            "Read again, and check whether the instrument shows °F.",
        )
    return value


def shown_c(true_c: float, emissivity: float, *, setting: float = 0.95, surroundings_c: float = 20.0) -> float:
    """What the instrument shows on metal of true_c, in °C.

    emissivity: of the surface. setting: of the instrument. surroundings_c: what the metal mirrors.
    Raises BadQuantity.

    >>> round(shown_c(95, 0.20))
    40
    """
    _check(emissivity, "The surface's emissivity")
    _check(setting, "The instrument's setting")
    room = band_w_m2(_range(surroundings_c, "The surroundings"))
    return _temperature_of(room + emissivity / setting * (band_w_m2(_range(true_c, "The metal")) - room))


def true_c(shown: float, emissivity: float, *, setting: float = 0.95, surroundings_c: float = 20.0) -> float:
    """What the metal is when the instrument shows ``shown``, in °C. See shown_c.

    Raises BadQuantity for values out of range, Refused where the reading is not above the
    surroundings by 2 K or more: nothing can be told of the metal then.
    """
    _check(emissivity, "The surface's emissivity")
    _check(setting, "The instrument's setting")
    _range(shown, "The reading")
    _range(surroundings_c, "The surroundings")
    if shown < surroundings_c + 2:
        raise Refused(
            f"The instrument shows {shown:g} °C, no more than the surroundings ({surroundings_c:g} °C).",
            "Use a contact probe, or read a spot of black tape on a tile.",
            title="This reading says nothing of the metal",
        )
    room = band_w_m2(surroundings_c)
    return _temperature_of(room + setting / emissivity * (band_w_m2(shown) - room))


@dataclass(frozen=True, slots=True)
class Corrected:
    """A corrected reading. true_c: in °C; uncertainty_k: expanded (95 %), in K; words: with the reason."""

    true_c: float
    uncertainty_k: float
    words: str


def corrected(
    shown: float,
    emissivity: float,
    emissivity_sd: float,
    *,
    setting: float = 0.95,
    surroundings_c: float = 20.0,
    surroundings_sd_k: float = 3.0,
) -> Corrected:
    """A reading corrected for the surface, with its error. Flames and hot walls near by are not in it.

    emissivity_sd: standard uncertainty of the emissivity. surroundings_sd_k: of what the metal
    mirrors, in K. Raises BadQuantity or Refused as true_c does. Source: [GUM] for adding the errors.
    """
    best = true_c(shown, emissivity, setting=setting, surroundings_c=surroundings_c)
    device = max(constant("infrared_spread_c"), constant("infrared_spread_pct") / 100 * abs(shown)) / 2

    def moved(s: float, e: float, room: float) -> float:
        signal = band_w_m2(room) + setting / e * (band_w_m2(s) - band_w_m2(room))
        return _temperature_of(signal) - best

    e_low = max(0.011, emissivity - emissivity_sd)
    parts = (
        moved(shown + device, emissivity, surroundings_c),
        moved(shown, e_low, surroundings_c) if emissivity_sd else 0.0,
        moved(shown, emissivity, surroundings_c + surroundings_sd_k),
    )
    expanded = 2 * math.sqrt(sum(p * p for p in parts))
    words = (
        f"{shown:g} °C shown at {setting:g} is {best:.0f} ± {expanded:.0f} °C "
        f"at emissivity {emissivity:.2f} ± {emissivity_sd:.2f} "
        f"and surroundings of {surroundings_c:g} °C."
    )
    return Corrected(best, expanded, words)


@dataclass(frozen=True, slots=True)
class Pair:
    """Contact and infrared reading of one place at one moment.

    contact_c: probe, °C. infrared_c: shown, °C. setting: emissivity set on the instrument.
    surroundings_c: °C. state: of the surface (bare, base coat, patinated, ...).
    """

    contact_c: float
    infrared_c: float
    setting: float = 0.95
    surroundings_c: float = 20.0
    state: str = ""


@dataclass(frozen=True, slots=True)
class Emissivity:
    """A solved emissivity. value: 0 to 1; sd: standard uncertainty; pairs: how many it rests on; words."""

    value: float
    sd: float
    pairs: int
    words: str


def solve_emissivity(pairs: Sequence[Pair]) -> Emissivity:
    """The emissivity of one state of the surface from contact and infrared pairs.

    Each pair is weighted by its own error (probe and instrument 2 °C each); where the pairs scatter
    by more than that, their scatter is taken. Raises Refused without a usable pair (metal at least
    20 K above the surroundings), or where the result would be above 1: the probe then read too low.
    Source: [PLANCK_SERIES], [GUM].
    """
    solved = [_one(p) for p in pairs if p.contact_c - p.surroundings_c >= 20]
    if not solved:
        raise Refused(
            "No pair with metal at least 20 K above the surroundings.",
            "Take contact and infrared readings of one place on the warm metal.",
            title="Emissivity cannot be told",
        )
    weights = [1 / sd**2 for _, sd in solved]
    value = sum(w * e for w, (e, _) in zip(weights, solved, strict=True)) / sum(weights)
    sd = 1 / math.sqrt(sum(weights))
    if len(solved) > 1:
        scatter = statistics.stdev([e for e, _ in solved]) / math.sqrt(len(solved))
        sd = max(sd, scatter)
    if value - sd > 1:
        raise Refused(
            f"The pairs give an emissivity of {value:.2f}, more than 1.",
            "The probe read too low: press it flat, wait, and read the same place.",
            title="Emissivity cannot be told",
        )
    value = min(value, 1.0)
    words = f"Emissivity {value:.2f} ± {sd:.2f} (one standard deviation) from {len(solved)} of {len(pairs)} pairs."
    return Emissivity(value, sd, len(solved), words)


def _one(pair: Pair) -> tuple[float, float]:
    _check(pair.setting, "The instrument's setting")
    for value, what in ((pair.contact_c, "The probe"), (pair.infrared_c, "The instrument")):
        _range(value, what)
    room = band_w_m2(pair.surroundings_c)

    def ratio(contact: float, shown: float) -> float:
        return pair.setting * (band_w_m2(shown) - room) / (band_w_m2(contact) - room)

    best = ratio(pair.contact_c, pair.infrared_c)
    device = max(constant("infrared_spread_c"), constant("infrared_spread_pct") / 100 * abs(pair.infrared_c)) / 2
    by_probe = ratio(pair.contact_c + constant("contact_spread_c") / 2, pair.infrared_c) - best
    by_device = ratio(pair.contact_c, pair.infrared_c + device) - best
    return best, math.hypot(by_probe, by_device)
