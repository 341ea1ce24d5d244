"""Conversions of single colours."""

from __future__ import annotations

import subprocess
import sys

import pytest
from colormath.color_conversions import convert_color
from colormath.color_objects import LabColor, sRGBColor

from patina.colour.lab import adapt, in_screen_range, lab_to_xyz, srgb_hex, xyz_to_lab
from patina.colour.values import Lab
from patina.errors import NotComparable

SAMPLES = [Lab(L, a, b) for L in (5, 25, 50, 75, 92) for a in (-20, 0, 15) for b in (-15, 0, 25)]


def test_screen_colour_agrees_with_colormath():
    """The plain arithmetic gives colormath's sRGB to within one code."""
    for lab in SAMPLES:
        if not in_screen_range(lab):
            continue
        theirs = convert_color(LabColor(lab.L, lab.a, lab.b, illuminant="d50"), sRGBColor, target_illuminant="d65")
        codes = [int(srgb_hex(lab)[i : i + 2], 16) for i in (1, 3, 5)]
        assert codes == pytest.approx([min(max(255 * c, 0), 255) for c in theirs.get_value_tuple()], abs=1.0)


def test_out_of_range_is_said():
    """A colour no screen shows is cut to the nearest and said to be out of range."""
    assert not in_screen_range(Lab(50, -90, 0)) and in_screen_range(Lab(50, -20, 0))
    assert srgb_hex(Lab(50, -90, 0)).startswith("#00")


def test_there_and_back():
    """XYZ and back gives the same colour, for each illuminant."""
    for illuminant in ("D50", "D65", "A"):
        for lab in SAMPLES:
            again = xyz_to_lab(lab_to_xyz(Lab(lab.L, lab.a, lab.b, illuminant)), illuminant)
            assert again.as_list() == pytest.approx(lab.as_list(), abs=1e-9) and again.illuminant == illuminant


def test_adapting_keeps_greys_and_comes_back():
    """A grey stays grey under another illuminant, and adapting there and back changes nothing to speak of."""
    assert adapt(Lab(60, 0, 0, "D65"), "D50").as_list() == pytest.approx([60, 0, 0], abs=0.01)
    lab = Lab(40, 12, 25, "D65")
    moved = adapt(lab, "D50")
    assert moved.illuminant == "D50" and abs(moved.b - lab.b) > 0.1
    assert adapt(moved, "D65").as_list() == pytest.approx(lab.as_list(), abs=0.01)


def test_unknown_illuminant_is_refused():
    """An illuminant whose white is not known is refused, never taken for D50."""
    with pytest.raises(NotComparable):
        adapt(Lab(40, 0, 0, "LED-B3"), "D50")


def test_colour_cells_cost_nothing():
    """A colour cell is computed without numpy, colormath or its graph library."""
    code = (
        "import sys; from patina.colour.lab import srgb_hex; from patina.colour.values import Lab;"
        "srgb_hex(Lab(40, 10, 20));"
        "print([m for m in ('numpy','colormath','networkx','cv2','PIL') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
