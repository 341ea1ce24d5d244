"""Reading a photograph from end to end: chart, correction, areas, warnings."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from patina.colour import cautions
from patina.colour.area import AreaPixels, area_pixels, polygon_of, refuse_on_chart
from patina.colour.calibration import Calibration, correction_de00
from patina.colour.cards import calibrate_card, card_values
from patina.colour.chart import FoundChart, find_chart, given_chart
from patina.colour.chart_data import ChartValues, own_values, published
from patina.colour.chart_geometry import PLACES, outline
from patina.colour.correction import (
    colour_strength,
    fit_correction,
    left_out_errors,
    require_enough,
)
from patina.colour.encode import lab_of
from patina.colour.flat import FlatField, frame_field, paper_field
from patina.colour.frames import carried
from patina.colour.mottle import grain_px, mean_lab, sampling_de00, tone_parts
from patina.colour.outline import tile_around
from patina.colour.patches import Patches, edge_width, measure_patches
from patina.colour.photograph import Photo, open_photo
from patina.colour.values import CARDS, AreaReading, AreaSpec, Caution, ChartFinding, Lab, PhotoReading, Point
from patina.errors import BadChart, Refused

Array = np.ndarray[Any, np.dtype[Any]]

COVERED_NOISE = 0.35  # spread inside a patch, as a share of its light, that no print has
MISMATCH_DE00 = 15.0
HIDDEN_DE00 = 9.0  # the same for a patch that does not stand out from its frame
MAX_COVERED = 4
STANDING_OUT_L = 36.0  # lighter patches stand out from the black frame
REFUSE_MISFIT = 11.0
FLAT_GAIN = 1.03  # the field is used unless the chart reads clearly worse with it


def read_photo(
    source: Path,
    *,
    chart: str | Path = "auto",
    edition: str = "unknown",
    corners: Sequence[Point] | None = None,
    areas: Sequence[AreaSpec] = (),
    state: str | None = None,
    flat_frame: Path | None = None,
    card: str | Path | None = None,
    chart_frame: Path | None = None,
) -> PhotoReading:
    """Reads areas of a photograph as CIELAB for D50 and the 2 degree observer.

    chart: "auto" finds a 24-patch colour rendition chart and uses published values; "none" reads by
    the file's profile alone; "white-card" and "step-card" correct by a plain white or grey card, or by
    a row of neutral steps, with the reflectances in ``card`` (see ``card_values``); a path names a
    file of the chart's own values. edition: of the chart, one of EDITIONS. corners: where the finding
    fails: centres of patches 1, 6, 24, 19; of a card, its outer corners, the first and second where
    its first and last step lie. areas: what to read, in pixels of the upright picture. flat_frame: a
    photograph of plain card in the same place and light, where there is one. chart_frame: another
    photograph that shows the chart, taken with the same camera and settings in the same light; corners
    are then those in it. state: of the surface ("dry", "wet", ...), if known.
    Raises BadPhotograph, NoChart, BadChart, and Refused for an area that cannot be read.
    """
    photo = open_photo(Path(source))
    target = photo if chart_frame is None else open_photo(Path(chart_frame))
    polygons = [polygon_of(spec, photo.width, photo.height) for spec in areas]
    warned: list[Caution] = []
    calibration: Calibration | None = None
    if chart == "none":
        warned.append(cautions.no_chart())
    else:
        if chart in CARDS:
            calibration = calibrate_card(target, card_values(str(chart), card), corners, flat_frame)
        else:
            values = published(edition) if chart == "auto" else own_values(Path(chart))
            calibration = calibrate(target, values, corners, flat_frame)
        if chart_frame is not None:
            calibration = carried(calibration, target, photo, keep_flat=flat_frame is not None)
        warned.extend(calibration.cautions)
    warned.extend(cautions.of_file(photo.facts, calibration is not None and chart not in CARDS))
    if state is None and areas:
        warned.append(cautions.state_not_stated())
    readings = []
    for spec, polygon in zip(areas, polygons, strict=True):
        if spec.whole_tile:
            polygon = tile_around(photo, spec, polygon)
        reading, more = read_area(photo, spec, polygon, calibration)
        readings.append(reading)
        warned.extend(more)
    finding = calibration.finding if calibration else ChartFinding(False, method="by the file's profile alone")
    return PhotoReading(finding, tuple(readings), tuple(warned), photo.width, photo.height, photo.facts)


def calibrate(
    photo: Photo, values: ChartValues, corners: Sequence[Point] | None = None, flat_frame: Path | None = None
) -> Calibration:
    """Finds and measures the chart and fits the correction. Raises NoChart, BadChart, and
    BadPhotograph for a flat frame that does not serve.
    """
    found = find_chart(photo) if corners is None else given_chart(photo, corners)
    patches = measure_patches(photo, found.corners)
    rejected = _rejected(patches)
    usable = np.ones(24, dtype=bool)
    usable[[number - 1 for number, _ in rejected]] = False
    hidden = _hidden(found)
    for _ in range(3):  # a patch that is gone no longer draws the fit towards it, and others show
        errors = left_out_errors(patches.linear, usable, values, photo.profile.matrix)
        typical = float(np.nanmedian(errors))
        limits = np.where(hidden, max(HIDDEN_DE00, 2.0 * typical), max(MISMATCH_DE00, 4.0 * typical))
        mismatched = [k + 1 for k in range(24) if errors[k] > limits[k]]
        if not mismatched:
            break
        rejected += tuple((number, "covered or uneven") for number in mismatched)
        usable[[number - 1 for number in mismatched]] = False
        _refuse_covered(rejected)
    require_enough(usable)
    if flat_frame is not None:
        given = frame_field(photo, open_photo(Path(flat_frame)), found.corners)
        flat: FlatField | None = given
        seen: Array | None = _evened(patches, given)
    else:
        flat = paper_field(photo, found.corners, patches.linear[18]) if usable[18] else None
        seen = _flattened(photo, patches, usable, values, flat)
    used = seen is not None
    fit = fit_correction(patches.linear if seen is None else seen, usable, values, photo.profile.matrix)
    plain = fit.plain_misfit
    if plain > REFUSE_MISFIT:
        raise BadChart(
            f"The chart does not agree with its reference: {plain:.0f} CIEDE2000 on average.",
            "Use an original chart less than two years old, uncovered, in even light; check the values given for it.",
        )
    loo_mean = float(np.nanmean(fit.loo_de00))
    warned = [
        *cautions.of_chart(found, patches, rejected, values),
        *cautions.of_light(patches, usable, fit, flat, used),
        *cautions.misfit(plain, loo_mean),
        *cautions.blurred(edge_width(photo, found.corners)),
        *_pale(photo, patches, usable, values),
    ]
    finding = ChartFinding(
        found=True,
        corners=found.points(),
        edition=values.edition,
        method=fit.method,
        misfit_de00=float(np.nanmean(fit.misfit_de00)),
        loo_de00=tuple(None if np.isnan(error) else float(error) for error in fit.loo_de00),
        loo_mean_de00=loo_mean,
        mirrored=found.mirrored,
        rejected=tuple(sorted(rejected)),
        glare=_glare(patches) if usable[18] and usable[23] else None,
        flat_field=_flat_word(used, flat_frame),
    )
    field = outline(found.corners)
    return Calibration(finding, fit, flat if used else None, field, tuple(warned), values.spread_de00)


def _flat_word(used: bool, flat_frame: Path | None) -> str:
    if flat_frame is not None:
        return "flat frame"
    return "white around the chart" if used else "none"


def _pale(photo: Photo, patches: Patches, usable: Array, values: ChartValues) -> list[Caution]:
    """Whether the chart looks faded; raw light is pale by nature and says nothing."""
    if photo.profile.linear:
        return []
    return list(cautions.pale(colour_strength(patches.linear, usable, values, photo.profile.matrix)))


def _rejected(patches: Patches) -> tuple[tuple[int, str], ...]:
    """Patches that cannot be believed, with the reason."""
    noise = patches.noise > max(COVERED_NOISE, 4.0 * float(np.median(patches.noise)))
    rejected = []
    for k in range(24):
        if patches.clipped[k]:
            rejected.append((k + 1, "burnt out"))
        elif patches.crushed[k]:
            rejected.append((k + 1, "lost in black"))
        elif noise[k]:
            rejected.append((k + 1, "covered or uneven"))
    return tuple(rejected)


def _hidden(found: FoundChart) -> Array:
    """Patches that should stand out from their frame and do not, shape (24,), bool; none where the
    picture is too blurred to tell. Raises BadChart where there are many.
    """
    expected = published("unknown").lab[:, 0] > STANDING_OUT_L
    hidden = expected & ~found.outlined
    if hidden.sum() > 0.5 * expected.sum():
        return np.zeros(24, dtype=bool)
    if hidden.sum() > MAX_COVERED:
        _refuse_covered(tuple((int(k) + 1, "covered or uneven") for k in np.flatnonzero(hidden)))
    apart = np.abs(PLACES[:, None] - PLACES[None]).max(axis=2)
    beside = (apart[hidden] <= 1).any(axis=0)  # what hides a light patch may hide a dark one beside it
    return hidden | (beside & ~found.outlined)


def _refuse_covered(rejected: tuple[tuple[int, str], ...]) -> None:
    covered = [number for number, why in rejected if why == "covered or uneven"]
    if len(covered) > MAX_COVERED:
        raise BadChart(
            f"The chart is covered or soiled at patch {', '.join(map(str, sorted(covered)))}.",
            "Uncover the whole chart and take the picture again.",
        )


def _glare(patches: Patches) -> float:
    """Stray light over black as a share of white's light, beyond what the chart's black reflects."""
    ratio = float(patches.linear[23].mean() / max(patches.linear[18].mean(), 1e-6))
    return max(ratio - 0.037, 0.0)


def _evened(patches: Patches, flat: FlatField) -> Array:
    return patches.linear / flat.at(patches.centres)[:, None]


def _flattened(
    photo: Photo, patches: Patches, usable: Array, values: ChartValues, flat: FlatField | None
) -> Array | None:
    """The patches' light evened out by the paper around the chart, or None where that does not help."""
    if flat is None:
        return None
    even = _evened(patches, flat)
    plain, better = (
        float(np.nanmean(left_out_errors(light, usable, values, photo.profile.matrix)))
        for light in (patches.linear, even)
    )
    return even if better < FLAT_GAIN * plain else None


def read_area(
    photo: Photo, spec: AreaSpec, polygon: Array, calibration: Calibration | None
) -> tuple[AreaReading, list[Caution]]:
    """One area: its reading and what is to be said of it. Raises Refused."""
    if calibration is not None and calibration.same_frame:
        refuse_on_chart(spec, polygon, calibration.field)
    pixels = area_pixels(photo, polygon, _to_lab(photo, calibration), _light_at(calibration))
    inside = int(pixels.inside.sum())
    used = int(pixels.used.sum())
    if used < 32 or used < 0.2 * inside:
        raise Refused(
            f"The area '{spec.name}' is burnt out or covered by reflections: {used} of {inside} pixels can be read.",
            "Expose less, move the lamp, or choose another area.",
            title="That area cannot be read",
            field=spec.name,
        )
    lab = mean_lab(pixels)
    grain = grain_px(pixels)
    sampling, blocks = sampling_de00(pixels, grain)
    correction = correction_de00(calibration, lab, polygon)
    reading = AreaReading(
        name=spec.name,
        lab=Lab(float(lab[0]), float(lab[1]), float(lab[2])),
        sd=_spread(pixels),
        uncertainty_de00=float(np.sqrt(sampling**2 + correction**2)),
        pixels=used * pixels.step**2,
        masked_pct=100.0 * (1.0 - used / inside),
        parts=tone_parts(pixels),
        grain_px=grain,
        sampling_de00=sampling,
        correction_de00=correction,
        polygon=tuple((float(x), float(y)) for x, y in polygon),
    )
    clipped = 100.0 * float(pixels.clipped.sum()) / inside
    return reading, list(cautions.of_area(reading, blocks, clipped))


def _to_lab(photo: Photo, calibration: Calibration | None) -> Callable[[Array], Array]:
    if calibration is None:
        return lambda light: lab_of(photo.xyz(light))
    return calibration.correction.lab


def _light_at(calibration: Calibration | None) -> Callable[[Array], Array] | None:
    return None if calibration is None or calibration.flat is None else calibration.flat.at


def _spread(pixels: AreaPixels) -> tuple[float, float, float]:
    sd = pixels.lab[pixels.used].std(axis=0)
    return float(sd[0]), float(sd[1]), float(sd[2])
