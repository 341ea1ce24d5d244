"""Areas: what is read, what is masked, parts, grain and how sure the mean is."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from colormath.color_conversions import convert_color
from colormath.color_objects import LabColor, sRGBColor
from PIL import Image

from patina.colour.area import MIN_PIXELS, AreaPixels, highlights, polygon_of, refuse_on_chart
from patina.colour.chart_data import own_values, published
from patina.colour.difference import compare, delta_e_many
from patina.colour.encode import WHITE_D50, lab_of, xyz_of
from patina.colour.mottle import grain_px, mean_lab, sampling_de00, tone_parts
from patina.colour.pairs import between
from patina.colour.reading import read_photo
from patina.colour.values import AreaReading, AreaSpec, Lab
from patina.errors import BadChart, BadQuantity, NotComparable, Refused

BROWN, GREEN = np.array([27.0, 6.5, 9.0]), np.array([52.0, -21.0, 8.0])


def clouds(side: int, grain: float, seed: int) -> np.ndarray:
    """Smooth random field of unit spread, shape (side, side)."""
    field = cv2.GaussianBlur(np.random.default_rng(seed).standard_normal((side, side)), (0, 0), grain / 2.5)
    return (field - field.mean()) / field.std()


def surface(xyz: np.ndarray) -> AreaPixels:
    """Pixels of a surface, nothing masked."""
    none = np.zeros(xyz.shape[:2], dtype=bool)
    return AreaPixels(lab_of(xyz), xyz, ~none, none, none, 1)


def two_tone(side: int = 160, grain: float = 24.0, seed: int = 3) -> np.ndarray:
    """XYZ of a mottle, half brown and half green."""
    tone = clouds(side, grain, seed) > 0
    noise = np.random.default_rng(seed + 1).normal(1, 0.03, (side, side, 1))
    return np.where(tone[..., None], xyz_of(BROWN), xyz_of(GREEN)) * noise


def test_lab_and_xyz_go_both_ways():
    """CIELAB of many colours agrees with colormath's single conversion and comes back."""
    from patina.colour.lab import lab_to_xyz

    lab = np.random.default_rng(0).uniform([1, -60, -60], [99, 60, 60], (50, 3))
    assert np.allclose(lab_of(xyz_of(lab)), lab, atol=1e-9)
    for row in lab[:10]:
        assert np.allclose(xyz_of(row), lab_to_xyz(Lab(*row)), atol=1e-6)


def test_mean_is_that_of_light():
    """A two-tone area reads as the mean of its light, which lies several CIEDE2000 from the mean of its L*a*b*."""
    xyz = two_tone()
    mean = mean_lab(surface(xyz))
    assert np.allclose(mean, lab_of(xyz.mean(axis=(0, 1))))
    by_lab = lab_of(xyz).mean(axis=(0, 1))
    assert delta_e_many([mean], [by_lab])[0] > 3.0


def test_highlights_are_masked_by_colour():
    """Reflections of the lamp are masked even where they are not burnt out; the mean hardly moves, where unmasked it
    would move by more than 1."""
    clean = np.broadcast_to(xyz_of(BROWN), (120, 120, 3)) * np.random.default_rng(1).normal(1, 0.04, (120, 120, 1))
    lit = clean.copy()
    spots = cv2.GaussianBlur((np.random.default_rng(2).random((120, 120)) > 0.997).astype(float), (0, 0), 1.2)
    lit += (spots * 4.0)[..., None] * WHITE_D50
    found = highlights(lit, np.ones((120, 120), dtype=bool))
    assert 0.005 < found.mean() < 0.2
    true, masked, unmasked = (lab_of(x) for x in (clean.mean((0, 1)), lit[~found].mean(0), lit.mean((0, 1))))
    assert delta_e_many([true], [masked])[0] < 0.7
    assert delta_e_many([true], [unmasked])[0] > 1.0 + delta_e_many([true], [masked])[0]


def test_second_tone_is_no_highlight():
    """A lighter tone of the surface's own colour is not taken for a reflection, however small its share."""
    for share in (0.5, 1.0):
        tone = clouds(160, 20, 4) > share
        xyz = np.where(tone[..., None], xyz_of(GREEN), xyz_of(BROWN)) * np.random.default_rng(5).normal(
            1, 0.03, (160, 160, 1)
        )
        assert highlights(xyz, np.ones(tone.shape, dtype=bool))[tone].mean() < 0.05


def test_parts_are_told_only_where_they_are():
    """A two-tone mottle gives two parts of the right colours and shares; an even or a merely cloudy surface none."""
    parts = tone_parts(surface(two_tone()))
    assert len(parts) == 2 and sum(part.share for part in parts) == pytest.approx(1.0)
    found = sorted((part.lab.as_list() for part in parts), key=lambda lab: lab[0])
    assert delta_e_many(found, [BROWN, GREEN]).max() < 1.5
    assert abs(parts[0].share - 0.5) < 0.05
    cloudy = xyz_of(BROWN + np.array([4.0, 0, 0]) * clouds(160, 20, 6)[..., None])
    assert tone_parts(surface(cloudy)) == ()
    assert tone_parts(surface(np.broadcast_to(xyz_of(BROWN), (80, 80, 3)) * np.ones((80, 80, 1)))) == ()


@pytest.mark.parametrize("grain", [8.0, 24.0])
def test_grain_follows_the_mottle(grain):
    """The stated grain grows with the mottle and is of its size; pixel noise alone has none."""
    found = np.mean([grain_px(surface(two_tone(240, grain, seed))) for seed in range(4)])
    assert 0.4 * grain < found < 2.0 * grain
    noise = np.random.default_rng(1).normal(1, 0.05, (120, 120, 1)) * xyz_of(BROWN)
    assert grain_px(surface(noise)) <= 3.0


def test_sampling_uncertainty_covers_the_true_error():
    """Over many mottles the mean of a small area lies within its stated sampling uncertainty of the whole surface in
    nine cases of ten or more, where pixel spread over the root of the pixels would cover almost none."""
    inside = naive = 0
    trials = 40
    for seed in range(trials):
        big = two_tone(400, 20.0, 100 + seed)
        true = lab_of(big.mean(axis=(0, 1)))
        pixels = surface(np.ascontiguousarray(big[100:220, 100:220]))
        error = delta_e_many([true], [mean_lab(pixels)])[0]
        stated, _ = sampling_de00(pixels, grain_px(pixels))
        inside += error <= stated
        naive += error <= 2 * np.linalg.norm(pixels.lab.std(axis=(0, 1))) / 120
    assert inside >= 0.88 * trials
    assert naive < 0.5 * trials


def test_areas_that_cannot_be_read_are_refused():
    """Outside the frame, without size, without numbers, too small, without outline, or on the chart: refused."""
    for spec in (
        AreaSpec("a", rect=(50, 50, 100, 20)),
        AreaSpec("a", rect=(-5, 0, 50, 50)),
        AreaSpec("a", rect=(5, 5, 0, 50)),
        AreaSpec("a", rect=(5, 5, 50, -1)),
        AreaSpec("a", rect=(5, 5, float("nan"), 9)),
        AreaSpec("a", rect=(5, 5, 3, 3)),
        AreaSpec("a", polygon=((1, 1), (50, 50))),
        AreaSpec("a", polygon=((1, 1), (50, 50), (99, 99))),
        AreaSpec("a"),
    ):
        with pytest.raises(Refused) as trouble:
            polygon_of(spec, 100, 100)
        assert "'a'" in trouble.value.what
    spec = AreaSpec("a", rect=(40, 40, 20, 20))
    with pytest.raises(Refused):
        refuse_on_chart(spec, polygon_of(spec, 100, 100), np.array([[50, 50], [90, 50], [90, 90], [50, 90]], float))
    refuse_on_chart(spec, polygon_of(spec, 100, 100), np.array([[70, 70], [90, 70], [90, 90], [70, 90]], float))
    assert MIN_PIXELS >= 16


def test_reading_without_chart(tmp_path):
    """Without a chart sRGB codes are read at their word, with a large uncertainty that is said."""
    path = tmp_path / "flat.png"
    Image.new("RGB", (120, 90), (119, 85, 60)).save(path)
    reading = read_photo(path, chart="none", areas=[AreaSpec("middle", (30, 20, 40, 40))])
    assert not reading.chart.found and reading.chart.corners is None and len(reading.chart.loo_de00) == 24
    area = reading.areas[0]
    expected = convert_color(sRGBColor(119, 85, 60, is_upscaled=True), LabColor, target_illuminant="d50")
    assert delta_e_many([area.lab.as_list()], [expected.get_value_tuple()])[0] < 0.3
    assert area.uncertainty_de00 >= 20 and (area.illuminant, area.observer, area.geometry) == ("D50", "2", "unknown")
    assert {"no-chart", "profile-missing", "state-not-stated"} <= {w.code for w in reading.warnings}
    document = reading.as_json()
    assert set(document) >= {"chart", "areas", "warnings"}
    assert document["areas"][0]["lab"] == area.lab.as_list()
    with pytest.raises(Refused):
        Image.new("RGB", (120, 90), (255, 255, 255)).save(path)
        read_photo(path, chart="none", areas=[AreaSpec("white", (30, 20, 40, 40))])


def area(L: float, a: float, b: float, sampling: float = 0.2, illuminant: str = "D50") -> AreaReading:
    """An area with a correction uncertainty of 5."""
    return AreaReading("x", Lab(L, a, b, illuminant), (1, 1, 1), 5.0, 900, 0.0, (), 4.0, sampling, 5.0)


def test_difference_in_one_photograph_is_better_known():
    """Two near colours of one photograph: their difference is known better than either; far ones are not."""
    near = between(area(30, 8, 10), area(33, 9, 12))
    assert near.difference.delta_e == compare(Lab(30, 8, 10), Lab(33, 9, 12)).delta_e
    assert near.uncertainty_de00 < 2.0
    assert between(area(30, 8, 10), area(80, -30, 60)).uncertainty_de00 > 5.0
    assert between(area(30, 8, 10, 3.0), area(33, 9, 12, 3.0)).uncertainty_de00 > 3.0
    with pytest.raises(NotComparable):
        between(area(30, 8, 10), area(33, 9, 12, illuminant="D65"))


def test_published_values_agree_with_colour_science():
    """Both editions' values are those that colour-science carries from the maker's page of 2016; the unknown edition
    lies in the middle; the editions differ by 0.85 CIEDE2000 on average, most in white."""
    import warnings

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    for edition, name in (("before-2014", "Before"), ("after-2014", "After")):
        chart = colour.CCS_COLOURCHECKERS[f"ColorChecker24 - {name} November 2014"]
        theirs = colour.XYZ_to_Lab(colour.xyY_to_XYZ(np.array(list(chart.data.values()))), chart.illuminant)
        assert np.allclose(published(edition).lab, theirs, atol=1e-6)
    apart = delta_e_many(published("before-2014").lab, published("after-2014").lab)
    assert apart.mean() == pytest.approx(0.85, abs=0.01) and apart.argmax() == 18
    assert np.allclose(published().lab, (published("before-2014").lab + published("after-2014").lab) / 2)
    with pytest.raises(BadQuantity):
        published("2014")


def own_chart(tmp_path: Path, text: str) -> Path:
    """A file of chart values."""
    path = tmp_path / "chart.txt"
    path.write_text(text, encoding="utf-8")
    return path


def test_own_values_from_csv_and_cgats(tmp_path):
    """A person's own values come from CSV (also with semicolons and decimal commas, in any order) and from CGATS."""
    lab = published("after-2014").lab
    rows = [f"{k + 1},{L},{a},{b}" for k, (L, a, b) in enumerate(lab)]
    plain = own_values(own_chart(tmp_path, "patch,L,a,b\n" + "\n".join(rows[::-1])))
    assert np.allclose(plain.lab, lab) and plain.edition == "own values"
    comma = "patch;L*;a*;b*\n" + "\n".join(row.replace(",", ";").replace(".", ",") for row in rows)
    assert np.allclose(own_values(own_chart(tmp_path, comma)).lab, lab)
    data = "\n".join(f'{k + 1} "A{k + 1}" {L} {a} {b}' for k, (L, a, b) in enumerate(lab))
    head = (
        'CGATS.17\nILLUMINANT "D50"\nNUMBER_OF_FIELDS 5\nBEGIN_DATA_FORMAT\nSAMPLE_ID SAMPLE_NAME LAB_L LAB_A LAB_B\n'
    )
    cgats = head + f"END_DATA_FORMAT\nNUMBER_OF_SETS 24\nBEGIN_DATA\n{data}\nEND_DATA\n"
    assert np.allclose(own_values(own_chart(tmp_path, cgats)).lab, lab)
    for broken in (
        "",
        "patch,L,a,b\n" + "\n".join(rows[:23]),
        "patch,L,a\n1,2,3",
        "patch,L,a,b\n" + "\n".join(rows[:23]) + "\n24,x,0,0",
        "patch,L,a,b\n" + "\n".join([*rows[:23], rows[0]]),
        "patch,L,a,b\n" + "\n".join([*rows[:23], "24,500,0,0"]),
        "L,a,b\n" + "\n".join(row.split(",", 1)[1] for row in rows[::-1]),
        cgats.replace("D50", "D65"),
        cgats.replace("LAB_A", "XYZ_Y"),
    ):
        with pytest.raises(BadChart):
            own_values(own_chart(tmp_path, broken))
    with pytest.raises(BadChart):
        own_values(tmp_path / "missing.csv")


def test_light_is_not_guessed_beyond_the_paper():
    """Inside the paper the field follows its curve; beyond it stays as at the paper's edge."""
    from patina.colour.flat import FlatField

    hull = np.array([[0, 0], [100, 0], [100, 80], [0, 80]], dtype=float)
    field = FlatField(np.array([0, 0.5, 0, 0.4, 0, 0.0]), np.array([50.0, 40.0]), 100.0, 0.1, 0.01, 99, hull)
    inside = field.at(np.array([[50, 40], [75, 40], [100, 40]]))
    assert inside == pytest.approx([1.0, np.exp(0.125 + 0.025), np.exp(0.25 + 0.1)])
    assert field.at(np.array([[400, 40]]))[0] == pytest.approx(inside[2])
    assert field.covers(np.array([60, 40])) and not field.covers(np.array([140, 40]))
