"""One rendered photograph, spoilt as a careless hand would: the colours read must hold or be refused."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageFilter

import swatches
from patina.colour.delta_e import de2000_pairs
from patina.colour.reading import read_photo
from patina.colour.values import AreaSpec, PhotoReading
from patina.errors import BadChart, BadPhotograph, NoChart, Refused
from swatches.render import jpeg_bytes, render_scene
from swatches.scenes import demo_scenes

NAME = "ferric-and-olive.jpg"
TRUTH = swatches.truth()[NAME]
WIDE, HIGH = TRUTH["width_px"], TRUTH["height_px"]
Box = tuple[float, float, float, float]


def original() -> Image.Image:
    with Image.open(swatches.photograph(NAME)) as opened:
        return opened.convert("RGB")


def boxes() -> list[Box]:
    return [tuple(tile["rect"]) for tile in TRUTH["tiles"]]


def read(path: Path, areas: list[Box], **more: Any) -> PhotoReading:
    specs = [AreaSpec(str(number), rect=area) for number, area in enumerate(areas)]
    return read_photo(path, edition="before-2014", areas=specs, **more)


def errors(reading: PhotoReading) -> Any:
    true = np.array([tile["lab"] for tile in TRUTH["tiles"]], float)
    return de2000_pairs(true, np.array([area.lab.as_list() for area in reading.areas]))


def saved(picture: Image.Image, folder: Path, **how: Any) -> Path:
    path = folder / "variant.jpg"
    picture.save(path, quality=92, **how)
    return path


TURNS: dict[str, tuple[Image.Transpose, Callable[[Box], Box]]] = {
    "turned right": (Image.Transpose.ROTATE_270, lambda b: (HIGH - b[1] - b[3], b[0], b[3], b[2])),
    "turned left": (Image.Transpose.ROTATE_90, lambda b: (b[1], WIDE - b[0] - b[2], b[3], b[2])),
    "upside down": (Image.Transpose.ROTATE_180, lambda b: (WIDE - b[0] - b[2], HIGH - b[1] - b[3], b[2], b[3])),
    "mirrored": (Image.Transpose.FLIP_LEFT_RIGHT, lambda b: (WIDE - b[0] - b[2], b[1], b[2], b[3])),
}


@pytest.mark.parametrize("turn", TURNS)
def test_a_turned_picture_reads_the_same(turn: str, tmp_path: Path) -> None:
    """Whichever way up, even mirrored, both tiles come out as before; a mirror image is said to be one."""
    way, moved = TURNS[turn]
    reading = read(saved(original().transpose(way), tmp_path), [moved(box) for box in boxes()])
    assert errors(reading).max() < 3.0
    assert reading.chart.mirrored == (turn == "mirrored")


@pytest.mark.parametrize("share", [0.6, 0.35])
def test_a_shrunken_picture_reads_nearly_the_same(share: float, tmp_path: Path) -> None:
    """At 960 and 560 pixels across the tiles stay within 3 CIEDE2000."""
    small = original().resize((round(WIDE * share), round(HIGH * share)), Image.Resampling.LANCZOS)
    area = [tuple(round(value * share) for value in box) for box in boxes()]
    assert errors(read(saved(small, tmp_path), area)).max() < 3.0  # type: ignore[arg-type]


@pytest.mark.parametrize("radius", [2, 5])
def test_a_blurred_picture_reads_nearly_the_same(radius: int, tmp_path: Path) -> None:
    """Out of focus by 2 and 5 pixels: means over areas hardly move."""
    path = saved(original().filter(ImageFilter.GaussianBlur(radius)), tmp_path)
    assert errors(read(path, boxes())).max() < 3.0


def test_a_picture_without_its_profile_reads_nearly_the_same(tmp_path: Path) -> None:
    """The chart makes up for a profile that was stripped: less than 0.5 CIEDE2000 between the two readings."""
    stripped = read(saved(original(), tmp_path), boxes())
    whole = read(swatches.photograph(NAME), boxes())
    assert whole.facts is not None
    assert stripped.facts is not None
    assert whole.facts.profile != stripped.facts.profile
    pairs = [np.array([area.lab.as_list() for area in one.areas]) for one in (whole, stripped)]
    assert de2000_pairs(pairs[0], pairs[1]).max() < 0.5


def test_a_png_reads_as_the_jpeg_it_was_made_from(tmp_path: Path) -> None:
    """Lossless copies read exactly as the file they were copied from."""
    path = tmp_path / "copy.png"
    with Image.open(swatches.photograph(NAME)) as opened:
        opened.convert("RGB").save(path, icc_profile=opened.info["icc_profile"])
    one, other = read(path, boxes()), read(swatches.photograph(NAME), boxes())
    assert [area.lab for area in one.areas] == [area.lab for area in other.areas]


def test_an_orientation_entry_is_followed(tmp_path: Path) -> None:
    """A picture stored on its side with the EXIF entry that says so reads in upright pixels."""
    exif = Image.Exif()
    exif[0x0112] = 6  # stored turned left: to be turned right for showing
    path = saved(original().transpose(Image.Transpose.ROTATE_90), tmp_path, exif=exif)
    reading = read(path, boxes())
    assert (reading.width_px, reading.height_px) == (WIDE, HIGH)
    assert errors(reading).max() < 3.0


@pytest.mark.parametrize("exposure", [1.25, 1.5])
def test_burnt_out_patches_are_named_or_the_picture_refused(exposure: float, tmp_path: Path) -> None:
    """Overexposed by a third and more: what is burnt out is left out by number, or nothing is read at all."""
    scene = next(scene for scene in demo_scenes() if scene.name == NAME)
    picture, _ = render_scene(dataclasses.replace(scene, exposure=exposure, curve="contrast"))
    path = tmp_path / "burnt.jpg"
    path.write_bytes(jpeg_bytes(picture, scene))
    try:
        reading = read(path, boxes())
    except BadPhotograph as trouble:
        assert "burnt out" in trouble.remedy or "expos" in trouble.remedy.lower()
        return
    assert 19 in [number for number, _ in reading.chart.rejected]
    assert (errors(reading) < [area.uncertainty_de00 for area in reading.areas]).all()


def test_a_dark_picture_still_reads_within_its_uncertainty(tmp_path: Path) -> None:
    """Two stops under: more noise and crushed colours, and a stated uncertainty that knows of it."""
    scene = next(scene for scene in demo_scenes() if scene.name == NAME)
    picture, _ = render_scene(dataclasses.replace(scene, exposure=0.25))
    path = tmp_path / "dark.jpg"
    path.write_bytes(jpeg_bytes(picture, scene))
    reading = read(path, boxes())
    assert (errors(reading) < [area.uncertainty_de00 for area in reading.areas]).all()


@pytest.mark.parametrize("covered", [0.5, 0.7])
def test_a_half_covered_chart_is_refused(covered: float, tmp_path: Path) -> None:
    """A card over half the chart: refused by name, never corrected from what is left of it."""
    scene = next(scene for scene in demo_scenes() if scene.name == NAME)
    assert scene.chart is not None
    chart = dataclasses.replace(scene.chart, covered=covered)
    picture, _ = render_scene(dataclasses.replace(scene, chart=chart))
    path = tmp_path / "covered.jpg"
    path.write_bytes(jpeg_bytes(picture, scene))
    with pytest.raises((BadChart, NoChart)):
        read(path, boxes())


def test_a_scene_without_a_chart_is_refused(tmp_path: Path) -> None:
    """Tiles and paper alone are not taken for a chart."""
    scene = next(scene for scene in demo_scenes() if scene.name == NAME)
    picture, _ = render_scene(dataclasses.replace(scene, chart=None))
    path = tmp_path / "bare.jpg"
    path.write_bytes(jpeg_bytes(picture, scene))
    with pytest.raises(NoChart):
        read(path, boxes())


def test_an_area_on_the_chart_or_outside_is_refused() -> None:
    """What would be read must be the surface, inside the picture."""
    (x, y), _, (right, low), _ = TRUTH["chart"]["corners"]
    on_chart = (min(x, right), min(y, low), abs(right - x), abs(low - y))
    for area in (on_chart, (WIDE - 50.0, 10.0, 100.0, 100.0), (100.0, 700.0, 0.0, 50.0)):
        with pytest.raises(Refused):
            read(swatches.photograph(NAME), [area])


def test_mixed_light_shows_in_the_uncertainty(tmp_path: Path) -> None:
    """Lamplight from one side and daylight from the other: read within the stated uncertainty, or refused."""
    scene = next(scene for scene in demo_scenes() if scene.name == NAME)
    mixed = dataclasses.replace(scene, light="D65", second_light="A", second_share=0.5, seed=12)
    picture, _ = render_scene(mixed)
    path = tmp_path / "mixed.jpg"
    path.write_bytes(jpeg_bytes(picture, mixed))
    reading = read(path, boxes())
    within = errors(reading) < [area.uncertainty_de00 for area in reading.areas]
    assert within.all() or "mixed-light" in {one.code for one in reading.warnings}


def test_a_torn_file_is_refused_by_name(tmp_path: Path) -> None:
    """Half a file is no photograph."""
    whole = swatches.photograph(NAME).read_bytes()
    path = tmp_path / "torn.jpg"
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadPhotograph):
        read(path, boxes())
