"""Area, heat, infrared and dew against closed forms, handbooks and published figures."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.integrate import quad

from patina.surface.alloys import alloys, find_alloy
from patina.surface.area import enlarge, from_weight, wrap_foil, wrap_paper
from patina.surface.dew import dew_point_c, saturation_hpa
from patina.surface.heat import pass_heat, tile_to_cast, wall_heat_kj_m2_k, water_heat_kj_ml
from patina.surface.infrared import Pair, band_w_m2, share_below, shown_c, solve_emissivity, true_c
from patina.surface.mesh import from_mesh
from patina.surface.primitives import body_surface_m2, from_primitives

BRONZE = find_alloy("C87300")


@pytest.mark.parametrize(("wall_mm", "area_m2"), [(4, 2.87), (5, 2.30), (6, 1.91)])
def test_area_of_a_96_kg_silicon_bronze_shell(wall_mm: float, area_m2: float) -> None:
    """96 kg / (8.36 g/cm3 x wall): worked by hand; 16 % from wall 15 %, base 5 %, density 1 %."""
    found = from_weight(96_000, wall_mm, BRONZE)
    assert found.area_m2 == pytest.approx(area_m2, abs=0.005)
    assert found.uncertainty_pct == pytest.approx(16, abs=0.5)


def test_area_of_an_enlargement_foil_and_paper() -> None:
    """Worked by hand: 0.062 m2 x 16; 310 g / (2700 kg/m3 x 15 um); 168 g / 80 g/m2."""
    assert enlarge(0.062, 450, 1800).area_m2 == pytest.approx(0.992)
    assert wrap_foil(310, 0.015, 0).area_m2 == pytest.approx(7.65, abs=0.01)
    assert wrap_paper(168, 80).area_m2 == pytest.approx(2.10)


def test_a_standing_figure_of_bodies_agrees_with_the_body_surface_formula() -> None:
    """Du Bois and Du Bois 1916: 75 kg, 180 cm have 1.94 m2 of skin; head, torso, arms and legs as bodies 1.89 m2."""
    figure = from_primitives(
        "sphere 0.20 m; cylinder 0.32 x 0.62 m; 2 cylinder 0.09 x 0.68 m; 2 cylinder 0.14 x 0.86 m"
    )
    assert figure.area_m2 == pytest.approx(1.89, abs=0.005)
    skin = body_surface_m2(75, 180)
    assert skin == pytest.approx(1.94, abs=0.005)
    assert abs(figure.area_m2 - skin) / skin < figure.uncertainty_pct / 100


@pytest.mark.parametrize(
    ("mesh", "exact_mm2", "rel"),
    [
        (trimesh.creation.box((10, 20, 30)), 2200.0, 1e-9),
        (trimesh.creation.icosphere(subdivisions=5, radius=100), 4 * math.pi * 100**2, 5e-4),
        (trimesh.creation.cylinder(radius=50, height=200, sections=256), 2 * math.pi * 50 * 250, 2e-4),
        (trimesh.creation.cone(radius=30, height=40, sections=256), math.pi * 30 * (30 + 50), 2e-4),
        (trimesh.creation.torus(100, 30, major_sections=128, minor_sections=64), 4 * math.pi**2 * 100 * 30, 1e-3),
    ],
    ids=["box", "sphere", "cylinder", "cone", "torus"],
)
@pytest.mark.parametrize("kind", ["stl", "obj", "ply"])
def test_mesh_areas_of_bodies_with_closed_forms(
    tmp_path: Path, mesh: trimesh.Trimesh, exact_mm2: float, rel: float, kind: str
) -> None:
    """Closed-form areas of solids (any geometry handbook), through each file format."""
    path = tmp_path / f"body.{kind}"
    mesh.export(path)
    found = from_mesh(path, "mm")
    assert found.area_m2 == pytest.approx(exact_mm2 / 1e6, rel=rel)
    assert found.area_m2 == pytest.approx(mesh.area / 1e6, rel=1e-6)
    assert found.warnings == ()


@pytest.mark.parametrize(
    ("sketch", "exact_m2"),
    [
        ("box 1 x 2 x 3 m", 22.0),
        ("cone 0.6 x 0.4 m", math.pi * 0.3 * 0.5),
        ("frustum 0.6 x 0 x 0.4 m", None),
        ("torus 0.2 x 0.06 m", 4 * math.pi**2 * 0.1 * 0.03),
        ("disc 2 m", math.pi),
        ("plate 2 x 3 m", 6.0),
        ("dome 2 m", 2 * math.pi),
        ("ellipsoid 2 x 2 x 2 m", 4 * math.pi),
    ],
)
def test_bodies_in_words_have_the_areas_of_solids(sketch: str, exact_m2: float | None) -> None:
    """Closed forms of solids (any geometry handbook); a zero size is refused."""
    from patina.errors import BadQuantity

    if exact_m2 is None:
        with pytest.raises(BadQuantity):
            from_primitives(sketch)
    else:
        assert from_primitives(sketch).area_m2 == pytest.approx(exact_m2)


@pytest.mark.parametrize(
    ("wall_mm", "stored", "drop_10", "drop_50", "spent"),
    [(4, 12.6, 2.1, 10, 73), (5, 15.8, 1.6, 8, 91), (6, 18.9, 1.4, 7, 109)],
)
def test_heat_budget_of_bronze_walls(
    wall_mm: float, stored: float, drop_10: float, drop_50: float, spent: float
) -> None:
    """Worked example: 377 J/(kg K), 2.59 kJ per mL, window 80 to 95 C, whole wall shares."""
    assert wall_heat_kj_m2_k(wall_mm, BRONZE) == pytest.approx(stored, abs=0.05)
    assert pass_heat(wall_mm, BRONZE, 10).drop_k == pytest.approx(drop_10, abs=0.05)
    budget = pass_heat(wall_mm, BRONZE, 50, (80, 95))
    assert budget.drop_k == pytest.approx(drop_50, abs=0.5)
    assert budget.most_ml_m2 == pytest.approx(spent, abs=0.7)
    assert budget.hold_kw_m2 == pytest.approx(2.2, abs=0.05)


def test_heat_of_steam_against_the_steam_tables() -> None:
    """IAPWS-IF97 (memory): h'' at 100 C 2675.6 kJ/kg, h' at 20 C 83.9 kJ/kg: 2591.7 kJ/kg x 0.9982 g/mL."""
    assert water_heat_kj_ml(20) == pytest.approx(2591.7 * 0.9982 / 1000, rel=2e-3)


def test_a_3_mm_tile_swings_more_than_a_5_mm_wall() -> None:
    """Five thirds more, whatever the coverage."""
    found = tile_to_cast(3, BRONZE, 5, BRONZE, 40)
    assert found.drop_tile_k / found.drop_cast_k == pytest.approx(5 / 3)
    assert found.coverage_ml_m2 == pytest.approx(40 * 5 / 3)


@pytest.mark.parametrize(
    ("metal_c", "shown"),
    [(95, (40, 48, 68, 79, 85)), (150, (58, 73, 106, 124, 135)), (200, (75, 97, 142, 165, 179))],
)
def test_an_infrared_gun_left_at_095_on_bronze(metal_c: float, shown: tuple[int, ...]) -> None:
    """Planck's law over 8 to 14 um, surroundings 20 C: a table computed independently of this program."""
    for emissivity, reads in zip((0.20, 0.30, 0.55, 0.70, 0.80), shown, strict=True):
        assert shown_c(metal_c, emissivity) == pytest.approx(reads, abs=0.7)
        assert true_c(shown_c(metal_c, emissivity), emissivity) == pytest.approx(metal_c, abs=1e-6)


def test_the_radiation_series_agrees_with_numerical_integration() -> None:
    """Planck's law integrated by scipy; and the tabled share 0.2502 below 2898 um K (Siegel and Howell, memory)."""
    assert share_below(2897.8, 1.0) == pytest.approx(0.2501, abs=2e-4)
    h, c, k = 6.62607015e-34, 299792458.0, 1.380649e-23
    for celsius in (20.0, 95.0, 200.0):
        kelvin = celsius + 273.15

        def planck(um: float, kelvin: float = kelvin) -> float:
            x = um * 1e-6
            return 2 * math.pi * h * c**2 / x**5 / math.expm1(h * c / (x * k * kelvin)) * 1e-6

        assert band_w_m2(celsius) == pytest.approx(quad(planck, 8, 14)[0], rel=1e-8)


def test_emissivity_comes_back_from_pairs_read_with_noise() -> None:
    """Pairs made with a known emissivity and instrument noise give it back within the stated error."""
    rng = np.random.default_rng(11)
    misses = 0
    for _ in range(200):
        pairs = []
        for t in (80, 95, 110, 130):
            contact = t + rng.normal(0, 1.0)
            shown = shown_c(t, 0.55) + rng.normal(0, 1.0)
            pairs.append(Pair(contact, shown))
        found = solve_emissivity(pairs)
        misses += abs(found.value - 0.55) > 2 * found.sd
    assert misses <= 200 * 0.08


@pytest.mark.parametrize(
    ("air_c", "humidity_pct", "dew_c"),
    [(20, 60, 11.995), (15, 75, 10.602), (25, 50, 13.852), (10, 85, 7.592), (15, 80, 11.6), (25, 70, 19.1)],
)
def test_dew_points_by_the_wmo_coefficients(air_c: float, humidity_pct: float, dew_c: float) -> None:
    """WMO-No. 8 Annex 4.B coefficients worked independently."""
    assert dew_point_c(air_c, humidity_pct) == pytest.approx(dew_c, abs=0.051 if dew_c * 10 % 1 < 1e-9 else 0.001)


def test_saturation_pressure_against_the_ashrae_formula() -> None:
    """23.388 hPa at 20 C by the ASHRAE formulation (Hyland and Wexler): the short formula lies within 0.3 %."""
    assert saturation_hpa(20) == pytest.approx(23.326, abs=0.001)
    assert saturation_hpa(20) == pytest.approx(23.388, rel=3e-3)


def test_densities_lie_near_the_mixture_of_their_elements() -> None:
    """Handbook densities of the elements (CRC): tin bronzes and gunmetals mix by volume within 1.5 %.

    Silicon and much zinc draw copper together: those alloys are denser than their mixture, by up to 6.5 %.
    """
    element = {
        "Cu": 8.96,
        "Sn": 7.29,
        "Zn": 7.14,
        "Pb": 11.34,
        "Si": 2.33,
        "Mn": 7.3,
        "Fe": 7.87,
        "Al": 2.70,
        "Ni": 8.90,
        "P": 1.82,
    }
    for alloy in alloys().values():
        total = sum(alloy.composition.values())
        mixed = total / sum(share / element[name] for name, share in alloy.composition.items())
        plain = "Si" not in alloy.composition and alloy.composition.get("Zn", 0) < 10
        assert (-0.015 if plain else 0) <= alloy.density_g_ml / mixed - 1 <= (0.015 if plain else 0.065), alloy.key
