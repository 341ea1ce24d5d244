"""Warnings about a photograph, its chart and its areas, as data."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from patina.colour.chart import FoundChart
from patina.colour.chart_data import COLUMNS, GREYS, ROWS, ChartValues
from patina.colour.chart_geometry import PLACES, pitch_px
from patina.colour.correction import Correction
from patina.colour.flat import FlatField
from patina.colour.patches import Patches
from patina.colour.values import AreaReading, Caution, PhotoFacts

Array = np.ndarray[Any, np.dtype[Any]]

GLARE_RATIO = 0.06  # black over white, linear; the chart itself has 0.037
UNEVEN = 0.10
UNEVEN_BY_PATCHES = 0.20  # guessed from the patches alone, which know it less well
MIXED_DRIFT = 3.0
MISFIT_WARN = 5.0
BLUR = 0.10  # sharp photographs show 0.00 to 0.04
PALE = 0.8  # photographs in fair light show 0.9 to 1.15
SMALL_PITCH_PX = 18.0
MASKED_WARN_PCT = 5.0
AREA_BLOCKS = 8


def no_chart() -> Caution:
    """Read without a chart."""
    return Caution(
        "no-chart",
        "Read without a chart: camera and light are taken at the file's word, which is often off by 10 CIEDE2000.",
        20.0,
        "Lay a chart beside the surface.",
    )


def of_chart(
    found: FoundChart, patches: Patches, rejected: tuple[tuple[int, str], ...], values: ChartValues
) -> Iterator[Caution]:
    """What the finding and the patches show."""
    if values.edition == "unknown":
        yield Caution(
            "edition-unknown",
            "It is not known whether the chart was made before or after November 2014: the two differ by 0.9 "
            "CIEDE2000 on average, and a photograph does not tell.",
            0.9,
            "State the edition; it is printed on the chart's back.",
        )
    if found.others:
        yield Caution(
            "chart-twice",
            f"{found.others + 1} charts are in the picture; the one that agrees best was used.",
            float(found.others + 1),
            "Leave one chart in the picture, or give its corners.",
        )
    if found.mirrored:
        yield Caution(
            "mirrored", "The photograph is mirrored.", None, "Check left and right before pointing at places."
        )
    pitch = pitch_px(found.corners)
    if pitch < SMALL_PITCH_PX:
        yield Caution(
            "chart-small",
            f"The chart is small: {pitch:.0f} pixels from patch to patch.",
            pitch,
            "Go nearer, so that the chart fills a tenth of the picture or more.",
        )
    for reason, code in (("burnt out", "clipped"), ("lost in black", "crushed"), ("covered or uneven", "covered")):
        numbers = [number for number, why in rejected if why == reason]
        if numbers:
            yield Caution(
                code,
                f"Left out because {reason}: patch {', '.join(map(str, numbers))}.",
                float(len(numbers)),
                "Expose less." if code == "clipped" else "Expose more." if code == "crushed" else "Uncover the chart.",
            )
    white, black = patches.linear[18].mean(), patches.linear[23].mean()
    ratio = float(black / max(white, 1e-6))
    if ratio > GLARE_RATIO and not {19, 24} & {number for number, _ in rejected}:
        yield Caution(
            "glare",
            f"Stray light lies over the picture: black is {100 * ratio:.0f} % of white instead of 4 %. Dark colours "
            "suffer first, by several CIEDE2000.",
            ratio,
            "Shade the lens, move the lamp, lay the chart flat.",
        )


def blurred(width: float | None) -> Iterator[Caution]:
    """Whether the picture is blurred. width: of a patch's edge, as a share of the patches' distance."""
    if width is not None and width > BLUR:
        yield Caution(
            "blur",
            f"The picture is blurred: edges in the chart are {100 * width:.0f} % of a patch's distance wide.",
            width,
            "Hold the camera still and focus on the surface.",
        )


def of_light(patches: Patches, usable: Array, fit: Correction, flat: FlatField | None, used: bool) -> Iterator[Caution]:
    """Whether the light is even and of one colour over the chart."""
    spread = flat.spread if flat is not None else _grey_slope(fit)
    if spread > (UNEVEN if flat is not None else UNEVEN_BY_PATCHES):
        remedy = (
            "Corrected by the white around the chart; keep the surface as near the chart as you can."
            if used
            else "Move the lamp away or lay white paper under chart and surface; keep the surface near the chart."
        )
        seems = "differs" if flat is not None else "seems to differ"
        yield Caution("uneven-light", f"The light {seems} by {100 * spread:.0f} % over the chart.", spread, remedy)
    drift = _tint_drift(fit)
    if drift > MIXED_DRIFT:
        yield Caution(
            "mixed-light",
            f"The greys change in tint across the chart by {drift:.1f} units of a*, b*: two kinds of light meet here.",
            drift,
            "Block one of the lights.",
        )
    steep = np.flatnonzero((patches.slope > 0.25) & usable) + 1
    if len(steep) >= 3:
        yield Caution(
            "glare-on-chart",
            f"Light changes steeply inside patch {', '.join(map(str, steep))}: a reflection lies over it.",
            float(len(steep)),
            "Turn the chart or the lamp until the reflection is gone.",
        )


def _grey_slope(fit: Correction) -> float:
    """Unevenness that the lightness errors of the patches hint at, over the chart's length."""
    used = np.isfinite(fit.loo_de00)
    steps = PLACES[used] - [(COLUMNS - 1) / 2.0, (ROWS - 1) / 2.0]
    level = 3.0 * fit.residuals[used, 0] / (fit.reference[used, 0] + 16.0)
    design = np.concatenate([np.ones((len(steps), 1)), steps], axis=1)
    plane, *_ = np.linalg.lstsq(design, level, rcond=None)
    fitted = float(np.abs(plane[1:]) @ np.array([COLUMNS - 1, ROWS - 1]))
    rest = float(np.std(level - design @ plane)) * 2.0 / np.sqrt(len(steps)) * 2.0
    return fitted if fitted > 2.0 * rest else 0.0


def _tint_drift(fit: Correction) -> float:
    greys = [g for g in GREYS[:5] if np.isfinite(fit.loo_de00[g])]
    if len(greys) < 4:
        return 0.0
    place = np.arange(len(greys)) - (len(greys) - 1) / 2.0
    slopes = place @ fit.residuals[greys, 1:] / float(place @ place)
    return float(np.hypot(*slopes) * (len(greys) - 1))


def misfit(plain_de00: float, loo_mean: float) -> Iterator[Caution]:
    """Whether the chart agrees with its reference. plain_de00: mean misfit of a plain 3×3."""
    if plain_de00 > MISFIT_WARN:
        yield Caution(
            "chart-misfit",
            f"The chart does not agree well with its reference: {plain_de00:.1f} CIEDE2000 on average where 2 to 5 "
            "is usual. It may be copied, faded, dirty, of another make, or badly lit.",
            plain_de00,
            "Use an original chart less than two years old, flat, in even light.",
        )
    if loo_mean > 6.0:
        yield Caution(
            "poor-correction",
            f"Patches left out are predicted only to {loo_mean:.1f} CIEDE2000.",
            loo_mean,
            "Take the picture again in even daylight or under a good lamp.",
        )


def pale(strength: float) -> Iterator[Caution]:
    """Whether the chart's colours are paler than cameras show them. strength: share of the reference's chroma."""
    if strength < PALE:
        yield Caution(
            "chart-pale",
            f"The chart's colours are pale: {100 * strength:.0f} % of the chroma they should have. A faded chart, "
            "haze and a pale camera setting look the same; if the chart is faded, all readings come out too strong.",
            strength,
            "Compare with a new chart; shade the lens.",
        )


def of_area(area: AreaReading, blocks: int, clipped_pct: float) -> Iterator[Caution]:
    """What the pixels of an area show."""
    if area.masked_pct > MASKED_WARN_PCT:
        yield Caution(
            "highlights",
            f"'{area.name}': {area.masked_pct:.0f} % of the pixels were left out as reflections or burnt out.",
            area.masked_pct,
            "Move the lamp, use crossed polarisers, or choose another area.",
        )
    if clipped_pct > MASKED_WARN_PCT:
        yield Caution("clipped-area", f"'{area.name}': {clipped_pct:.0f} % is burnt out.", clipped_pct, "Expose less.")
    if blocks < AREA_BLOCKS or (area.sampling_de00 > 2.0 and blocks < 40):
        yield Caution(
            "area-too-small",
            f"'{area.name}' is small for its mottle of {area.grain_px or 0:.0f} pixels: its mean may be off by "
            f"{area.sampling_de00:.1f} CIEDE2000 on that account.",
            area.sampling_de00,
            "Read a larger area, or several.",
        )
    if area.parts:
        yield Caution(
            "parted",
            f"'{area.name}' shows {len(area.parts)} tones: one mean does not describe it.",
            float(len(area.parts)),
            "Compare tone with tone and share with share.",
        )


def of_file(facts: PhotoFacts, chart_used: bool) -> Iterator[Caution]:
    """What the file's own entries show."""
    if facts.profile is None and not chart_used:
        yield Caution(
            "profile-missing",
            "The file names no colour profile; it was read as sRGB.",
            None,
            "Use the photograph as the camera stored it.",
        )
    orientation = facts.exif.get("orientation")
    if orientation is not None and orientation not in {str(n) for n in range(1, 9)}:
        yield Caution(
            "orientation-invalid",
            f"The file's orientation entry is {orientation}, which means nothing; the picture was left as it lies.",
            None,
            "Check that the picture is upright.",
        )


def frames_differ(chart_frame: PhotoFacts, tile_frame: PhotoFacts) -> Iterator[Caution]:
    """Whether a chart in one photograph can serve for another: same exposure, lens and camera."""
    for key, word in (("exposure_s", "exposure time"), ("f_number", "aperture"), ("iso", "ISO"), ("white_balance", "")):
        one, other = chart_frame.exif.get(key), tile_frame.exif.get(key)
        if one != other:
            yield Caution(
                "exposure-differs",
                f"The chart's photograph and the tile's differ in {word or 'white balance'}: {one} and {other}.",
                None,
                "Set the camera to manual, or put the chart into every picture.",
            )
    if chart_frame.camera != tile_frame.camera:
        yield Caution("camera-differs", "Two cameras took these photographs.", None, "Use one camera.")


def state_not_stated() -> Caution:
    """Nobody said whether the surface was dry, wet or hot."""
    return Caution(
        "state-not-stated",
        "It was not stated whether the surface was dry, wet, hot, waxed or bare: wet and waxed surfaces read darker.",
        None,
        "State it with the reading.",
    )
