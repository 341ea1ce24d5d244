"""Real photographs with a 24-patch chart, kept beside the repository, and changed copies of them."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageFilter, ImageOps

from patina.colour.chart_geometry import PLACES, homography, pitch_px, to_pixels

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "photos"
WHY_ABSENT = "the real photographs lie beside the repository in ../shared/photos and are not part of it"

needs_photographs = pytest.mark.skipif(not FOLDER.is_dir(), reason=WHY_ABSENT)

# Corner positions were looked at by eye; they are true to about a quarter of the patches' distance.
TOLERANCE_STEPS = 0.36


def corners_by_eye() -> dict[str, np.ndarray]:
    """Centres of patches 1, 6, 24, 19 for each photograph, shape (4, 2); none where the folder is absent."""
    if not FOLDER.is_dir():
        return {}
    table = json.loads((FOLDER / "corners.json").read_text())
    return {name: np.array(corners) for name, corners in sorted(table.items())}


def opened(name: str) -> Image.Image:
    """A photograph, upright, as RGB."""
    return ImageOps.exif_transpose(Image.open(FOLDER / name)).convert("RGB")


def smaller(image: Image.Image, corners: np.ndarray, longest: int = 1000) -> tuple[Image.Image, np.ndarray]:
    """A photograph reduced to ``longest`` pixels where its chart allows it, and its corners: quicker to change."""
    share = max(longest / max(image.size), 22.0 / pitch_px(corners))
    if share >= 1.0:
        return image, corners
    size = round(image.width * share), round(image.height * share)
    return image.resize(size, Image.Resampling.LANCZOS), (corners + 0.5) * share - 0.5


def off_by(found: object, expected: np.ndarray) -> float:
    """Largest distance of a corner from where it should be, in steps of the grid."""
    return float(np.linalg.norm(np.array(found) - expected, axis=1).max() / pitch_px(expected))


def _mapped(image: Image.Image, corners: np.ndarray, matrix: np.ndarray, size: tuple[int, int]):
    moved = np.c_[corners, np.ones(4)] @ matrix.T
    picture = cv2.warpPerspective(np.asarray(image), matrix, size, flags=cv2.INTER_AREA, borderValue=(90, 90, 90))
    return Image.fromarray(picture), moved[:, :2] / moved[:, 2:]


def changed_copies(image: Image.Image, corners: np.ndarray) -> Iterator[tuple[str, Image.Image, np.ndarray]]:
    """Copies in which the chart must still be found: (what was done, picture, corners in it)."""
    width, height = image.size
    turned = np.stack([height - 1 - corners[:, 1], corners[:, 0]], axis=1)
    yield "turned 90°", image.transpose(Image.Transpose.ROTATE_270), turned
    upside = np.array([width - 1, height - 1]) - corners
    yield "upside down", image.transpose(Image.Transpose.ROTATE_180), upside
    mirrored = np.stack([width - 1 - corners[:, 0], corners[:, 1]], axis=1)
    yield "mirrored", ImageOps.mirror(image), mirrored
    cosine, sine, side = np.cos(0.6), np.sin(0.6), int(np.hypot(width, height))
    x, y = width / 2, height / 2
    turn = np.array(
        [[cosine, -sine, side / 2 - cosine * x + sine * y], [sine, cosine, side / 2 - sine * x - cosine * y], [0, 0, 1]]
    )
    yield "turned 34°", *_mapped(image, corners, turn, (side, side))
    if pitch_px(corners) > 24:
        half = image.resize((width // 2, height // 2), Image.Resampling.LANCZOS)
        yield "shrunk", half, (corners + 0.5) / 2 - 0.5
    yield "blurred", image.filter(ImageFilter.GaussianBlur(0.08 * pitch_px(corners))), corners
    light = np.asarray(image).astype(float)
    yield "dark", Image.fromarray((light * 0.35).astype(np.uint8)), corners
    yield "warm", Image.fromarray((light * [1, 0.75, 0.45]).astype(np.uint8)), corners
    noise = np.random.default_rng(3).normal(0, 12, light.shape)
    yield "noisy", Image.fromarray(np.clip(light + noise, 0, 255).astype(np.uint8)), corners


def painted(image: Image.Image, corners: np.ndarray, box: tuple[float, float, float, float], colour) -> Image.Image:
    """A copy with a box of the chart covered. box: first column, first row, last column, last row in grid steps."""
    left, top, right, bottom = box
    field = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], dtype=float)
    picture = np.asarray(image).copy()
    mask = np.zeros(picture.shape[:2], dtype=np.uint8)
    cv2.fillConvexPoly(mask, to_pixels(homography(corners), field).astype(np.int32), 1)
    grain = np.random.default_rng(5).normal(0, 4, picture.shape)
    picture[mask > 0] = np.clip(np.array(colour) + grain[mask > 0], 0, 255).astype(np.uint8)
    return Image.fromarray(picture)


def shuffled(image: Image.Image, corners: np.ndarray) -> Image.Image:
    """A copy in which the chart's patches have changed places: some other chart."""
    picture = np.asarray(image).copy()
    grid = homography(corners)
    middles = np.rint(to_pixels(grid, PLACES)).astype(int)
    colours = picture[middles[:, 1], middles[:, 0]]
    for number, other in enumerate(np.random.default_rng(5).permutation(24)):
        square = PLACES[number] + 0.42 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
        cv2.fillConvexPoly(picture, to_pixels(grid, square).astype(np.int32), colours[other].tolist())
    return Image.fromarray(picture)
