"""Area by weight, enlargement, wrapping and simple bodies; two methods held side by side."""

from __future__ import annotations

import math

import pytest

from patina.errors import BadQuantity, NotFound, Refused
from patina.sources import bibliography
from patina.surface.alloys import alloys, find_alloy, read_alloys
from patina.surface.area import AreaEstimate, apart_pct, enlarge, from_weight, reconcile, typed, wrap_foil, wrap_paper
from patina.surface.constants import constants, emissivities, texture_factors
from patina.surface.primitives import from_primitives, parse_bodies


def test_every_alloy_has_a_composition_near_100_pct_and_a_known_source() -> None:
    """No alloy without elements, density and a source that the bibliography holds."""
    assert len(alloys()) >= 17
    for alloy in alloys().values():
        assert 90 <= sum(alloy.composition.values()) <= 101.5
        assert 8.0 < alloy.density_g_ml < 9.0
        assert {alloy.source, alloy.heat_source} <= bibliography().keys()


def test_sources_of_all_constants_are_known() -> None:
    """Each number of the tables names a source of the bibliography."""
    rows = [*constants().values(), *texture_factors().values(), *emissivities().values()]
    assert rows
    assert {row.source for row in rows} <= bibliography().keys()


@pytest.mark.parametrize(
    ("written", "key"),
    [("c87300", "C87300"), ("95-4-1", "C87300"), ("lg2", "C83600"), ("Navy G", "C90300"), ("CuSn12", None)],
)
def test_an_alloy_is_found_by_any_of_its_names(written: str, key: str | None) -> None:
    """Names are found whatever their case and hyphens; an unknown one is refused with what there is."""
    if key is None:
        with pytest.raises(NotFound, match="CuSn12"):
            find_alloy(written)
    else:
        assert find_alloy(written).key == key


def test_a_damaged_alloy_file_is_refused_by_row_and_column(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """A composition that does not add up is named with its row."""
    from patina.errors import BadData

    head = "key,name,other_names,composition,density_g_ml,specific_heat_j_kg_k,conductivity_w_m_k,use,note,source"
    head += ",heat_source"
    file = tmp_path / "alloys.csv"
    file.write_text(f"{head}\nX1,x,,Cu 50; Sn 5,8.8,377,,cast,,MEMORY,MEMORY\n", encoding="utf-8")
    with pytest.raises(BadData, match=r"row 2, column 'composition'"):
        read_alloys(file)


def test_solid_parts_are_taken_off_and_make_less_doubt_than_not_knowing_them() -> None:
    """96 kg with 6 kg of solid parts is 90 kg of shell, and its doubt is smaller than an unknown share."""
    bronze = find_alloy("C87300")
    known, unknown = from_weight(96_000, 5, bronze, 6_000), from_weight(96_000, 5, bronze)
    assert known.area_m2 == pytest.approx(unknown.area_m2 * 90 / 96)
    assert known.uncertainty_pct < unknown.uncertainty_pct
    assert "6 kg solid" in known.working


def test_the_outside_of_a_small_form_is_larger_than_its_mid_wall() -> None:
    """A wall of 5 mm on a radius of 50 mm adds 5 %."""
    bronze = find_alloy("C87300")
    assert from_weight(10_000, 5, bronze, radius_mm=50).area_m2 / from_weight(
        10_000, 5, bronze
    ).area_m2 == pytest.approx(1.05)


@pytest.mark.parametrize("bad", [0, -3, math.nan, math.inf, 1e9])
def test_a_mass_that_cannot_be_is_refused(bad: float) -> None:
    """Zero, negative, not a number and absurd masses are refused."""
    with pytest.raises(BadQuantity):
        from_weight(bad, 5, find_alloy("C87300"))


@pytest.mark.parametrize("solids", [-1, 96_000, 100_000, math.nan])
def test_solids_not_below_the_mass_are_refused(solids: float) -> None:
    """Solid parts as heavy as the cast leave no shell."""
    with pytest.raises(BadQuantity, match="Solid parts"):
        from_weight(96_000, 5, find_alloy("C87300"), solids)


def test_json_has_the_four_promised_fields() -> None:
    """Scripts rely on area_m2, uncertainty_pct, method and working."""
    found = from_weight(96_000, 5, find_alloy("C87300")).as_json()
    assert list(found)[:4] == ["area_m2", "uncertainty_pct", "method", "working"]
    assert found["method"] == "weight"


def test_foil_without_overlap_is_warned_of() -> None:
    """Foil always overlaps: a wrap without it says so, and 30 % takes 30 % off."""
    assert [w.code for w in wrap_foil(310, 0.015, 0).warnings] == ["overlap_missing"]
    assert wrap_foil(310, 0.015, 0.3).area_m2 == pytest.approx(0.7 * wrap_foil(310, 0.015, 0).area_m2)
    with pytest.raises(BadQuantity):
        wrap_foil(310, 0.015, 0.9)
    with pytest.raises(BadQuantity, match="mm"):
        wrap_foil(310, 15, 0.3)


def test_two_methods_near_each_other_are_weighted_by_their_doubt() -> None:
    """The better known area pulls more, and the result is better known than either."""
    a, b = typed(2.3, 16), typed(2.1, 5)
    both = reconcile(a, b)
    assert 2.1 < both.area_m2 < 2.2
    assert both.uncertainty_pct < 5.01


def test_a_disagreement_beyond_the_doubts_widens_the_result() -> None:
    """Two areas 20 % apart, each claimed to 1 %, are not known to 1 % together."""
    both = reconcile(typed(2.0, 1), typed(2.44, 1))
    assert both.uncertainty_pct > 5


def test_two_methods_too_far_apart_are_refused_with_the_usual_causes() -> None:
    """More than 25 % of the mean apart stops, and names causes that fit the two methods."""
    weight = from_weight(96_000, 5, find_alloy("C87300"))
    mesh = AreaEstimate(4.6, 2, "mesh", "")
    assert apart_pct(weight, mesh) > 25
    with pytest.raises(Refused, match="apart") as trouble:
        reconcile(weight, mesh)
    assert "inside of the shell" in trouble.value.remedy
    assert "armature" in trouble.value.remedy
    assert "overlap" not in trouble.value.remedy


def test_the_limit_itself_is_not_refused() -> None:
    """Exactly 25 % apart is still reconciled."""
    assert reconcile(typed(0.875), typed(1.125)).area_m2 > 0


@pytest.mark.parametrize(
    "sketch",
    ["", "ball 0.2 m", "cylinder 0.2 m", "sphere 0.2", "cylinder 0.2 x 0.3 x 0.4 m", "sphere -0.2 m", "sphere"],
)
def test_a_sketch_that_cannot_be_read_is_refused(sketch: str) -> None:
    """Unknown bodies, missing sizes and missing units are named, none is guessed."""
    with pytest.raises(BadQuantity):
        parse_bodies(sketch)


def test_sizes_may_carry_their_own_units() -> None:
    """ "20 cm x 1 m" and "0.2 x 1 m" are the same cylinder."""
    a, b = parse_bodies("cylinder 20 cm x 1 m")[0], parse_bodies("cylinder 0.2 x 1 m")[0]
    assert a.sizes_m == pytest.approx(b.sizes_m)


def test_each_body_is_shown_in_the_working() -> None:
    """The sums can be checked by eye."""
    assert "sphere 0.20 m = 0.126 m²" in from_primitives("sphere 0.20 m; 2 cylinder 0.09 x 0.68 m").working


def test_paper_and_enlargement_refuse_nonsense() -> None:
    """Zero grammage and a height of zero have no area."""
    with pytest.raises(BadQuantity):
        wrap_paper(168, 0)
    with pytest.raises(BadQuantity):
        enlarge(0.062, 0, 1800)
