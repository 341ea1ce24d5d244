"""What single fields of a safety data sheet say; each raises BadQuantity or NotFound for what it cannot read."""

from __future__ import annotations

import re
from datetime import date

from patina.chemistry.substances import (
    AcuteToxicityEstimate,
    EmittedGas,
    HazardClass,
    SpecificLimit,
    cas_is_sound,
)
from patina.errors import BadQuantity, NotFound

TRIGGERS = ("standing", "heat", "acid", "base", "metal", "spray", "burning", "hydrochloric acid")
CLASS = re.compile(r"(?P<code>.+?)\s+(?P<h>H\d{3}[A-Za-z]{0,2})(?P<minimum>\s*\*)?")
_LIMIT = re.compile(
    r"(?P<what>.+?)\s+from\s+(?P<low>[\d.,]+\s*%)(?:\s+(?:to\s+)?below\s+(?P<high>[\d.,]+\s*%))?", re.IGNORECASE
)
_ATE_ROUTES = {
    "oral": ("oral", "mg/kg"),
    "dermal": ("dermal", "mg/kg"),
    "gas": ("gas_ppmV", "ppm"),
    "vapour": ("vapour_mg_L", "mg/L"),
    "dust": ("dust_mist_mg_L", "mg/L"),
    "mist": ("dust_mist_mg_L", "mg/L"),
}
_ROUTE_OF_H = {"H30": "oral", "H31": "dermal", "H33": "inhalation"}


def day(written: str, today: date) -> date:
    """The date of a sheet; not in the future."""
    try:
        day = date.fromisoformat(written)
    except ValueError:
        raise BadQuantity(f"'{written}' is no date.", "Write it as 2026-03-14.") from None
    if day > today:
        raise BadQuantity(f"The sheet is dated {written}, which is to come.", "Correct the date.")
    if day.year < 1970:
        raise BadQuantity(f"A data sheet of {day.year} cannot be.", "Correct the date.")
    return day


def cas_number(written: str) -> str:
    """A CAS number with a right check digit."""
    if not cas_is_sound(written):
        raise BadQuantity(f"'{written}' is no CAS number with a right check digit.", "Copy it again.")
    return written


def hazard_class(written: str, source: str) -> HazardClass:
    """A class with its statement: "Acute Tox. 4 H302"; a * behind it: the least it can be."""
    from patina.safety.label import elements

    found = CLASS.fullmatch(written)
    if found is None:
        raise BadQuantity(f"'{written}' is no class with its statement.", "Write 'Skin Corr. 1B H314'.")
    code, h = found["code"], found["h"]
    try:
        elements(code, h)
    except NotFound:
        raise BadQuantity(
            f"There is no class {code} with {h}.", "Copy both from section 2, as 'Acute Tox. 4 H302'."
        ) from None
    route = _ROUTE_OF_H.get(h[:3], "") if code.startswith("Acute Tox.") else ""
    return HazardClass(code, route, h, bool(found["minimum"]), source)


def euh_code(written: str) -> str:
    """A supplemental statement: "EUH031"."""
    from patina.safety.label import statement

    if not written.startswith("EUH"):
        raise BadQuantity(f"'{written}' is no EUH statement.", "Write it as EUH031.")
    statement(written)
    return written


def specific_limit(written: str, source: str) -> SpecificLimit:
    """A specific limit: "Skin Corr. 1B H314 from 5 % below 20 %", "EUH031 from 1 %"."""
    found = _LIMIT.fullmatch(written)
    if found is None:
        raise BadQuantity(
            f"'{written}' is no specific limit.",
            "Write 'Skin Corr. 1B H314 from 5 % below 20 %' or without 'below'.",
        )
    low = percent(found["low"])
    high = percent(found["high"]) if found["high"] else None
    if high is not None and high <= low:
        raise BadQuantity(f"'{written}' ends before it begins.", "Write the lower end first.")
    if found["what"].startswith("EUH"):
        code = euh_code(found["what"])
        return SpecificLimit(code, code, low, high, source)
    named = hazard_class(found["what"], source)
    return SpecificLimit(named.code, named.h, low, high, source)


def toxicity_estimate(written: str, source: str) -> AcuteToxicityEstimate:
    """An acute toxicity estimate: "oral 500 mg/kg", "vapour 3 mg/L"."""
    from patina.units import split_quantity

    word, _, amount = written.removeprefix("inhalation").strip().partition(" ")
    route = _ATE_ROUTES.get(word.casefold())
    remedy = "Write 'oral 500 mg/kg', 'dermal 1100 mg/kg', 'vapour 3 mg/L', 'dust 0.5 mg/L' or 'gas 700 ppm'."
    if route is None:
        raise BadQuantity(f"'{written}' names no route.", remedy)
    figure, unit = split_quantity(amount)
    if unit.replace(" ", "").casefold() != route[1].casefold() or not 0 < figure < 1e6:
        raise BadQuantity(f"'{written}' is not in {route[1]}.", remedy)
    return AcuteToxicityEstimate(route[0], figure, source)


def m_factor(written: str) -> float:
    """A multiplying factor: 1, 10, 100 …"""
    from patina.units import number

    value = number(written)
    if value not in {10.0**n for n in range(8)}:
        raise BadQuantity(f"An M-factor of {written} cannot be.", "It is 1, 10, 100 …; leave it out if not said.")
    return value


def molar_mass_g_mol(written: str) -> float:
    """A molar mass in g/mol."""
    from patina.units import split_quantity

    figure, unit = split_quantity(written)
    if unit.replace(" ", "") != "g/mol" or not 1 < figure < 5000:
        raise BadQuantity(f"'{written}' is no molar mass.", "Write it as 241.60 g/mol.")
    return figure


def density_g_ml(written: str) -> float:
    """A density in g/mL."""
    from patina.units import density_g_per_ml

    return density_g_per_ml(written)


def percent(written: str) -> float:
    """A share in %, above 0 and at most 100."""
    from patina.units import share

    return share(written, zero=False) * 100.0


def emitted_gas(written: str, source: str) -> EmittedGas:
    """A gas with what sets it free: "hydrogen sulphide: acid: any acid"."""
    from patina.safety.air import gases

    name, trigger, when = [*(part.strip() for part in written.split(":", 2)), "", ""][:3]
    if name not in gases():
        from difflib import get_close_matches

        near = get_close_matches(name, gases(), n=3, cutoff=0.6)
        known = f"Did you mean {' or '.join(near)}?" if near else f"Known: {', '.join(sorted(gases()))}."
        raise BadQuantity(f"'{name}' is no gas that is known here.", known)
    if trigger not in TRIGGERS:
        raise BadQuantity(
            f"'{written}' does not say what sets it free.",
            f"Write '{name}: acid: any acid'; one of: {', '.join(TRIGGERS)}.",
        )
    return EmittedGas(name, trigger, when or f"as section 10 of the sheet says ({trigger})", source)
