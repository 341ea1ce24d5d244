"""What a reading of colour is: frozen values, free of numpy, Pillow and OpenCV."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Point = tuple[float, float]

EDITIONS = ("before-2014", "after-2014", "unknown")
CARDS = ("white-card", "step-card")  # what may stand in for a chart: grey and lightness only


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour in CIELAB 1976.

    L: lightness, 0 (black) to 100 (the white). a: green (negative) to red (positive). b: blue
    (negative) to yellow (positive). illuminant: the light it is stated for. observer: "2" or "10"
    degrees. Lab values of different illuminants or observers must not be compared as they stand.
    """

    L: float
    a: float
    b: float
    illuminant: str = "D50"
    observer: str = "2"

    def as_list(self) -> list[float]:
        """L, a, b as a list of three."""
        return [self.L, self.a, self.b]

    @property
    def chroma(self) -> float:
        """C*ab: distance from grey, 0 or more."""
        return float((self.a * self.a + self.b * self.b) ** 0.5)


@dataclass(frozen=True, slots=True)
class AreaSpec:
    """Where to read in a photograph, in pixels of the upright picture (x right, y down).

    name: what the person calls the area. rect: (x, y, width, height). polygon: three or more
    corners. whole_tile: rect or polygon is a spot on a tile that shows its tones, and the whole tile
    is found by its outline.
    """

    name: str
    rect: tuple[float, float, float, float] | None = None
    polygon: tuple[Point, ...] | None = None
    whole_tile: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One tone of an uneven surface. share: 0 to 1 of the pixels that were read."""

    lab: Lab
    share: float

    def as_json(self) -> dict[str, Any]:
        """lab as a list of three, and the share."""
        return {"lab": self.lab.as_list(), "share": self.share}


@dataclass(frozen=True, slots=True)
class AreaReading:
    """The colour of one area, and how far it can be trusted.

    lab: mean of linear light, as an instrument's window over the area would see it. sd: spread of
    the pixels in L*, a*, b*. uncertainty_de00: expanded (95 %) uncertainty in CIEDE2000 of the
    colour as such. pixels: how many were read. masked_pct: share left out as highlight or clipped.
    parts: tones and shares where the surface is really parted, else empty. grain_px: size of the
    mottle in pixels; grain_mm: the same in mm where the scale is known, which scale_from gave.
    sampling_de00: expanded part that comes from the unevenness. correction_de00: expanded part that
    comes from camera, light and chart, shared by all areas of the photograph.
    extrapolation: how far outside the chart's colours the area lies, in L*a*b* units.
    """

    name: str
    lab: Lab
    sd: tuple[float, float, float]
    uncertainty_de00: float
    pixels: int
    masked_pct: float
    parts: tuple[Part, ...] = ()
    grain_px: float | None = None
    sampling_de00: float = 0.0
    correction_de00: float = 0.0
    illuminant: str = "D50"
    observer: str = "2"
    geometry: str = "unknown"
    polygon: tuple[Point, ...] = ()
    averaging: str = "mean of linear light"
    grain_mm: float | None = None
    scale_from: str = ""

    def as_json(self) -> dict[str, Any]:
        """The area as ``patina read`` prints it."""
        return {
            "name": self.name,
            "lab": self.lab.as_list(),
            "illuminant": self.illuminant,
            "observer": self.observer,
            "sd": list(self.sd),
            "uncertainty_de00": self.uncertainty_de00,
            "pixels": self.pixels,
            "masked_pct": self.masked_pct,
            "parts": [part.as_json() for part in self.parts],
            "grain_px": self.grain_px,
            "grain_mm": self.grain_mm,
            "scale_from": self.scale_from,
            "sampling_de00": self.sampling_de00,
            "correction_de00": self.correction_de00,
            "geometry": self.geometry,
            "averaging": self.averaging,
        }


@dataclass(frozen=True, slots=True)
class ChartFinding:
    """What was found of the chart.

    corners: centres of patches 1, 6, 24 and 19 in pixels. edition: one of EDITIONS, or "own values".
    method: how the correction was made, in words. misfit_de00: mean CIEDE2000 of the chart's own
    patches after correction. loo_de00: the same for each patch when it was left out of the fit;
    None for a patch that was not used. rejected: numbers of the patches left out, with the reason.
    glare: share of the white's light that lies over the blacks, 0 where none is seen. kind: "24-patch
    chart", "white card" or "step card"; corners of a card are its outer ones.
    """

    found: bool
    corners: tuple[Point, Point, Point, Point] | None = None
    edition: str = "unknown"
    method: str = "none"
    misfit_de00: float | None = None
    loo_de00: tuple[float | None, ...] = (None,) * 24
    loo_mean_de00: float | None = None
    mirrored: bool = False
    rejected: tuple[tuple[int, str], ...] = ()
    glare: float | None = None
    flat_field: str = "none"
    kind: str = "24-patch chart"

    def as_json(self) -> dict[str, Any]:
        """The chart as ``patina read`` prints it."""
        return {
            "found": self.found,
            "corners": None if self.corners is None else [list(corner) for corner in self.corners],
            "edition": self.edition,
            "method": self.method,
            "misfit_de00": self.misfit_de00,
            "loo_de00": list(self.loo_de00),
            "loo_mean_de00": self.loo_mean_de00,
            "mirrored": self.mirrored,
            "rejected": [{"patch": number, "why": why} for number, why in self.rejected],
            "glare": self.glare,
            "flat_field": self.flat_field,
            "kind": self.kind,
        }


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning as data. code: stable word. text: what is the matter. size: how large, with its
    unit in the text, or None. do: what to do about it.
    """

    code: str
    text: str
    size: float | None = None
    do: str = ""

    def as_json(self) -> dict[str, Any]:
        """The four fields by name."""
        return {"code": self.code, "text": self.text, "size": self.size, "do": self.do}


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What a photograph file says of itself.

    sha256: of the file's bytes. width, height: pixels after turning upright. format: "JPEG",
    "PNG", ... bits: per channel. profile: description of the embedded colour profile, or None.
    taken_at: as the camera wrote it, ISO form, or None. exif: further entries by name.
    """

    sha256: str
    width: int
    height: int
    format: str
    bits: int
    profile: str | None = None
    taken_at: str | None = None
    camera: str | None = None
    lens: str | None = None
    exif: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PhotoReading:
    """All that was read from one photograph."""

    chart: ChartFinding
    areas: tuple[AreaReading, ...]
    warnings: tuple[Caution, ...]
    width_px: int
    height_px: int
    facts: PhotoFacts | None = None

    def as_json(self) -> dict[str, Any]:
        """The document that ``patina read --json`` prints."""
        return {
            "chart": self.chart.as_json(),
            "areas": [area.as_json() for area in self.areas],
            "warnings": [warning.as_json() for warning in self.warnings],
            "width_px": self.width_px,
            "height_px": self.height_px,
        }
