"""The air of a job, what stands together in the studio, and where a class begins."""

from __future__ import annotations

import pytest

from patina.chemistry.strength import parse_strength
from patina.chemistry.substances import catalogue
from patina.errors import BadQuantity, NotFound
from patina.recipe import Ingredient, Recipe, Solution, Step
from patina.safety.air_sheet import Room, air_of
from patina.safety.mixture import Component
from patina.safety.storage import bench_dangers, shelf_dangers, waste_dangers
from patina.safety.what_if import turns


def pot(name: str, *parts: tuple[str, str]) -> Solution:
    return Solution(name, "water", tuple(Ingredient(k, parse_strength(s)) for k, s in parts))


COPPER = pot("copper wash", ("cupric_nitrate_3h2o", "100 g/L"))
SULPHIDE = pot("sulphide wash", ("sodium_sulfide_9h2o", "50 g/L"))
TORCH = Recipe("hot green", "", (), "", (COPPER,), (Step("apply", solution="copper wash", method="torch"),))
COLD = Recipe("brown", "", (), "", (SULPHIDE,), (Step("apply", solution="sulphide wash", method="cold brush"),))


def test_nitrous_fumes_of_a_batch_in_a_room() -> None:
    """100 mL of 100 g/L cupric nitrate in an hour: 3.808 g NO2, 20 240 m3/h for 0.5 ppm with K 5 (at 25 C)."""
    lines = air_of(TORCH, catalogue(), {"copper wash": 100.0}, Room(200.0, temperature_c=25.0))
    line = next(x for x in lines if x.gas == "nitrogen dioxide")
    assert line.grams_at_most == pytest.approx(3.808, abs=0.002)
    uk = next(a for a in line.against if a.who == "UK WEL" and a.kind == "TWA")
    assert uk.flow_needed_m3_h == pytest.approx(20240, rel=0.005)
    assert line.over and uk.times == pytest.approx(3808 / 200 / uk.limit_mg_m3, rel=0.001)
    assert uk.hours_to_limit == pytest.approx(1 / uk.times)
    assert "local exhaust" in line.note


def test_hydrogen_sulphide_at_once_in_a_room() -> None:
    """5 g Na2S.9H2O (100 mL of 50 g/L) into acid in 50 m3: 10.2 ppm, twice the 5 ppm of the UK and the EU."""
    lines = air_of(COLD, catalogue(), {"sulphide wash": 100.0}, Room(50.0, temperature_c=25.0))
    line = next(x for x in lines if x.gas == "hydrogen sulphide")
    assert line.grams_at_most == pytest.approx(0.7095, abs=0.001)
    assert line.ppm_at_once == pytest.approx(10.2, abs=0.05)
    assert next(a for a in line.against if a.who == "NIOSH REL").times == pytest.approx(1.02, abs=0.01)


def test_a_stated_fraction_and_fresh_air_lower_it() -> None:
    """A tenth released is a tenth of the grams; air lowers the mean below that of the closed room."""
    still = air_of(COLD, catalogue(), {"sulphide wash": 100.0}, Room(50.0))
    tenth = air_of(COLD, catalogue(), {"sulphide wash": 100.0}, Room(50.0), fractions={"hydrogen sulphide": 0.1})
    aired = air_of(COLD, catalogue(), {"sulphide wash": 100.0}, Room(50.0, flow_m3_h=500.0))
    assert tenth[0].grams_at_most == pytest.approx((still[0].grams_at_most or 0) / 10)
    assert aired[0].against[0].times < still[0].against[0].times


def test_what_cannot_be_told_is_said() -> None:
    """Hydrogen selenide of selenious acid has no figure: the line says so and claims nothing."""
    acid = Recipe("black", "", (), "", (pot("acid", ("selenious_acid", "5 g/L")),), (Step("apply", solution="acid"),))
    line = next(x for x in air_of(acid, catalogue(), {"acid": 100.0}, Room(50.0)) if x.gas == "hydrogen selenide")
    assert line.grams_at_most is None and not line.against and "not known" in line.working


def test_rooms_and_amounts_that_cannot_be_are_refused() -> None:
    """No room of 0 m3, no negative volume, no pot that is not there."""
    with pytest.raises(BadQuantity):
        Room(0.0)
    with pytest.raises(BadQuantity):
        air_of(COLD, catalogue(), {"sulphide wash": -1.0}, Room(50.0))
    with pytest.raises(NotFound):
        air_of(COLD, catalogue(), {"other": 1.0}, Room(50.0))


def test_open_batches_lots_and_waste() -> None:
    """Sulphide beside an acid salt on the bench, on the shelf and in the waste; a lot alone is no danger."""
    bench = bench_dangers({"B1": SULPHIDE, "B2": COPPER}, catalogue())
    assert [(d.rule, d.level) for d in bench if d.rule == "sulphide_acid"] == [("sulphide_acid", "critical")]
    assert bench[0].between == ("sodium sulphide nonahydrate (B1)", "cupric nitrate trihydrate (B2)")
    lots = {"L1": catalogue().get("potassium_permanganate"), "L2": catalogue().get("acetone")}
    assert {d.level for d in shelf_dangers(lots)} == {"serious"}
    assert not shelf_dangers({"L1": catalogue().get("acetone")})
    one = {"metal salts": [catalogue().get("cupric_nitrate_3h2o"), catalogue().get("liver_of_sulphur")]}
    assert {(d.rule, d.level) for d in waste_dangers(one)} == {
        ("sulphide_acid", "critical"),
        ("sulphide_nitric", "critical"),
    }


def test_where_classes_begin() -> None:
    """Hydrochloric acid: irritant from 10 %, corrosive from 25 % (CLP Annex VI 017-002-01-X)."""
    found = turns([Component(catalogue().get("hydrochloric_acid"), 5.0)], "hydrochloric_acid")
    assert [t.pct for t in found] == [10.0, 25.0]
    assert found[0].gains == ("Eye Irrit. 2 (H319)", "STOT SE 3 (H335)", "Skin Irrit. 2 (H315)")
    assert found[1].gains == ("Skin Corr. 1B (H314)",) and "Skin Irrit. 2 (H315)" in found[1].loses


def test_where_classes_begin_beside_other_ingredients() -> None:
    """Beside 12.5 % hydrochloric acid, acetic acid makes the bath corrosive from 12.5 % on instead of 25 %."""
    acids = [Component(catalogue().get("hydrochloric_acid"), 12.5), Component(catalogue().get("acetic_acid"), 1.0)]
    found = turns(acids, "acetic_acid", up_to_pct=40.0)
    assert next(t.pct for t in found if "Skin Corr. 1B (H314)" in t.gains) == pytest.approx(12.5)
    with pytest.raises(NotFound):
        turns(acids, "silver_nitrate")
