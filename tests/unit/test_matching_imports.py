"""Importing the pure rooms brings none of the heavy libraries with it."""

from __future__ import annotations

import subprocess
import sys

LIGHT = (
    "patina.surface.alloys",
    "patina.surface.area",
    "patina.surface.dew",
    "patina.surface.heat",
    "patina.surface.infrared",
    "patina.surface.mesh",
    "patina.surface.primitives",
    "patina.surface.volume",
    "patina.matching.ageing",
    "patina.matching.anova",
    "patina.matching.grey_scale",
    "patina.matching.master",
    "patina.matching.mottle",
    "patina.matching.piece",
    "patina.matching.series",
    "patina.matching.tolerance",
    "patina.matching.verdict",
)


def test_surface_and_matching_are_light_to_import() -> None:
    """numpy, scipy, trimesh and pint are not loaded before something is computed with them."""
    code = (
        f"import sys, {', '.join(LIGHT)}; print([m for m in ('numpy', 'scipy', 'trimesh', 'pint') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
