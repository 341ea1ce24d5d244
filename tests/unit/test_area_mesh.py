"""Mesh files: what is wrong with them is said, and the area is still of the outside."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh

from patina.errors import BadMesh, BadQuantity, NotFound, PatinaError
from patina.surface.mesh import from_mesh, look_at

BALL = trimesh.creation.icosphere(subdivisions=3, radius=100)


def _file(tmp_path: Path, mesh: trimesh.Trimesh, name: str = "piece.stl") -> Path:
    path = tmp_path / name
    mesh.export(path)
    return path


def _codes(path: Path) -> list[str]:
    return [w.code for w in from_mesh(path, "mm").warnings]


def test_the_unit_is_asked_and_never_guessed(tmp_path: Path) -> None:
    """A mesh without a unit is refused, and so is a unit that is not one of length."""
    path = _file(tmp_path, BALL)
    for unit in (None, "", "kg"):
        with pytest.raises(BadMesh, match="unit"):
            from_mesh(path, unit)


@pytest.mark.parametrize(("unit", "mm"), [("mm", 1), ("cm", 10), ("m", 1000), ("in", 25.4), ("ft", 304.8)])
def test_area_goes_with_the_square_of_the_unit(tmp_path: Path, unit: str, mm: float) -> None:
    """The same numbers in another unit are another area. Inch and foot: NIST Handbook 44, exact."""
    path = _file(tmp_path, BALL)
    assert from_mesh(path, unit).area_m2 == pytest.approx(BALL.area * mm**2 / 1e6)


def test_duplicate_faces_are_counted_once(tmp_path: Path) -> None:
    """A surface that is in the file twice is named and counted once, whichever way round it lies."""
    twin = BALL.copy()
    twin.invert()
    path = _file(tmp_path, trimesh.util.concatenate([BALL, twin]))
    assert "duplicate_faces" in _codes(path)
    assert from_mesh(path, "mm").area_m2 == pytest.approx(BALL.area / 1e6)


def test_the_inner_side_of_a_shell_is_left_out(tmp_path: Path) -> None:
    """A closed body inside another is not coloured: named and left out."""
    inner = BALL.copy()
    inner.apply_scale(0.95)
    inner.invert()
    path = _file(tmp_path, trimesh.util.concatenate([BALL, inner]))
    assert "inner_faces" in _codes(path)
    assert from_mesh(path, "mm").area_m2 == pytest.approx(BALL.area / 1e6)


def test_two_bodies_side_by_side_are_both_kept(tmp_path: Path) -> None:
    """Only what lies inside is left out."""
    other = BALL.copy()
    other.apply_translation((250, 0, 0))
    path = _file(tmp_path, trimesh.util.concatenate([BALL, other]))
    assert _codes(path) == []
    assert from_mesh(path, "mm").area_m2 == pytest.approx(2 * BALL.area / 1e6)


def test_an_open_mesh_gets_its_area_and_is_called_open(tmp_path: Path) -> None:
    """Half a ball has half the area, and the open edge is named."""
    half = BALL.copy()
    half.update_faces(half.triangles_center[:, 2] > 0)
    path = _file(tmp_path, half)
    assert "open_mesh" in _codes(path)
    assert from_mesh(path, "mm").area_m2 == pytest.approx(half.area / 1e6)


def test_crossing_surfaces_are_noticed(tmp_path: Path) -> None:
    """Two balls pushed into each other cross; the doubt is wider than that of one."""
    other = BALL.copy()
    other.apply_translation((90, 7, 3))
    path = _file(tmp_path, trimesh.util.concatenate([BALL, other]))
    assert "self_crossing" in _codes(path)
    assert from_mesh(path, "mm").uncertainty_pct > 5


def test_a_shell_joined_through_its_base_is_suspected(tmp_path: Path) -> None:
    """A closed tube of 3 mm wall has its inside in the mesh: said so, not halved silently."""
    tube = trimesh.creation.annulus(97, 100, 300)
    path = _file(tmp_path, tube)
    assert "looks_like_shell" in _codes(path)


def test_shrinkage_and_enlargement_go_with_the_square(tmp_path: Path) -> None:
    """Four times the height is 16 times the area; 1.5 % shrinkage takes 3 % off."""
    path = _file(tmp_path, BALL, "piece.ply")
    plain = from_mesh(path, "mm").area_m2
    assert from_mesh(path, "mm", enlarge=4).area_m2 == pytest.approx(16 * plain)
    assert from_mesh(path, "mm", shrinkage_pct=1.5).area_m2 == pytest.approx(plain * 0.985**2)
    with pytest.raises(BadQuantity):
        from_mesh(path, "mm", shrinkage_pct=15)
    with pytest.raises(BadQuantity):
        from_mesh(path, "mm", enlarge=0)


@pytest.mark.parametrize("name", ["piece.stl", "piece.obj", "piece.ply"])
def test_broken_and_empty_files_are_refused(tmp_path: Path, name: str) -> None:
    """Bytes that are no mesh, and a file without any, give a sentence and no traceback."""
    path = tmp_path / name
    for content in (b"", b"\x00\x01\x02 not a mesh", b"solid x\nendsolid x\n"):
        path.write_bytes(content)
        with pytest.raises(BadMesh):
            from_mesh(path, "mm")


def test_truncated_files_are_refused_or_measured_as_they_are(tmp_path: Path) -> None:
    """A file cut short never gives more than the whole, and never a traceback."""
    whole = _file(tmp_path, BALL).read_bytes()
    path = tmp_path / "cut.stl"
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadMesh):
        from_mesh(path, "mm")


def test_other_files_and_missing_files_are_refused(tmp_path: Path) -> None:
    """Only STL, OBJ and PLY are meshes here."""
    other = tmp_path / "piece.step"
    other.write_text("x")
    with pytest.raises(BadMesh):
        from_mesh(other, "mm")
    with pytest.raises(NotFound):
        from_mesh(tmp_path / "none.stl", "mm")


PLY = "ply\nformat ascii 1.0\nelement vertex {n}\nproperty float x\nproperty float y\nproperty float z\n"
FACES = "element face 1\nproperty list uchar int vertex_indices\nend_header\n"


def test_faces_of_four_corners_and_several_objects_are_measured(tmp_path: Path) -> None:
    """A square and a triangle in two objects, with a material file that is not there: 100 + 50 mm2."""
    path = tmp_path / "two.obj"
    path.write_text(
        "mtllib none.mtl\no a\nv 0 0 0\nv 10 0 0\nv 10 10 0\nv 0 10 0\nusemtl x\nf 1 2 3 4\n"
        "o b\nv 0 0 5\nv 10 0 5\nv 10 10 5\nf 5 6 7\n"
    )
    assert from_mesh(path, "mm").area_m2 == pytest.approx(150e-6)
    square = tmp_path / "square.ply"
    square.write_text(PLY.format(n=4) + FACES + "0 0 0\n10 0 0\n10 10 0\n0 10 0\n4 0 1 2 3\n")
    assert from_mesh(square, "mm").area_m2 == pytest.approx(100e-6)


def test_points_without_faces_and_faces_without_area_are_refused(tmp_path: Path) -> None:
    """A scan's point cloud has no area, nor has a triangle on a line, nor corners absurdly far away."""
    cloud = tmp_path / "cloud.ply"
    cloud.write_text(PLY.format(n=3) + "end_header\n0 0 0\n1 0 0\n0 1 0\n")
    line, far = tmp_path / "line.obj", tmp_path / "far.obj"
    line.write_text("v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n")
    far.write_text("v 0 0 0\nv 1e200 0 0\nv 0 1e200 0\nf 1 2 3\n")
    for path in (cloud, line, far):
        with pytest.raises(BadMesh):
            from_mesh(path, "mm")


@pytest.mark.parametrize("kind", ["stl", "obj", "ply"])
def test_damaged_files_never_end_in_a_traceback(tmp_path: Path, kind: str) -> None:
    """60 files with bytes changed or the end cut off: an area, or a sentence."""
    whole = bytearray(_file(tmp_path, trimesh.creation.icosphere(subdivisions=1, radius=100), f"p.{kind}").read_bytes())
    rng = np.random.default_rng(9)
    path = tmp_path / f"damaged.{kind}"
    refused = 0
    for _ in range(60):
        data = bytearray(whole)
        for place in rng.integers(len(data), size=rng.integers(1, 6)):
            data[place] = rng.integers(256)
        path.write_bytes(data[: rng.integers(len(data) // 2, len(data) + 1)])
        try:
            assert 0 < from_mesh(path, "mm").area_m2 < math.inf
        except PatinaError as trouble:
            refused += 1
            assert trouble.remedy
    assert refused > 0


def test_corners_that_are_no_numbers_are_refused(tmp_path: Path) -> None:
    """A corner that is not a number has no area."""
    path = tmp_path / "nan.obj"
    path.write_text("v 0 0 0\nv 1 0 0\nv nan 1 0\nf 1 2 3\n")
    with pytest.raises(BadMesh):
        from_mesh(path, "mm")


def test_a_piece_of_absurd_size_is_questioned(tmp_path: Path) -> None:
    """A figure 200 m across has the wrong unit."""
    assert "size_unusual" in [w.code for w in from_mesh(_file(tmp_path, BALL), "m").warnings]


def test_rough_scans_carry_more_doubt(tmp_path: Path) -> None:
    """Scan noise adds area that levelling takes away: the doubt says how much."""
    noisy = trimesh.creation.icosphere(subdivisions=6, radius=100)
    rng = np.random.default_rng(4)
    noisy.vertices += rng.normal(0, 0.3, noisy.vertices.shape)
    path = _file(tmp_path, noisy, "noisy.ply")
    facts = look_at(path)
    assert facts.coarse_area is not None
    assert facts.coarse_area < facts.kept_area
    assert from_mesh(path, "mm").uncertainty_pct > from_mesh(_file(tmp_path, BALL), "mm").uncertainty_pct
    true = 4 * math.pi * 100**2
    assert abs(facts.coarse_area - true) < abs(facts.kept_area - true) / 3


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("two.obj", "v 0 0\nv 1 0\nv 0 1\nf 1 2 3\n"),
        ("far.obj", "v 0 0 0\nv 1e39 0 0\nv 0 1 0\nf 1 2 3\n"),
        (
            "beyond.ply",
            "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
            "element face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 7\n",
        ),
        (
            "faceless.ply",
            "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n"
            "element face 1\nproperty list uchar int vertex_indice\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n",
        ),
    ],
)
def test_a_mesh_whose_corners_are_not_there_is_refused(tmp_path, name, text):
    """Corners in two dimensions, beyond all bounds, or counted beyond the list: a sentence, not a crash."""
    file = tmp_path / name
    file.write_text(text)
    with pytest.raises(BadMesh):
        from_mesh(file, "mm")


def test_a_stray_point_that_no_triangle_uses_does_not_matter(tmp_path):
    """A scan may hold points that belong to no triangle, even senseless ones; the triangles count."""
    file = tmp_path / "stray.obj"
    file.write_text("v 0 0 0\nv 1000 0 0\nv 0 1000 0\nv 1e300 0 0\nf 1 2 3\n")
    assert from_mesh(file, "mm").area_m2 == pytest.approx(0.5)
