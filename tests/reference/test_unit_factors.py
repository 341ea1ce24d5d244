"""Unit factors against pint and against exact figures of NIST Handbook 44, Appendix C."""

from __future__ import annotations

import pytest

from patina.units import unit_table

pint = pytest.importorskip("pint")

IN_PINT = {
    "square metre": "meter**2",
    "square centimetre": "centimeter**2",
    "square millimetre": "millimeter**2",
    "square decimetre": "decimeter**2",
    "square foot": "foot**2",
    "square inch": "inch**2",
    "square yard": "yard**2",
    "litre": "liter",
    "millilitre": "milliliter",
    "centilitre": "centiliter",
    "decilitre": "deciliter",
    "microlitre": "microliter",
    "cubic metre": "meter**3",
    "US gallon": "gallon",
    "imperial gallon": "imperial_gallon",
    "US quart": "quart",
    "imperial quart": "imperial_quart",
    "US pint": "pint",
    "imperial pint": "imperial_pint",
    "US gill": "gill",
    "imperial gill": "imperial_gill",
    "US fluid ounce": "fluid_ounce",
    "imperial fluid ounce": "imperial_fluid_ounce",
    "US fluid dram": "fluid_dram",
    "imperial fluid drachm": "imperial_fluid_drachm",
    "gram": "gram",
    "kilogram": "kilogram",
    "milligram": "milligram",
    "tonne": "metric_ton",
    "grain": "grain",
    "scruple": "scruple",
    "apothecaries' drachm": "apothecary_dram",
    "avoirdupois dram": "dram",
    "pennyweight": "pennyweight",
    "avoirdupois ounce": "ounce",
    "troy ounce": "troy_ounce",
    "pound": "pound",
    "troy pound": "troy_pound",
    "millimetre": "millimeter",
    "centimetre": "centimeter",
    "metre": "meter",
    "micrometre": "micrometer",
    "inch": "inch",
    "thousandth of an inch": "thou",
    "foot": "foot",
    "yard": "yard",
    "hour": "hour",
    "minute": "minute",
    "second": "second",
    "day": "day",
    "week": "week",
}
BASE = {"area": "meter**2", "volume": "milliliter", "mass": "gram", "length": "millimeter", "time": "hour"}
UNITS = sorted({u.name: u for u in unit_table().values()}.items())


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry()


@pytest.mark.parametrize(("name", "unit"), UNITS)
def test_every_factor_is_pints(registry, name, unit):
    """Each unit of the table, without exception, to twelve figures."""
    theirs = registry.Quantity(1.0, registry.parse_expression(IN_PINT[name])).to(BASE[unit.kind]).magnitude
    assert unit.factor == pytest.approx(float(theirs), rel=1e-12)


@pytest.mark.parametrize(
    ("spelling", "factor"),
    [
        ("grain", 0.06479891),
        ("scruple", 1.2959782),
        ("drachm ap", 3.8879346),
        ("dram av", 1.7718451953125),
        ("dwt", 1.55517384),
        ("oz av", 28.349523125),
        ("oz t", 31.1034768),
        ("lb", 453.59237),
        ("troy lb", 373.2417216),
        ("us fluid dram", 3.6966911953125),
        ("us fl oz", 29.5735295625),
        ("us gill", 118.29411825),
        ("us pt", 473.176473),
        ("us qt", 946.352946),
        ("us gal", 3785.411784),
        ("imp fluid drachm", 3.5516328125),
        ("imp fl oz", 28.4130625),
        ("imp gill", 142.0653125),
        ("imp pt", 568.26125),
        ("imp qt", 1136.5225),
        ("imp gal", 4546.09),
        ("inch", 25.4),
        ("sq ft", 0.09290304),
    ],
)
def test_exact_factors_of_the_handbook(spelling, factor):
    """Exact, in g, mL, mm, m2: NIST Handbook 44 Appendix C; imperial measures by the UK definition of the gallon."""
    assert unit_table()[spelling].factor == factor
