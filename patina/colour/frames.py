"""A chart in one photograph that serves for another, taken with the same settings in the same light."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import log

from patina.colour import cautions
from patina.colour.calibration import Calibration
from patina.colour.photograph import Photo
from patina.colour.values import Caution, PhotoFacts
from patina.errors import BadPhotograph

FRAME_DE00 = 1.1  # how much the same patch differs between photographs of one set-up, corrected; [MEASURED77]
UNKNOWN_LIGHT = 0.23  # a third of a stop, the step in which cameras set exposure: common practice, no source
MOST_LIGHT = 1.4  # two stops: beyond that nothing of the other frame serves


def carried(calibration: Calibration, chart: Photo, photo: Photo, *, keep_flat: bool) -> Calibration:
    """The correction of one photograph's chart, for reading another; its doubts are added.

    keep_flat: whether the light's fall was taken from a frame of plain card, which serves both.
    Raises BadPhotograph where the two files store colour in different ways, or their exposures are
    more than two stops apart.
    """
    one, other = chart.profile, photo.profile
    if one.description != other.description or one.linear != other.linear:
        names = [profile.description or "plain sRGB" for profile in (one, other)]
        raise BadPhotograph(
            f"The chart's photograph stores colour as {names[0]}, this one as {names[1]}.",
            "Take both with the same camera and save them the same way.",
        )
    light = _light_between(chart.facts, photo.facts)
    if light is not None and light > MOST_LIGHT:
        raise BadPhotograph(
            f"The chart's photograph and this one are {light / log(2.0):.1f} stops apart in exposure.",
            "Set the camera to manual and take both alike, or put the chart into every picture.",
        )
    said = (*calibration.cautions, *cautions.frames_differ(chart.facts, photo.facts), *_said(light))
    return replace(
        calibration,
        cautions=said,
        flat=calibration.flat if keep_flat else None,
        same_frame=False,
        frame_light=UNKNOWN_LIGHT if light is None else light,
        frame_de00=FRAME_DE00,
    )


def _said(light: float | None) -> Iterator[Caution]:
    yield Caution(
        "chart-elsewhere",
        "The chart lies in another photograph: light, distance and settings are taken to be the same in both.",
        FRAME_DE00,
        "Put the chart into every picture where you can.",
    )
    if light is None:
        yield Caution(
            "exposure-unknown",
            "The files do not say how they were exposed; a third of a stop is counted as doubt.",
            UNKNOWN_LIGHT,
            "Use the photographs as the camera stored them.",
        )


def _light_between(one: PhotoFacts, other: PhotoFacts) -> float | None:
    """How far two exposures are apart, as the logarithm of light; None where it is not told."""
    first, second = _exposure(one), _exposure(other)
    return None if first is None or second is None else abs(log(first / second))


def _exposure(facts: PhotoFacts) -> float | None:
    """Light that the settings let in: time times ISO over the square of the f-number."""
    values = []
    for key in ("exposure_s", "f_number", "iso"):
        try:
            value = float(Fraction(facts.exif.get(key, "")))
        except (ValueError, ZeroDivisionError):
            return None
        if value <= 0:
            return None
        values.append(value)
    time_s, f_number, iso = values
    return time_s * iso / f_number**2
