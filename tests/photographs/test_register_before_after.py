"""Before and after: what is measured between two photographs of one piece, against the known truth."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import cv2
import numpy as np
import pytest

import swatches
from patina.colour.before_after import BeforeAfter, before_after
from patina.colour.delta_e import de2000_pairs
from patina.colour.values import AreaSpec
from patina.errors import BadPhotograph, NoChart, NotComparable
from swatches.render import jpeg_bytes, render_scene
from swatches.scene import Scene
from swatches.scenes import demo_scenes

SMALL = (1000, 750)
BEFORE, AFTER = (
    dataclasses.replace(scene, size_px=SMALL) for scene in demo_scenes() if scene.name.startswith("relief")
)
TRUTH = swatches.truth()
PIECE = [(float(x), float(y)) for x, y in TRUTH["relief-before.jpg"]["tiles"][0]["polygon"]]
SMALL_PIECE = [(x * 1000 / 1600, y * 1000 / 1600) for x, y in PIECE]


def saved(folder: Path, scene: Scene) -> Path:
    path = folder / f"{scene.name}-{scene.seed}.jpg"
    path.write_bytes(jpeg_bytes(render_scene(scene)[0], scene))
    return path


@pytest.fixture(scope="module")
def changed() -> BeforeAfter:
    """The two demonstration photographs: chestnut clouds have become grey-green, two years later."""
    return before_after(
        swatches.photograph("relief-before.jpg"),
        swatches.photograph("relief-after.jpg"),
        edition="before-2014",
        piece=PIECE,
    )


def test_a_grid_of_patches_is_measured(changed: BeforeAfter) -> None:
    """At least six patches on the piece, numbered, none of them skipped; all of them became greener."""
    assert len(changed.patches) >= 6
    assert [patch.name for patch in changed.patches] == [str(n + 1) for n in range(len(changed.patches))]
    assert changed.skipped == ()
    assert all(patch.difference.da < 0 for patch in changed.patches)
    assert all(patch.clear for patch in changed.patches if patch.difference.delta_e > 5)


def test_photographs_taken_alike_bring_no_caution(changed: BeforeAfter) -> None:
    """The same camera, lamp kind and chart: nothing speaks against comparing."""
    assert changed.cautions == ()


def test_the_change_of_the_whole_face_is_the_true_one() -> None:
    """Mean colour over the face: the measured difference is the true one within its uncertainty."""
    rect = TRUTH["relief-before.jpg"]["tiles"][0]["rect"]
    found = before_after(
        swatches.photograph("relief-before.jpg"),
        swatches.photograph("relief-after.jpg"),
        edition="before-2014",
        areas=[AreaSpec("face", rect=tuple(rect))],
    ).patches[0]
    true = [np.array([TRUTH[name]["tiles"][0]["lab"]]) for name in ("relief-before.jpg", "relief-after.jpg")]
    expected = float(de2000_pairs(true[0], true[1])[0])
    assert found.difference.delta_e == pytest.approx(expected, abs=found.uncertainty_de00)
    assert found.uncertainty_de00 < 5


def test_an_unchanged_piece_shows_no_change(tmp_path: Path) -> None:
    """Another angle, lamp place and exposure, the same surface: every difference stays within its uncertainty."""
    again = dataclasses.replace(AFTER, tiles=BEFORE.tiles)
    result = before_after(saved(tmp_path, BEFORE), saved(tmp_path, again), edition="before-2014", piece=SMALL_PIECE)
    assert len(result.patches) >= 6
    assert not [patch.name for patch in result.patches if patch.clear]


def test_another_light_is_said_and_still_read(tmp_path: Path) -> None:
    """By tungsten light the unchanged piece brings cautions on the light, and differences below 4."""
    again = dataclasses.replace(BEFORE, light="A", balance=(1.1, 0.87), seed=88)
    result = before_after(saved(tmp_path, BEFORE), saved(tmp_path, again), edition="before-2014", piece=SMALL_PIECE)
    assert {"light-colour", "light-kind"} <= {one.code for one in result.cautions}
    assert max(patch.difference.delta_e for patch in result.patches) < 4


def test_the_picture_shows_three_views_and_a_scale(changed: BeforeAfter) -> None:
    """The picture is a readable PNG of three equal panels; the third is light where the clouds changed."""
    picture = cv2.imdecode(np.frombuffer(changed.picture_png, np.uint8), cv2.IMREAD_COLOR)
    assert picture is not None
    panel = picture.shape[1] // 3
    scale = (panel - 8) / 1600
    grey = picture.mean(axis=2)
    levels = {}
    for patch in changed.patches:
        x, y = (round(float(value) * scale) for value in np.array(patch.before.polygon).mean(axis=0))
        half = round(40 * scale)
        levels[patch.difference.delta_e] = grey[y - half : y + half, 2 * panel + x - half : 2 * panel + x + half].mean()
    assert levels[max(levels)] > levels[min(levels)] + 30


def test_a_photograph_without_a_chart_is_refused(tmp_path: Path) -> None:
    """Colours are only compared where both photographs have a chart."""
    bare = dataclasses.replace(AFTER, chart=None)
    with pytest.raises(NoChart):
        before_after(saved(tmp_path, BEFORE), saved(tmp_path, bare))


def test_two_pieces_are_refused(tmp_path: Path) -> None:
    """Two different pieces are not compared patch by patch."""
    other = dataclasses.replace(BEFORE.tiles[0], seed=5)
    with pytest.raises(NotComparable):
        before_after(saved(tmp_path, BEFORE), saved(tmp_path, dataclasses.replace(BEFORE, tiles=(other,), seed=6)))


def test_a_broken_file_is_refused_by_name(tmp_path: Path) -> None:
    """A file that is cut short is a bad photograph, nothing else."""
    whole = swatches.photograph("relief-after.jpg").read_bytes()
    cut = tmp_path / "cut.jpg"
    cut.write_bytes(whole[: len(whole) // 3])
    with pytest.raises(BadPhotograph):
        before_after(swatches.photograph("relief-before.jpg"), cut)
