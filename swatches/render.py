"""Render the demonstration photographs: ``python -m swatches.render`` writes them and truth.json.

Light, surface and sensor are worked out in spectra; the rest is what happens to a picture between
the bench and the file: fall-off, vignetting, tilt, glare, blur, noise, white balance, matrix, tone
curve, eight bits, JPEG. The same seed gives the same picture.

Fields of truth.json, by file name: width_px, height_px; light, camera, curve; chart: corners
(centres of patches 1, 6, 24 and 19 in pixels), layout, edition; tiles: name, lab (D50, 2 degrees,
of the mean reflectance over the whole face, highlights left out), parts (lab and share), rect
(x, y, width, height in pixels, well inside the face) and polygon (its corners in pixels).
"""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from PIL import Image

from swatches import spectra
from swatches.bench import Bench, lamp_light, lay_chart, lay_ground, lay_tile
from swatches.camera import develop
from swatches.scene import Scene, Tile
from swatches.scenes import demo_scenes


def _paint(scene: Scene, light: str) -> tuple[Bench, list[np.ndarray], list[tuple[float, float]] | None]:
    scale = 1.15 * scene.size_px[0] / scene.field_mm[0]
    shape = (round(scene.field_mm[1] * scale), round(scene.field_mm[0] * scale), 3)
    bench = Bench(scene, light, scale, np.empty(shape, np.float32), np.random.default_rng(scene.seed))
    lay_ground(bench)
    if scene.placard is not None:
        from swatches.sheet import lay_placard

        lay_placard(bench, scene.placard)
    corners = None if scene.chart is None else lay_chart(bench, scene.chart)
    means = [lay_tile(bench, tile) for tile in scene.tiles]
    return bench, means, corners


def view(scene: Scene) -> np.ndarray:
    """Homography (3, 3) from mm on the bench to pixels of the picture."""
    width, height = scene.field_mm
    wide, high = scene.size_px
    grow = 1.0 + 0.02 * abs(scene.tilt) + 0.006 * abs(scene.roll_deg)
    near, far = 0.5 * grow, 0.5 * grow * (1 - abs(scene.tilt))
    top, bottom = (far, near) if scene.tilt >= 0 else (near, far)
    corners = np.array([[-top, -0.5], [top, -0.5], [bottom, 0.5], [-bottom, 0.5]]) * (wide, high * grow)
    angle = np.deg2rad(scene.roll_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    placed = corners @ turn + (wide / 2, high / 2)
    ground = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(ground, placed.astype(np.float32)), dtype=float)


def seen(homography: np.ndarray, points: list[tuple[float, float]]) -> list[list[float]]:
    """Points in mm as pixels, rounded to a tenth."""
    moved = cv2.perspectiveTransform(np.array([points], float), homography)[0]
    return [[round(float(x), 1), round(float(y), 1)] for x, y in moved]


def inside_rect(homography: np.ndarray, tile: Tile, inset: float = 0.12) -> list[int]:
    """The largest upright pixel rectangle of the tile's proportions that keeps clear of its edges."""
    x, y, width, height = tile.x, tile.y, tile.width, tile.height
    dx, dy = inset * width, inset * height
    face = [(x + dx, y + dy), (x + width - dx, y + dy), (x + width - dx, y + height - dy), (x + dx, y + height - dy)]
    outline = np.array(seen(homography, face), np.float32)
    middle = outline.mean(axis=0)
    span = np.ptp(outline, axis=0) / 2

    def fits(grow: float) -> bool:
        corners = middle + grow * span * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
        return all(cv2.pointPolygonTest(outline, (float(px), float(py)), False) >= 0 for px, py in corners)

    size = max(grow for grow in np.linspace(0.3, 1.0, 71) if fits(grow))
    left, top = np.ceil(middle - size * span)
    right, bottom = np.floor(middle + size * span)
    return [int(left), int(top), int(right - left), int(bottom - top)]


def render_scene(scene: Scene) -> tuple[np.ndarray, dict[str, Any]]:
    """The picture (height, width, 3) uint8 RGB of a scene, and what is true of it."""
    bench, means, corners = _paint(scene, scene.light)
    canvas = bench.canvas
    if scene.second_light is not None:
        other = _paint(scene, scene.second_light)[0].canvas
        share = scene.second_share * np.linspace(0, 1, canvas.shape[1], dtype=np.float32)[None, :, None]
        canvas = (1 - share) * canvas + share * other
    canvas = canvas * lamp_light(scene, bench.scale, canvas.shape[:2])
    homography = view(scene)
    wide, high = scene.size_px
    # A pixel's centre is at +0.5 in mm space, at whole numbers in OpenCV's.
    to_canvas = np.array([[bench.scale, 0, -0.5], [0, bench.scale, -0.5], [0, 0, 1]])
    warp = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]]) @ homography @ np.linalg.inv(to_canvas)
    canvas = cv2.GaussianBlur(canvas, (0, 0), 0.55)
    sensor = cv2.warpPerspective(canvas, warp, (wide, high), flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    rows, columns = np.mgrid[0:high, 0:wide].astype(np.float32)
    radius = ((columns - wide / 2) ** 2 + (rows - high / 2) ** 2) / (wide**2 + high**2) * 4
    sensor *= (1 - scene.vignetting * radius)[..., None]
    sensor = cv2.GaussianBlur(sensor, (0, 0), scene.blur_px)
    picture = develop(sensor, scene, np.random.default_rng(scene.seed + 10_000))
    return picture, _truth(scene, homography, means, corners)


def _truth(
    scene: Scene, homography: np.ndarray, means: list[np.ndarray], corners: list[tuple[float, float]] | None
) -> dict[str, Any]:
    tiles = []
    for tile, mean in zip(scene.tiles, means, strict=True):
        x, y, width, height = tile.x, tile.y, tile.width, tile.height
        outline = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
        tiles.append(
            {
                "name": tile.name,
                "lab": [round(float(value), 2) for value in spectra.lab_of(mean)],
                "parts": [{"lab": list(lab), "share": s} for lab, s in zip(tile.labs, tile.shares, strict=True)],
                "rect": inside_rect(homography, tile),
                "polygon": seen(homography, outline),
            }
        )
    chart = None
    if scene.chart is not None and corners is not None:
        chart = {"corners": seen(homography, corners), "layout": scene.chart.layout, "edition": "before-2014"}
    return {
        "width_px": scene.size_px[0],
        "height_px": scene.size_px[1],
        "light": scene.light,
        "camera": scene.camera,
        "curve": scene.curve,
        "illuminant": "D50",
        "observer": "2",
        "chart": chart,
        "tiles": tiles,
    }


def jpeg_bytes(picture: np.ndarray, scene: Scene) -> bytes:
    """The picture as a JPEG file with the entries a camera writes."""
    from PIL import ExifTags

    image = Image.fromarray(picture)
    exif = Image.Exif()
    exif[ExifTags.Base.Make] = "Invented"
    exif[ExifTags.Base.Model] = {"slr": "Bench camera", "phone": "Pocket camera"}[scene.camera]
    exif[ExifTags.Base.DateTime] = scene.taken
    entries = exif.get_ifd(ExifTags.IFD.Exif)
    entries[ExifTags.Base.DateTimeOriginal] = scene.taken
    entries[ExifTags.Base.ExposureTime] = 0.02 * scene.exposure
    entries[ExifTags.Base.FNumber] = 8.0
    entries[ExifTags.Base.ISOSpeedRatings] = 100
    entries[ExifTags.Base.FocalLength] = {"slr": 60.0, "phone": 5.6}[scene.camera]
    file = io.BytesIO()
    profile = _srgb_profile()
    image.save(file, "JPEG", quality=scene.quality, subsampling=2, exif=exif, icc_profile=profile)
    return file.getvalue()


def _srgb_profile() -> bytes:
    from PIL import ImageCms

    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # Bytes 24-35 hold the time of making: left at zero so that the file is the same each time.
    return profile[:24] + bytes(12) + profile[36:]


def main(folder: Path = Path(__file__).parent) -> None:
    """Write every demonstration photograph and truth.json into the folder."""
    known = {}
    for scene in demo_scenes():
        picture, known[scene.name] = render_scene(scene)
        (folder / scene.name).write_bytes(jpeg_bytes(picture, scene))
    (folder / "truth.json").write_text(json.dumps(known, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
