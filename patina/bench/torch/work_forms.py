"""What is typed to begin a work or in one of its dialogs, made into entries; all that is wrong is said at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from patina.entries import NewCoat, NewWork, Thermometer
from patina.errors import BadQuantity, Incomplete, PatinaError, Refused

V = TypeVar("V")

_ZONE = re.compile(r"(?P<name>.*?\S)[\s:=]+(?P<area>[\d.,]+\s*(?:[a-zA-Z²µ.\s]+)[2²]?)")
_SETTING = re.compile(r"(?<![\d.,])(?:0?[.,]\d+|1(?:[.,]0+)?)(?![\d.,])")
_RANGE = re.compile(r"(?P<low>[-−]?\d[\d.,]*)\s*(?:to|…|\.\.)\s*(?P<high>[-−]?\d[\d.,]*)\s*(?P<unit>°?\s*[CF]\b)")


class _Fields:
    """Reads fields and collects what is wrong."""

    def __init__(self, fields: Mapping[str, str]):
        self._fields = fields
        self.troubles: list[PatinaError] = []

    def text(self, key: str) -> str:
        return self._fields.get(key, "").strip()

    def read(self, key: str, reader: Callable[[str, str], V]) -> V | None:
        written = self.text(key)
        if not written:
            return None
        try:
            return reader(written, key)
        except PatinaError as trouble:
            trouble.field = trouble.field or key
            self.troubles.append(trouble)
            return None

    def done(self) -> None:
        if self.troubles:
            raise Incomplete(self.troubles)


def work_form(fields: Mapping[str, str]) -> NewWork:
    """The beginning of a work. zones: "front 0.4 m2; back 0.3 m2"; thermometer: "contact °C" or
    "infrared 0.95 °C"; air "21 °C", humidity "55 %". Raises Incomplete."""
    from patina.units import temperature_c

    form = _Fields(fields)
    zones = form.read("zones", _zones)
    thermometer = form.read("thermometer", _thermometer)
    air = form.read("air", temperature_c)
    humidity = form.read("humidity", percent)
    texture = form.read("texture", plain_number)
    form.done()
    return NewWork(
        target=form.text("target"),
        recipe=form.text("recipe"),
        zones=zones or (),
        batch=form.text("batch").split()[0] if form.text("batch") else None,
        tool=form.text("tool"),
        done_by=form.text("done_by"),
        place=form.text("place"),
        air_c=air,
        air_rh_pct=humidity,
        thermometer=thermometer or Thermometer(),
        texture=texture,
        though_old=form.text("though_old"),
        note=form.text("note"),
    )


def percent(text: str, field: str) -> float:
    """A percentage with its sign, such as humidity. Raises BadQuantity."""
    from patina.units import share

    return 100 * share(text, field=field)


def plain_number(text: str, field: str) -> float:
    """A figure without a unit. Raises BadQuantity."""
    from patina.units import number

    return number(text, field=field)


def temperature(text: str, field: str) -> float:
    """A temperature with its unit, in °C. Raises BadQuantity."""
    from patina.units import temperature_c

    return temperature_c(text, field=field)


def duration(text: str, field: str) -> float:
    """A length of time with its unit, in hours. Raises BadQuantity."""
    from patina.units import duration_h

    return duration_h(text, field=field)


def amount(text: str, field: str) -> tuple[float, str]:
    """An amount with its unit, as ("g" or "mL"). Raises BadQuantity."""
    from patina.bench.forms import amount_and_unit

    return amount_and_unit(text, field)


def _zones(text: str, field: str) -> tuple[tuple[str, float | None], ...]:
    from patina.units import area_m2

    found: list[tuple[str, float | None]] = []
    for part in (p.strip() for p in text.split(";")):
        if not part:
            continue
        match = _ZONE.fullmatch(part)
        if match is None:
            found.append((part, None))
        else:
            found.append((match["name"].strip(" ,:="), area_m2(match["area"], field=field)))
    return tuple(found)


def _thermometer(text: str, field: str) -> Thermometer:
    """Kind, emissivity set and unit of the display, and what it reads where that is written."""
    from patina.surface.constants import constant
    from patina.units import temperature_c

    words = text.casefold()
    kinds = [
        k
        for k, names in (("contact", ("contact", "probe")), ("infrared", ("infrared", "ir ")))
        if any(n in f"{words} " for n in names)
    ]
    if len(kinds) != 1:
        raise Refused("It is not said what the metal is read with.", "Write contact or infrared.", field=field)
    reach = _RANGE.search(text)
    rest = text if reach is None else text.replace(reach[0], " ")
    scale = "°F" if re.search(r"(°|deg|\b)\s*F\b", text) else "°C" if re.search(r"(°|deg|\b)\s*C\b", text) else None
    if scale is None:
        raise BadQuantity("It is not said whether it shows °C or °F.", "Write for example 'contact °C'.", field=field)
    kind, setting = kinds[0], _SETTING.search(rest)
    if kind == "infrared" and setting is None:
        raise BadQuantity(
            "The emissivity set on the instrument is not said.", "Write for example 'infrared 0.95 °C'.", field=field
        )
    low, high = constant("instrument_from_c"), constant(f"{kind}_to_c")
    if reach is not None:
        low, high = (temperature_c(f"{reach[k].replace('−', '-')} {scale}", field=field) for k in ("low", "high"))
    value = float(setting[0].replace(",", ".")) if setting is not None and kind == "infrared" else 0.95
    return Thermometer(kind, value, scale, low, high)


def volume_typed(text: str) -> float:
    """Millilitres left in the pot: "430" (the pot's own unit, mL), "430 mL", "0.43 L". Raises BadQuantity."""
    from patina.units import volume_ml

    plain = text.strip()
    if re.fullmatch(r"0+([.,]0+)?(\s*mL)?", plain, re.I):
        return 0.0
    return volume_ml(f"{plain} mL" if re.fullmatch(r"[\d.,]+", plain) else plain, field="left")


def rinse_form(fields: Mapping[str, str]) -> dict[str, Any]:
    """A rinse water: what ("rinse" or "supply"), conductivity in µS/cm, ph, chloride in mg/L. Raises Incomplete."""
    form = _Fields(fields)
    what = form.text("what") or "rinse"
    if what not in ("rinse", "supply"):
        form.troubles.append(Refused(f"'{what}' is neither rinse nor supply.", "Write which one.", field="what"))
    found = {
        "supply": what == "supply",
        "conductivity_us_cm": form.read("conductivity", lambda t, f: _with_unit(t, f, "µS/cm")),
        "ph": form.read("ph", plain_number),
        "chloride_mg_l": form.read("chloride", lambda t, f: _with_unit(t, f, "mg/L")),
    }
    form.done()
    return found


def air_form(fields: Mapping[str, str]) -> dict[str, float | None]:
    """Metal ("24 °C"), air ("20 °C"), humidity ("60 %"). Raises Incomplete."""
    from patina.units import temperature_c

    form = _Fields(fields)
    found = {
        "metal_c": form.read("metal", temperature_c),
        "air_c": form.read("air", temperature_c),
        "air_rh_pct": form.read("humidity", percent),
    }
    form.done()
    return found


def coat_form(fields: Mapping[str, str]) -> NewCoat:
    """A coat: kind, product, mass ("12 g"), lot, how, zone, overruled. Raises Incomplete."""
    from patina.units import mass_g

    form = _Fields(fields)
    mass = form.read("mass", mass_g)
    form.done()
    return NewCoat(
        form.text("kind") or "wax",
        form.text("product"),
        form.text("zone"),
        mass,
        form.text("lot"),
        form.text("how"),
        form.text("overruled"),
    )


_SPELT = {"µS/cm": (1.0, ("µS/cm", "us/cm", "μS/cm")), "mg/L": (1.0, ("mg/l", "ppm"))}


def _with_unit(text: str, field: str, unit: str) -> float:
    """A figure whose field names its unit; another unit is refused, mS/cm is taken for what it is."""
    found = re.fullmatch(r"\s*([\d.,]+)\s*(.*?)\s*", text)
    if found is None:
        raise BadQuantity(f"'{text}' is no figure.", f"Write it in {unit}.", field=field)
    value = plain_number(found[1], field)
    said = found[2].casefold().replace("μ", "µ")
    if unit == "µS/cm" and said == "ms/cm":
        return value * 1000
    if said and said not in {s.casefold().replace("μ", "µ") for s in _SPELT[unit][1]}:
        raise BadQuantity(f"'{found[2]}' is not {unit}.", f"Write the figure in {unit}.", field=field)
    return value
