"""What holds for any area, heat or reading."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patina.surface.alloys import alloys
from patina.surface.area import enlarge, from_weight, reconcile, typed
from patina.surface.dew import dew_point_c
from patina.surface.heat import most_ml_m2, pass_heat
from patina.surface.infrared import shown_c, true_c

ALLOYS = st.sampled_from(list(alloys().values()))


@given(st.floats(100, 1e6), st.floats(1, 30), ALLOYS)
def test_weight_and_area_turn_into_each_other(mass_g: float, wall_mm: float, alloy) -> None:  # type: ignore[no-untyped-def]
    """Area times wall times density is the mass again."""
    area = from_weight(mass_g, wall_mm, alloy).area_m2
    assert area * wall_mm * alloy.density_g_ml * 1000 == pytest.approx(mass_g)


@given(st.floats(0.01, 5), st.floats(100, 3000), st.floats(100, 3000))
def test_enlarging_and_reducing_are_inverse(area: float, a: float, b: float) -> None:
    """There and back is the same area."""
    assert enlarge(enlarge(area, a, b).area_m2, b, a).area_m2 == pytest.approx(area)


@given(st.floats(0.5, 5), st.floats(-12, 12), st.floats(1, 30), st.floats(1, 30))
def test_a_reconciled_area_lies_between_the_two(area: float, apart: float, ua: float, ub: float) -> None:
    """Never outside what the two methods said, and symmetric in them."""
    a, b = typed(area, ua), typed(area * (1 + apart / 100), ub)
    both = reconcile(a, b).area_m2
    assert min(a.area_m2, b.area_m2) - 1e-9 <= both <= max(a.area_m2, b.area_m2) + 1e-9
    assert both == pytest.approx(reconcile(b, a).area_m2)


@given(st.floats(-5, 55), st.floats(5, 100))
def test_the_dew_point_is_never_above_the_air(air: float, humidity: float) -> None:
    """At 100 % they are equal, below that the dew point is lower."""
    assert dew_point_c(air, humidity) <= air + 1e-9


@given(st.floats(60, 400), st.floats(0.1, 1.0))
@settings(max_examples=40, deadline=None)
def test_what_an_instrument_shows_turns_back_into_the_metal(metal: float, emissivity: float) -> None:
    """Correcting is the inverse of showing."""
    shown = shown_c(metal, emissivity)
    if shown > 23:
        assert true_c(shown, emissivity) == pytest.approx(metal, abs=1e-5)


@given(st.floats(1, 20), ALLOYS, st.floats(1, 300), st.floats(5, 100))
def test_water_that_spends_the_window_cools_by_the_window(wall: float, alloy, low: float, width: float) -> None:  # type: ignore[no-untyped-def]
    """The most that may go on drops the metal from one end of the window to the other."""
    most = most_ml_m2(wall, alloy, (low, low + width))
    if most <= 2000:
        assert pass_heat(wall, alloy, most).drop_k == pytest.approx(width)
