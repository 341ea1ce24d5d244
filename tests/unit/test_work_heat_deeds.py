"""Deeds at the torch: readings of the metal made true, heat of a pass, what is typed.

Outside figures: as in test_work_deeds.
"""

from __future__ import annotations

import pytest
import studio_at_work
from studio_at_work import _begin

from patina.bench.pieces import casts
from patina.bench.studio import Studio
from patina.bench.torch import heat, work, work_forms
from patina.entries import NewCast, NewTemperature, NewWork, Thermometer
from patina.errors import BadQuantity, Incomplete, NotFound, PatinaError, Refused
from patina.sheets import WorkSheet

template = studio_at_work.template
studio = studio_at_work.studio


# -- temperature -------------------------------------------------------------------------------------


def test_an_infrared_reading_is_made_true_for_the_state_of_the_surface(studio: Studio) -> None:
    """68 °C shown at 0.95 on blasted bronze (0.55) is 95 °C, with an error that says how little is known."""
    _begin(studio)
    sheet = heat.read_temperature(studio, "J1", NewTemperature(infrared_c=68, state="bare_blasted"))
    event = sheet.last_temperature
    assert event is not None and event.true_c == pytest.approx(95, abs=1.0)
    assert event.said["emissivity"] == 0.55 and 5 < event.said["error_k"] < 20
    assert "no pair yet" in event.note


def test_pairs_teach_emissivity_and_narrow_the_error(studio: Studio) -> None:
    """Contact and infrared readings of one place give the house's own emissivity, for this recipe first."""
    _begin(studio)
    rough = heat.read_temperature(studio, "J1", NewTemperature(infrared_c=68, state="bare_blasted")).last_temperature
    for shown in (68, 67, 69):
        heat.read_temperature(studio, "J1", NewTemperature(95, shown, "bare_blasted"))
    fine = heat.read_temperature(studio, "J1", NewTemperature(infrared_c=68, state="bare_blasted")).last_temperature
    assert rough is not None and fine is not None
    assert fine.said["error_k"] < rough.said["error_k"] / 2
    assert fine.said["emissivity"] == pytest.approx(0.55, abs=0.02)
    first = heat.temperature_log(studio, "J1")[0]
    assert first.error_k is not None and first.error_k < rough.said["error_k"] / 2, "old readings are corrected anew"
    assert first.stored_c == rough.true_c, "what was stored then stays"


def test_a_contact_reading_is_taken_as_it_is(studio: Studio) -> None:
    """A probe needs no correction."""
    _begin(studio, thermometer=Thermometer())
    event = heat.read_temperature(studio, "J1", NewTemperature(contact_c=88.5)).last_temperature
    assert event is not None and event.true_c == 88.5


@pytest.mark.parametrize(
    ("entry", "trouble", "said"),
    [
        (NewTemperature(infrared_c=700, state="patinated"), BadQuantity, "outside what this infrared instrument"),
        (NewTemperature(infrared_c=float("nan"), state="patinated"), BadQuantity, "outside"),
        (NewTemperature(infrared_c=80), Refused, "state of the surface is not said"),
        (NewTemperature(infrared_c=80, state="shiny"), Refused, "state of the surface is not said"),
        (NewTemperature(infrared_c=20, state="patinated"), Refused, "no more than the surroundings"),
        (NewTemperature(), BadQuantity, "No temperature"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(
    studio: Studio, entry: NewTemperature, trouble: type[PatinaError], said: str
) -> None:
    """Outside the instrument, without the state of the surface, or telling nothing: each has its sentence."""
    before = _begin(studio)
    with pytest.raises(trouble, match=said):
        heat.read_temperature(studio, "J1", entry)
    assert work.work_sheet(studio, "J1").seq == before.seq


@pytest.mark.parametrize(
    ("text", "contact", "infrared", "state"),
    [
        ("85 patinated", None, 85.0, "patinated"),
        ("185 F patinated", None, 85.0, "patinated"),
        ("185°F base", None, 85.0, "base_coat"),
        ("probe 95 ir 68 bare_blasted", 95.0, 68.0, "bare_blasted"),
        ("ir 68,5 cuprite", None, 68.5, "cuprite"),
        ("contact 203 F patinated", 95.0, None, "patinated"),
    ],
)
def test_what_is_typed_at_the_torch(
    studio: Studio, text: str, contact: float | None, infrared: float | None, state: str
) -> None:
    """A bare figure is of the work's own instrument; unit, kind and state may be written with it."""
    entry = heat.temperature_typed(text, _begin(studio))
    assert entry.state == state
    for value, asked in ((entry.contact_c, contact), (entry.infrared_c, infrared)):
        assert value == (None if asked is None else pytest.approx(asked))


@pytest.mark.parametrize("text", ["", "hot", "85 86", "80 bare", "80 shiny", "1,234"])
def test_what_cannot_be_read_is_asked_about(studio: Studio, text: str) -> None:
    """Nothing is guessed: no figure, two figures, or a state that may be several."""
    with pytest.raises((BadQuantity, Refused)):
        heat.temperature_typed(text, _begin(studio))


def test_the_state_last_said_is_kept(studio: Studio) -> None:
    """With gloves on nobody writes the state each time; in °F the display is taken at its word."""
    _begin(studio, thermometer=Thermometer("infrared", unit="°F", high_c=550))
    sheet = heat.read_temperature(studio, "J1", NewTemperature(infrared_c=68, state="base_coat"))
    entry = heat.temperature_typed("176", sheet)
    assert entry.infrared_c == pytest.approx(80) and entry.state == "base_coat"


# -- heat of a pass ----------------------------------------------------------------------------------


def test_heat_budget_of_a_pass(studio: Studio) -> None:
    """5 mm of C87300 store 8.36 × 5 × 377 / 1000 = 15.8 kJ/(m² K); 40 mL/m² × 2.59 kJ cool it by 6.6 K; the
    window of 15 K bears 91 mL/m². Heat of water: steam tables (4.18 kJ/(kg K), 2257 kJ/kg)."""
    found = heat.pass_budget(_begin(studio))
    stored = 8.36 * 5 * 377 / 1000
    water = 0.998 * (4.18 * 80 + 2257) / 1000
    assert found.drop_k == pytest.approx(40 * water / stored, rel=0.005)
    assert found.most_ml_m2 == pytest.approx(15 * stored / water, rel=0.005)
    thicker = heat.pass_budget(_begin_again(studio), wall="10 mm", coverage="80 mL/m2")
    assert thicker.drop_k == pytest.approx(found.drop_k, rel=1e-9)


def _begin_again(studio: Studio) -> WorkSheet:
    return work.work_sheet(studio, "J1")


def test_what_is_not_known_of_heat_is_named(studio: Studio) -> None:
    """A wall, coverage or alloy that nobody gave is asked for by its field."""
    casts.add_cast(studio, NewCast("W1", "2/9"))
    sheet = work.start_work(studio, NewWork("C2", "R1"))
    with pytest.raises(NotFound) as trouble:
        heat.pass_budget(sheet, wall="5 mm")
    assert trouble.value.field == "alloy"
    with pytest.raises(Refused) as missing:
        heat.pass_budget(sheet, alloy="C87300")
    assert missing.value.field == "wall"


def test_tile_settings_on_the_wall_of_the_cast() -> None:
    """A 3 mm tile swings 5/3 as far as a 5 mm wall of the same alloy."""
    found = heat.tile_settings_on_cast("3 mm", "C87300", "5 mm", "C87300", "40 mL/m2")
    assert found.drop_tile_k / found.drop_cast_k == pytest.approx(5 / 3)
    assert found.coverage_ml_m2 == pytest.approx(40 * 5 / 3)


# -- forms -------------------------------------------------------------------------------------------


def test_the_beginning_as_it_is_typed() -> None:
    """Zones with their areas, the instrument with its unit and setting, the air."""
    entry = work_forms.work_form(
        {
            "target": "C1",
            "recipe": "R1",
            "batch": "B2 wash, 300 mL left",
            "zones": "front 0.4 m2; left arm: 1200 cm2; plinth",
            "thermometer": "infrared 0.85 °F, -20 to 900 °F",
            "air": "68 °F",
            "humidity": "55 %",
        }
    )
    assert entry.zones == (("front", pytest.approx(0.4)), ("left arm", pytest.approx(0.12)), ("plinth", None))
    assert (entry.batch, entry.air_c, entry.air_rh_pct) == ("B2", pytest.approx(20), pytest.approx(55))
    meter = entry.thermometer
    assert (meter.kind, meter.setting, meter.unit) == ("infrared", 0.85, "°F")
    assert (meter.low_c, meter.high_c) == (pytest.approx(-28.9, abs=0.1), pytest.approx(482.2, abs=0.1))


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("thermometer", "gun"),
        ("thermometer", "infrared °C"),
        ("thermometer", "contact"),
        ("air", "20"),
        ("humidity", "wet"),
        ("zones", "front -1 m2; back 0 m2"),
        ("texture", "rough"),
    ],
)
def test_no_unit_is_guessed_in_a_form(field: str, text: str) -> None:
    """What is not said is asked for, beside its field."""
    with pytest.raises(Incomplete) as trouble:
        work_forms.work_form({"target": "C1", "recipe": "R1", field: text})
    assert [t.field for t in trouble.value.troubles] == [field]


def test_volumes_and_waters_as_typed() -> None:
    """The field names mL, µS/cm and mg/L; another unit is read or refused, never taken for them."""
    assert work_forms.volume_typed("430") == 430 and work_forms.volume_typed("0.43 L") == pytest.approx(430)
    assert work_forms.volume_typed("0") == 0 and work_forms.volume_typed("0 mL") == 0
    found = work_forms.rinse_form({"what": "rinse", "conductivity": "0.21 mS/cm", "ph": "7.2", "chloride": "0"})
    assert found["conductivity_us_cm"] == pytest.approx(210) and found["chloride_mg_l"] == 0
    with pytest.raises(Incomplete):
        work_forms.rinse_form({"what": "soup", "conductivity": "3 V"})
    assert work_forms.coat_form({"kind": "wax", "product": "paste", "mass": "12 g"}).mass_g == 12


def test_torch_power_from_the_house_s_own_share(studio: Studio) -> None:
    """A dry heating tells the share of the flame: 15.76 kJ/(m² K) × 0.05 m² × 50 K in 60 s is 0.657 kW of 4 kW;
    with it, what holds 40 mL/m² a minute on 0.05 m² is the heat into the metal over that share."""
    sheet = _begin(studio)
    share = heat.flame_share(sheet, area="0.05 m2", rise_k="50", time="1 min", flame="4")
    assert share == pytest.approx(8.36 * 5 * 377 / 1000 * 0.05 * 50 / 60 / 4, rel=1e-6)
    budget = heat.pass_budget(sheet)
    power = heat.flame_kw(budget, "0.05 m2", "20 %")
    assert power == pytest.approx(budget.hold_kw_m2 * 0.05 / 0.2)
    with pytest.raises(BadQuantity):
        heat.flame_kw(budget, "0.05 m2", "0 %")
    with pytest.raises(BadQuantity):
        heat.flame_kw(budget, "0.05", "20 %")
