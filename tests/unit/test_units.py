"""Amounts as people write them: what is read, what is asked about, what is refused."""

from __future__ import annotations

import pytest

from patina import units
from patina.errors import AmbiguousQuantity, BadQuantity

READ = [
    (units.area_m2, "1.8 m2", 1.8),
    (units.area_m2, "1,8 m²", 1.8),
    (units.area_m2, "1.8\u00a0m²", 1.8),
    (units.area_m2, "20000 cm2", 2.0),
    (units.area_m2, "20 000 cm2", 2.0),
    (units.area_m2, "12 sq ft", 12 * 0.3048**2),
    (units.area_m2, "1 hectare", 10_000),
    (units.volume_ml, "2 L", 2000),
    (units.volume_ml, "2l", 2000),
    (units.volume_ml, "1 US gal", 3785.411784),
    (units.volume_ml, "1 imp gal", 4546.09),
    (units.volume_ml, "1.5×10³ mL", 1500),
    (units.mass_g, "96 kg", 96_000),
    (units.mass_g, "1 lb", 453.59237),
    (units.mass_g, "2 oz av", 56.69904625),
    (units.mass_g, "1.234,5 g", 1234.5),
    (units.mass_g, "1,234.5 g", 1234.5),
    (units.mass_g, "0,234 g", 0.234),
    (units.length_mm, "5 mm", 5),
    (units.length_mm, "3/16 in", 4.7625),
    (units.length_mm, "1½ in", 38.1),
    (units.length_mm, "1 1/2 in", 38.1),
    (units.temperature_c, "80 degC", 80),
    (units.temperature_c, "80 °C", 80),
    (units.temperature_c, "176 degF", 80),
    (units.temperature_c, "353.15 K", 80),
    (units.temperature_c, "−5 °C", -5),
    (units.duration_h, "12 h", 12),
    (units.duration_h, "90 min", 1.5),
    (units.share, "25 %", 0.25),
    (units.coverage_ml_per_m2, "40 mL/m2", 40),
    (units.coverage_ml_per_m2, "0.04 L/m²", 40),
    (units.coverage_ml_per_m2, "40 mL per m2", 40),
    (units.density_g_per_ml, "1.05 g/mL", 1.05),
    (units.density_g_per_ml, "1050 kg/m3", 1.05),
    (units.number, "1,1", 1.1),
]


@pytest.mark.parametrize(("reader", "written", "value"), READ)
def test_an_amount_with_its_unit_is_read(reader, written, value):
    """Common spellings, decimal commas and fractions are read into the unit of the function's name."""
    assert reader(written) == pytest.approx(value, rel=1e-12)


REFUSED = [
    (units.area_m2, "1.8", "no unit"),
    (units.area_m2, "", "Nothing"),
    (units.area_m2, "0 m2", "zero"),
    (units.area_m2, "-1 m2", "negative"),
    (units.area_m2, "nan m2", "not a number"),
    (units.area_m2, "inf m2", "not a number"),
    (units.area_m2, "1e400 m2", "too large"),
    (units.area_m2, "1e9 m2", "too much to be meant"),
    (units.area_m2, "2 kg", "a weight"),
    (units.area_m2, "two m2", "does not begin with a number"),
    (units.area_m2, "1-2 m2", "range"),
    (units.volume_ml, "2 L 300 mL", "two"),
    (units.length_mm, "5 ft 3 in", "two"),
    (units.volume_ml, "2 firkin", "not a unit"),
    (units.volume_ml, "3 hogshead", "not a unit"),
    (units.temperature_c, "80", "no unit"),
    (units.temperature_c, "80 deg", "which scale"),
    (units.temperature_c, "5000 °C", "outside"),
    (units.share, "0.25", "per cent"),
    (units.share, "130 %", "100 %"),
    (units.coverage_ml_per_m2, "40 mL", "per what"),
    (units.coverage_ml_per_m2, "40 g/m2", "weight"),
    (units.number, "5 g", "behind the number"),
    (units.length_mm, "1/0 in", "divides by zero"),
    (units.number, "1.2.3", "cannot be read"),
]


@pytest.mark.parametrize(("reader", "written", "says"), REFUSED)
def test_a_bad_amount_is_refused_with_its_own_sentence(reader, written, says):
    """Every refusal says what is wrong and what to write, and carries the field it belongs to."""
    with pytest.raises(BadQuantity) as trouble:
        reader(written, "the field")
    assert says in trouble.value.what
    assert trouble.value.remedy.endswith(".")
    assert trouble.value.field == "the field"


@pytest.mark.parametrize(
    ("reader", "written", "readings"),
    [
        (units.mass_g, "2 oz", 4),
        (units.volume_ml, "2 oz", 4),
        (units.volume_ml, "2 gal", 2),
        (units.volume_ml, "2 gallons", 2),
        (units.volume_ml, "1 pint", 2),
        (units.volume_ml, "3 fl oz", 2),
        (units.mass_g, "1 ton", 3),
        (units.mass_g, "2 drachms", 4),
        (units.volume_ml, "2 tsp", 2),
        (units.volume_ml, "1,234 L", 2),
        (units.mass_g, "5 gr", 2),
    ],
)
def test_what_a_careful_person_would_ask_about_is_asked(reader, written, readings):
    """A word or number with several readings is refused, and all its readings are shown."""
    with pytest.raises(AmbiguousQuantity) as trouble:
        reader(written)
    assert len(trouble.value.readings) == readings
    assert all(reading in trouble.value.what for reading in trouble.value.readings)


def test_no_word_is_both_a_unit_and_a_question():
    """A spelling either has one meaning or is asked about; none is in both tables."""
    assert not units.unit_table().keys() & units.unit_questions().keys()
    assert {u.kind for u in units.unit_table().values()} == {"area", "volume", "mass", "length", "time"}
