"""Whether two photographs of one piece were taken alike enough to be compared, and where they differ."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from patina.colour.chart_data import GREYS, ChartValues
from patina.colour.patches import Patches
from patina.colour.register import Registration
from patina.colour.values import Caution, ChartFinding, PhotoFacts

Array = np.ndarray[Any, np.dtype[Any]]

# How much may differ before it is said. Common practice, no source: set where the effect on a
# rendered or real chart reaches about 1 CIEDE2000.
WHITE_RATIO = 0.06
PATTERN = 0.055
SLOPE = 0.06
SAME_TURN_DEG = 20.0
EXPOSURE_EV = 0.5
TURN_DEG = 15.0
TILT_PCT = 12.0
SCALE = 1.6
MISFIT_PX = 3.0
LOO_DE00 = 1.0


@dataclass(frozen=True, eq=False)
class LightCue:
    """What the chart shows of the light. linear: light of its patches, (24, 3); centres: where they
    are, (24, 2) pixels; usable: which may be believed, (24,) bool; chroma: of their own colours, (24,).
    """

    linear: Array
    centres: Array
    usable: Array
    chroma: Array

    @property
    def white(self) -> Array:
        """Red and blue over green of the lightest usable grey: the light's colour and the camera's balance."""
        patch = next((patch for patch in GREYS if self.usable[patch]), GREYS[0])
        red, green, blue = self.linear[patch]
        return np.array([red / green, blue / green])

    @property
    def turn_deg(self) -> float:
        """Direction of the chart's upper edge in the picture."""
        along = self.centres[5] - self.centres[0]
        return float(np.degrees(np.arctan2(along[1], along[0])))

    @property
    def mean(self) -> Array:
        """Light of each patch over the three channels, (24,)."""
        return np.asarray(np.maximum(self.linear.mean(axis=1), 1e-4))


def light_cue(patches: Patches, values: ChartValues) -> LightCue:
    """The light over a measured chart."""
    chroma = np.hypot(values.lab[:, 1], values.lab[:, 2])
    return LightCue(patches.linear, patches.centres, ~(patches.clipped | patches.crushed), chroma)


def fall_change(before: LightCue, after: LightCue) -> float | None:
    """How much the fall of light over the chart has changed, in logarithm of light per chart width.

    The same patch is compared with itself, so that neither the chart's pattern nor a tone curve
    common to both matters; exposure is left out. None where too few patches are usable in both.
    """
    both = before.usable & after.usable & (np.minimum(before.mean, after.mean) > 0.01)
    if both.sum() < 12:
        return None
    pitch = np.linalg.norm(after.centres[5] - after.centres[0]) / 5
    place = (after.centres - after.centres.mean(axis=0)) / (5 * pitch)
    level = np.log(before.mean)
    base = np.stack([np.ones_like(level), level, level**2, place[:, 0], place[:, 1]], axis=1)[both]
    weight = 1 / (1 + before.chroma[both] / 20)
    change = (np.log(after.mean) - level)[both]
    found, *_ = np.linalg.lstsq(base * weight[:, None], change * weight, rcond=None)
    return float(np.hypot(found[3], found[4]))


def pattern_change(before: LightCue, after: LightCue) -> float | None:
    """How differently the two photographs saw the chart's colours once white is balanced: root mean
    square of the logarithm of red and blue over green. None where too few patches are usable in both.

    A lamp of another kind shows here even where the camera balanced its white away.
    """
    bright = np.minimum(before.linear.min(axis=1), after.linear.min(axis=1)) > 0.02
    both = before.usable & after.usable & bright
    if both.sum() < 12:
        return None
    change = np.log(after.linear[both]) - np.log(before.linear[both])
    against_green = change[:, [0, 2]] - change[:, [1]]
    return float(np.sqrt(((against_green - np.median(against_green, axis=0)) ** 2).mean()))


@dataclass(frozen=True, slots=True)
class Circumstances:
    """How one photograph was taken: what its file says, its chart, and the light on the chart."""

    facts: PhotoFacts
    chart: ChartFinding
    light: LightCue | None = None


def cautions(before: Circumstances, after: Circumstances, registration: Registration) -> tuple[Caution, ...]:
    """What may make the difference look larger or smaller than it is; empty where nothing speaks against it."""
    found = [*_of_charts(before, after), *_of_light(before, after, registration), *_of_cameras(before, after)]
    return tuple(found + _of_angle(registration))


def _of_charts(before: Circumstances, after: Circumstances) -> list[Caution]:
    missing = [word for word, one in (("earlier", before), ("later", after)) if not one.chart.found]
    if missing:
        text = f"There is no chart in the {' and the '.join(missing)} photograph: colours are as the camera gave them."
        return [Caution("chart-missing", text, None, "Compare shapes and places only, not colours.")]
    found = []
    if before.chart.edition != after.chart.edition:
        text = f"The charts are of different editions ({before.chart.edition}, {after.chart.edition})."
        found.append(Caution("chart-edition", text, None, "Name the edition of each chart, or use the same chart."))
    worse = [c.loo_mean_de00 for c in (before.chart, after.chart) if c.loo_mean_de00 is not None]
    if len(worse) == 2 and abs(worse[0] - worse[1]) > LOO_DE00:
        text = f"One photograph was corrected less well than the other ({worse[0]:.1f} and {worse[1]:.1f} CIEDE2000)."
        found.append(Caution("chart-fit", text, abs(worse[0] - worse[1]), "Retake under the light of the better one."))
    return found


def _of_light(before: Circumstances, after: Circumstances, registration: Registration) -> list[Caution]:
    one, other = before.light, after.light
    if one is None or other is None:
        return []
    found = []
    ratio = float(np.abs(np.log(other.white / one.white)).max())
    if ratio > WHITE_RATIO:
        text = f"The chart's white differs by {100 * np.expm1(ratio):.0f} %: another light or another white balance."
        found.append(Caution("light-colour", text, ratio, "Use the same lamp and a fixed white balance."))
    pattern = pattern_change(one, other)
    if pattern is not None and pattern > PATTERN:
        text = (
            f"The chart's colours stand differently to each other (by {100 * pattern:.0f} %): another kind of light, "
        )
        text += "camera or picture style."
        found.append(Caution("light-kind", text, pattern, "Use the same kind of lamp and the same camera settings."))
    turned = (other.turn_deg - one.turn_deg - registration.turned_deg + 180) % 360 - 180
    change = fall_change(one, other)
    if abs(turned) > SAME_TURN_DEG or change is None:
        text = "Whether the light comes from the same side cannot be told: the chart lies another way or is not usable."
        found.append(Caution("light-side-unknown", text, None, "Lay the chart the same way against the piece."))
    elif change > SLOPE:
        text = f"The light comes from another side: its fall over the chart differs by {100 * change:.0f} %."
        found.append(
            Caution("light-side", text, change, "Put the lamp back where it stood; relief shades differently.")
        )
    return found


def _of_cameras(before: Circumstances, after: Circumstances) -> list[Caution]:
    found = []
    first, second = before.facts, after.facts
    if first.camera is None or second.camera is None:
        text = "A photograph does not say which camera took it."
        found.append(Caution("camera-unknown", text, None, "Keep the files as the camera wrote them."))
    elif first.camera != second.camera:
        text = f"Different cameras: {first.camera} and {second.camera}."
        found.append(Caution("camera", text, None, "Use the same camera; two see some finishes differently."))
    if first.lens != second.lens:
        text = f"Different lenses: {first.lens or 'not stated'} and {second.lens or 'not stated'}."
        found.append(Caution("lens", text, None, "Use the same lens, set the same."))
    lengths = [_number(facts.exif, "focal_length_mm") for facts in (first, second)]
    if lengths[0] and lengths[1] and abs(np.log(lengths[1] / lengths[0])) > 0.05 and first.camera == second.camera:
        text = f"Different focal lengths: {lengths[0]:g} mm and {lengths[1]:g} mm."
        found.append(Caution("focal-length", text, lengths[1] / lengths[0], "Set the zoom as before."))
    exposures = [_exposure_ev(facts.exif) for facts in (first, second)]
    if exposures[0] is not None and exposures[1] is not None and abs(exposures[1] - exposures[0]) > EXPOSURE_EV:
        steps = exposures[1] - exposures[0]
        text = f"The exposure differs by {abs(steps):.1f} EV."
        found.append(
            Caution("exposure", text, steps, "Fix exposure by hand; a camera's tone curve is not the same all along.")
        )
    if first.exif.get("flash") != second.exif.get("flash"):
        found.append(
            Caution("flash", "One photograph says something else about its flash.", None, "Leave the flash off.")
        )
    return found


def _number(exif: Mapping[str, str], key: str) -> float | None:
    try:
        value = float(exif[key])
    except (KeyError, ValueError):
        return None
    return value if value > 0 else None


def _exposure_ev(exif: Mapping[str, str]) -> float | None:
    """Light that the settings let in, in EV: more is brighter. None where a setting is not stated."""
    seconds, aperture, iso = (_number(exif, key) for key in ("exposure_s", "f_number", "iso"))
    if seconds is None or aperture is None or iso is None:
        return None
    return float(np.log2(seconds * iso / 100 / aperture**2))


def _of_angle(registration: Registration) -> list[Caution]:
    found = []
    checks: tuple[tuple[str, float, bool, Callable[[], str], str], ...] = (
        (
            "camera-turned",
            registration.turned_deg,
            abs(registration.turned_deg) > TURN_DEG,
            lambda: f"The camera was turned by {abs(registration.turned_deg):.0f}° against the piece.",
            "Turn it back: light then falls on the relief from the same side.",
        ),
        (
            "angle",
            registration.tilt_pct,
            registration.tilt_pct > TILT_PCT,
            lambda: f"Another angle of view: scale changes by {registration.tilt_pct:.0f} % across the piece.",
            "Stand where the earlier photograph was taken from; sheen depends on the angle.",
        ),
        (
            "distance",
            registration.scale,
            not 1 / SCALE < registration.scale < SCALE,
            lambda: f"The piece is {registration.scale:.2f} times as large in the later photograph.",
            "Take it from the same distance.",
        ),
        (
            "not-flat",
            registration.misfit_px,
            registration.misfit_px > MISFIT_PX,
            lambda: f"The pictures fit to {registration.misfit_px:.1f} pixels only: the surface is not one plane.",
            "Compare larger patches, or one side of the piece at a time.",
        ),
    )
    for code, size, differs, text, do in checks:
        if differs:
            found.append(Caution(code, text(), size, do))
    return found
