"""What is photographed: frozen descriptions of tiles, charts, lights and cameras."""

from __future__ import annotations

from dataclasses import dataclass

LabValue = tuple[float, float, float]


@dataclass(frozen=True)
class Tile:
    """A coloured bronze tile on the bench, in mm; (x, y) is its upper left corner.

    labs: true colours of its tones (D50, 2 degrees). shares: their shares, summing to 1. grain_mm:
    size of the mottle. soft: 0 (hard borders between tones) to 1 (clouds). texture: relative
    spread of the fine brightness of a blasted surface. highlights: share of the face that throws
    the light back, as waxed grains do. seed: of its pattern, so that the same tile can be shown twice.
    """

    name: str
    x: float
    y: float
    width: float
    height: float
    labs: tuple[LabValue, ...]
    shares: tuple[float, ...] = (1.0,)
    grain_mm: float = 6.0
    soft: float = 0.3
    texture: float = 0.04
    highlights: float = 0.0
    seed: int = 1
    relief: float = 0.0


@dataclass(frozen=True)
class Chart:
    """The 24-patch chart on the bench: "large" (patches of 40 mm) or "pocket" (11 mm).

    turned: by 0, 90, 180 or 270 degrees clockwise. covered: share of its width hidden by a card.
    """

    x: float
    y: float
    layout: str = "pocket"
    turned: int = 0
    covered: float = 0.0

    @property
    def pitch_mm(self) -> float:
        """From one patch's centre to the next."""
        return {"large": 46.0, "pocket": 13.0}[self.layout]

    @property
    def patch_mm(self) -> float:
        """Side of a patch."""
        return {"large": 40.0, "pocket": 11.0}[self.layout]

    @property
    def border_mm(self) -> float:
        """Black frame outside the outer patches."""
        return {"large": 8.0, "pocket": 5.0}[self.layout]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height as it lies."""
        width = 5 * self.pitch_mm + self.patch_mm + 2 * self.border_mm
        height = 3 * self.pitch_mm + self.patch_mm + 2 * self.border_mm
        return (width, height) if self.turned % 180 == 0 else (height, width)


@dataclass(frozen=True)
class Scene:
    """One photograph.

    field_mm: what the frame takes in, width and height. size_px: of the picture. lay: "paper"
    (white paper on a bench), "bench" (bare wood) or "card" (grey card). light: one of
    spectra.LIGHTS; second_light and its share at the right edge for mixed light. curve: "srgb",
    "contrast", "shoulder", "flat". exposure: 1 puts a perfect white at 0.9 of full scale. balance: error of
    the camera's white balance as factors on red and blue. lamp_mm: place of the lamp over the
    field (x, y, height). glare: veiling light as a share of the mean light in the frame. wells:
    electrons at full scale. tilt: how much narrower the far edge is. roll_deg: turn of the camera.
    placard: record (and after a colon its uid) named on a printed A4 placard whose upper left corner
    lies at placard_mm.
    """

    name: str
    tiles: tuple[Tile, ...]
    chart: Chart | None
    field_mm: tuple[float, float] = (240.0, 180.0)
    size_px: tuple[int, int] = (1600, 1200)
    lay: str = "paper"
    light: str = "D65"
    second_light: str | None = None
    second_share: float = 0.0
    camera: str = "slr"
    curve: str = "srgb"
    exposure: float = 1.0
    balance: tuple[float, float] = (1.0, 1.0)
    lamp_mm: tuple[float, float, float] = (60.0, -200.0, 700.0)
    vignetting: float = 0.06
    glare: float = 0.002
    wells: float = 20000.0
    blur_px: float = 0.6
    tilt: float = 0.04
    roll_deg: float = 1.0
    quality: int = 90
    seed: int = 1
    taken: str = "2026:05:04 10:00:00"
    placard: str | None = None
    placard_mm: tuple[float, float] = (20.0, 21.0)
