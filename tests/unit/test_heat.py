"""Heat of a pass, infrared readings and dew: refusals, directions and errors."""

from __future__ import annotations

import math

import pytest

from patina.errors import BadQuantity, Refused
from patina.surface.alloys import find_alloy
from patina.surface.constants import emissivities
from patina.surface.dew import check_dew, dew_point_c
from patina.surface.heat import (
    most_ml_m2,
    pass_heat,
    sharing_time_s,
    tile_to_cast,
    torch_power_kw,
    torch_share,
    water_heat_kj_ml,
)
from patina.surface.infrared import Pair, corrected, solve_emissivity, true_c

BRONZE = find_alloy("C87300")


def test_a_window_upside_down_is_refused() -> None:
    """The lower temperature comes first."""
    with pytest.raises(BadQuantity):
        most_ml_m2(5, BRONZE, (95, 80))


def test_passes_that_fit_the_window_are_counted() -> None:
    """A window of 15 K bears just over four passes of 20 mL/m2 on 5 mm before the torch is needed."""
    budget = pass_heat(5, BRONZE, 20, (80, 95))
    assert budget.passes_in_window == pytest.approx(15 / budget.drop_k)
    assert "91 mL/m²" in budget.working


def test_hot_water_takes_less_heat_than_cold() -> None:
    """A solution kept warm cools the metal less."""
    assert water_heat_kj_ml(60) < water_heat_kj_ml(20)
    with pytest.raises(BadQuantity):
        water_heat_kj_ml(120)


def test_unknown_conductivity_stays_unknown() -> None:
    """An alloy without a figure has no sharing time, not a zero."""
    assert sharing_time_s(5, find_alloy("LG3")) is None
    assert sharing_time_s(5, BRONZE) == pytest.approx(2.8, abs=0.1)


def test_torch_power_from_a_dry_heating() -> None:
    """A share learnt from one heating gives back the flame for the same heating."""
    share = torch_share(5, BRONZE, 0.2, 60, 3, 4.0)
    assert 0 < share < 1
    assert torch_power_kw(15.7586 * 60 / 180, 0.2, share) == pytest.approx(4.0, rel=1e-3)
    with pytest.raises(BadQuantity):
        torch_share(5, BRONZE, 2, 200, 1, 1.0)


def test_another_alloy_is_named_when_a_tile_is_translated() -> None:
    """Heat can be translated, colour not: the words say so."""
    assert "C51000" in tile_to_cast(3, find_alloy("C51000"), 5, BRONZE, 40).words


def test_an_infrared_reading_at_room_temperature_says_nothing() -> None:
    """A reading no warmer than what the metal mirrors is refused."""
    with pytest.raises(Refused):
        true_c(21, 0.2)


@pytest.mark.parametrize("shown", [-100, 3000, math.nan])
def test_readings_outside_the_instrument_are_refused(shown: float) -> None:
    """What no such instrument shows is refused with a hint at Fahrenheit."""
    with pytest.raises(BadQuantity):
        true_c(shown, 0.5)


@pytest.mark.parametrize("value", [0, -0.1, 1.2, math.nan])
def test_emissivity_is_a_share(value: float) -> None:
    """Emissivity outside 0.01 to 1 is refused."""
    with pytest.raises(BadQuantity):
        true_c(60, value)


def test_bare_metal_has_the_larger_error() -> None:
    """The same doubt of emissivity moves a bare surface more than a patinated one."""
    assert corrected(48, 0.30, 0.03).uncertainty_k > 2 * corrected(85, 0.80, 0.03).uncertainty_k


def test_pairs_on_cold_metal_do_not_count() -> None:
    """Without 20 K above the surroundings a pair tells nothing; with none left it is refused."""
    good = Pair(95, 48)
    assert solve_emissivity([good, Pair(25, 22)]).pairs == 1
    with pytest.raises(Refused):
        solve_emissivity([Pair(25, 22)])


def test_an_emissivity_above_one_is_refused() -> None:
    """A probe that reads far lower than the instrument was not on the metal."""
    with pytest.raises(Refused, match="more than 1"):
        solve_emissivity([Pair(60, 90), Pair(62, 95)])


def test_emissivity_rises_with_the_patina() -> None:
    """The starting values rise from polished over base coat to patinated."""
    keys = ("polished_bronze", "bare_blasted", "base_coat", "patinated", "tape")
    values = [emissivities()[k].start for k in keys]
    assert values == sorted(values)


def test_dew_holds_back_the_wax() -> None:
    """Less than 3 K above the dew point, or 85 % humidity, is held back with the reason."""
    assert not check_dew(13, 20, 60).dry
    assert check_dew(16, 20, 60).dry
    humid = check_dew(40, 20, 90)
    assert not humid.dry
    assert "humidity" in humid.words


@pytest.mark.parametrize(("air", "humidity"), [(80, 50), (-60, 50), (20, 0), (20, 0.6), (20, 101), (math.nan, 50)])
def test_air_outside_the_formula_is_refused(air: float, humidity: float) -> None:
    """The formula holds from -45 to 60 C; a humidity written as a share is asked for again."""
    with pytest.raises(BadQuantity):
        dew_point_c(air, humidity)
