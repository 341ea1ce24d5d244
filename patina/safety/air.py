"""Gas in the room: limits of the issuing bodies, grams at most, concentration, air flow and time to a limit.

Everything here is an upper bound or a mean over the room; at the face it can be many times more. Dilution is for
little, mild vapour far from the face: nitrogen dioxide, hydrogen sulphide, hydrogen chloride and chromium(VI) need
local exhaust.

Source: [VENT], [NIOSH_NPG]
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from patina.chemistry.substances import Substance
from patina.datafile import Parser, any_text, one_of, optional_number, read_table, text, words
from patina.datafile import number as a_number
from patina.errors import BadQuantity, NotFound
from patina.safety.formula import count_of
from patina.safety.rules import show
from patina.safety.tagwords import matcher
from patina.safety.values import Limit

KINDS = ("TWA", "STEL", "ceiling", "peak", "IDLH")
KELVIN = 273.15


@dataclass(frozen=True, slots=True)
class AirLimit:
    """One value of one body. kind: one of KINDS. ppm: by volume; mg_m3: as the body prints it; minutes: averaging
    time. None where the body prints none."""

    agent: str
    who: str
    kind: str
    ppm: float | None
    mg_m3: float | None
    minutes: float | None
    note: str
    source: str

    def words(self) -> str:
        """ "STEL 10 ppm (14 mg/m³), 15 min"."""
        mg = f"{self.mg_m3:g} mg/m³" if self.mg_m3 is not None else ""
        amount = f"{self.ppm:g} ppm" + (f" ({mg})" if mg else "") if self.ppm is not None else mg
        minutes = f", {self.minutes:g} min" if self.minutes is not None and self.minutes < 60 else ""
        return f"{self.kind} {amount}{minutes}" + (f", {self.note}" if self.note else "")


@dataclass(frozen=True, slots=True)
class Gas:
    """One gas, vapour, mist or fume. agents: what its limits are kept under. molar_mass_g_mol: None for mixtures.
    filter: what keeps it from a person. note: whether the nose warns, and what it does."""

    name: str
    agents: tuple[str, ...]
    formula: str
    molar_mass_g_mol: float | None
    filter: str
    note: str
    source: str


@cache
def air_limits() -> tuple[AirLimit, ...]:
    """All limits of ``data/exposure_limits.csv``."""
    columns: dict[str, Parser] = {
        "agent": text,
        "who": text,
        "kind": one_of(*KINDS),
        "ppm": optional_number,
        "mg_m3": optional_number,
        "minutes": optional_number,
        "note": any_text,
        "source": text,
    }
    return tuple(AirLimit(**row) for row in read_table("exposure_limits.csv", columns))


@cache
def gases() -> dict[str, Gas]:
    """All gases by name, from ``data/gases.csv``."""
    columns: dict[str, Parser] = {
        "gas": text,
        "agents": words,
        "formula": any_text,
        "molar_mass_g_mol": optional_number,
        "filter": any_text,
        "note": text,
        "source": text,
    }
    return {row["gas"]: Gas(name=row.pop("gas"), **row) for row in read_table("gases.csv", columns)}


def gas(name: str) -> Gas:
    """One gas. Raises NotFound."""
    try:
        return gases()[name]
    except KeyError:
        raise NotFound(f"No gas is known as '{name}'.", f"Known: {', '.join(gases())}.") from None


@cache
def constant(key: str) -> float:
    """A number of ``data/air_constants.csv``. Raises NotFound."""
    columns: dict[str, Parser] = {"key": text, "value": a_number, "unit": text, "meaning": text, "source": text}
    for row in read_table("air_constants.csv", columns):
        if row["key"] == key:
            return float(row["value"])
    raise NotFound(f"air_constants.csv has no row '{key}'.", "Install the program again, or add the row.")


def limits_of(name: str) -> tuple[Limit, ...]:
    """What each body says of a gas, one entry per body, as the safety sheet prints it."""
    agents = gas(name).agents
    found: dict[tuple[str, str], list[AirLimit]] = {}
    for x in air_limits():
        if x.agent in agents:
            found.setdefault((x.agent, x.who), []).append(x)
    several = len(agents) > 1
    result = []
    for (agent, who), rows in found.items():
        value = "; ".join(x.words() for x in rows)
        result.append(Limit(who, f"{agent}: {value}" if several else value, rows[0].source))
    return tuple(result)


def molar_volume_l(temperature_c: float) -> float:
    """Litres per mole of gas at 101.325 kPa.

    >>> round(molar_volume_l(25), 2), round(molar_volume_l(20), 2), round(molar_volume_l(0), 3)
    (24.47, 24.06, 22.414)
    """
    if temperature_c <= -KELVIN:
        raise BadQuantity(f"{temperature_c:g} °C is below absolute zero.", "Give the temperature of the air in °C.")
    return constant("molar_volume_0c") * (KELVIN + temperature_c) / KELVIN


def mg_m3_from_ppm(ppm: float, molar_mass_g_mol: float, temperature_c: float = 25.0) -> float:
    """mg/m³ of a gas from ppm by volume at 101.325 kPa.

    >>> round(mg_m3_from_ppm(10, 34.08), 1)
    13.9
    """
    return ppm * molar_mass_g_mol / molar_volume_l(temperature_c)


def ppm_from_mg_m3(mg_m3: float, molar_mass_g_mol: float, temperature_c: float = 25.0) -> float:
    """ppm by volume of a gas from mg/m³ at 101.325 kPa."""
    return mg_m3 * molar_volume_l(temperature_c) / molar_mass_g_mol


@cache
def _releases() -> list[dict[str, object]]:
    columns: dict[str, Parser] = {
        "gas": text,
        "tags": text,
        "counted": any_text,
        "moles": optional_number,
        "grams_per_g": optional_number,
        "why": text,
        "source": text,
    }
    return read_table("release.csv", columns)


def released_at_most_g(
    substance: Substance, amount_g: float, gas_name: str, fraction: float = 1.0
) -> tuple[float, str]:
    """Grams of a gas that an amount of a substance can give off at most, and the sum in words.

    amount_g: of the pure named form. fraction: share (0-1) thought to be released; 1 is the upper bound.
    Raises BadQuantity for an amount below 0 or a fraction outside 0-1, NotFound where the substance gives off no
    such gas or the amount cannot be told from its formula.
    """
    if amount_g < 0 or not math.isfinite(amount_g) or not 0 <= fraction <= 1:
        raise BadQuantity(
            "The amount or the fraction cannot be.", "Give grams of 0 or more and a fraction from 0 to 1."
        )
    wanted = gas(gas_name)
    for row in _releases():
        if row["gas"] != gas_name or not matcher(str(row["tags"]))(substance.tags):
            continue
        if row["grams_per_g"] is not None:
            grams = amount_g * float(str(row["grams_per_g"])) * fraction
            return grams, f"{show(amount_g)} g × {row['grams_per_g']} × {fraction:g} = {grams:.4g} g ({row['why']})"
        groups = count_of(substance.formula, str(row["counted"])) * float(str(row["moles"]))
        mass = substance.active_molar_mass_g_mol
        if groups and mass and wanted.molar_mass_g_mol:
            grams = amount_g / mass * groups * wanted.molar_mass_g_mol * fraction
            sums = f"{show(amount_g)} g / {mass:g} × {groups:g} × {wanted.molar_mass_g_mol:g} × {fraction:g}"
            return grams, f"{sums} = {grams:.4g} g ({row['why']})"
    raise NotFound(
        f"How much {gas_name} {substance.name} can give off is not known.", "Treat all of it as released, or measure."
    )


def mixed_mg_m3(released_g: float, room_m3: float) -> float:
    """mg/m³ if a release spreads evenly through a room before any air is changed.

    >>> round(ppm_from_mg_m3(mixed_mg_m3(0.709, 50), 34.08), 1)
    10.2
    """
    if released_g < 0 or room_m3 <= 0:
        raise BadQuantity("The release or the room cannot be.", "Give grams of 0 or more and a room above 0 m³.")
    return released_g * 1000 / room_m3


def flow_needed_m3_h(rate_mg_h: float, limit_mg_m3: float, k: float | None = None) -> float:
    """Fresh air in m³/h that keeps a steady release at a limit: Q = K × rate / limit.

    rate_mg_h: mg per hour. k: 1 (perfect mixing) to 10 (poor); None takes 5. Raises BadQuantity.

    >>> flow_needed_m3_h(10_000, 10, 5)
    5000.0
    """
    factor = constant("k_usual") if k is None else k
    if not constant("k_ideal") <= factor <= constant("k_poor"):
        raise BadQuantity(f"A mixing factor K of {factor:g} cannot be.", "Give K from 1 (ideal) to 10 (poor mixing).")
    if rate_mg_h < 0 or limit_mg_m3 <= 0:
        raise BadQuantity("The release or the limit cannot be.", "Give mg/h of 0 or more and a limit above 0 mg/m³.")
    return rate_mg_h * factor / limit_mg_m3


def steady_mg_m3(rate_mg_h: float, flow_m3_h: float, room_m3: float, hours: float) -> float:
    """mg/m³ after some hours of steady release: G/Q × (1 - exp(-Q t / V)), from clean air. No flow: G t / V."""
    if min(rate_mg_h, flow_m3_h, hours) < 0 or room_m3 <= 0:
        raise BadQuantity("A rate, flow, room or time cannot be.", "Give values of 0 or more and a room above 0 m³.")
    if flow_m3_h == 0:
        return rate_mg_h * hours / room_m3
    return rate_mg_h / flow_m3_h * -math.expm1(-flow_m3_h * hours / room_m3)


def hours_to_limit(rate_mg_h: float, flow_m3_h: float, room_m3: float, limit_mg_m3: float) -> float | None:
    """Hours of steady release until a limit is reached in the mean of the room; None where it never is.

    >>> hours_to_limit(1000, 0, 50, 10)
    0.5
    """
    if min(rate_mg_h, flow_m3_h) < 0 or room_m3 <= 0 or limit_mg_m3 <= 0:
        raise BadQuantity("A rate, flow, room or limit cannot be.", "Give values above 0.")
    if rate_mg_h == 0:
        return None
    if flow_m3_h == 0:
        return limit_mg_m3 * room_m3 / rate_mg_h
    share = limit_mg_m3 * flow_m3_h / rate_mg_h
    return None if share >= 1 else -math.log1p(-share) * room_m3 / flow_m3_h
