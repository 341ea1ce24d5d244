"""Area of a mesh file (STL, OBJ, PLY), with what is wrong with the mesh said.

trimesh and numpy are imported when a mesh is measured, not before.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from patina.errors import BadMesh, BadQuantity, NotFound
from patina.surface.area import AreaEstimate, Doubt, Notice, doubts_text, positive, root_sum
from patina.surface.constants import constant

UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "ft": 304.8}
KINDS = (".stl", ".obj", ".ply")
MOST_BYTES = 1_500_000_000
_CROSSING_MOST_FACES = 60_000
_FARTHEST = 1e9
# What the readers of three formats raise on broken bytes.
_READER_TROUBLES = (
    ValueError,
    TypeError,
    LookupError,
    AttributeError,
    ArithmeticError,
    RuntimeError,
    OSError,
    EOFError,
    ImportError,  # text of unknown encoding: the reader asks for a detector
    struct.error,
    NameError,  # a reader that meets no faces where the header promises some
)


@dataclass(frozen=True, slots=True)
class MeshFacts:
    """What a mesh is like, in its own unit.

    area: sum of all triangles. kept_area: without duplicate faces and without closed bodies that lie
    inside others. coarse_area: kept area after detail under 2 % of the size is levelled (None if
    nothing is left). faces, duplicates, inner, open_edges, crossing: counts; crossing is None where
    the mesh was too large to look. thickness: twice volume over area of a closed mesh, else None.
    """

    area: float
    kept_area: float
    coarse_area: float | None
    faces: int
    duplicates: int
    inner: int
    open_edges: int
    crossing: int | None
    thickness: float | None
    extent: float


def from_mesh(path: str | Path, unit: str | None, enlarge: float = 1.0, *, shrinkage_pct: float = 0.0) -> AreaEstimate:
    """Area of a mesh file.

    unit: of the file's numbers: mm, cm, m, in or ft; mesh files do not say, so it is asked.
    enlarge: how many times larger in length the piece is than the mesh (4 for 450 → 1800 mm).
    shrinkage_pct: how much shorter the metal is than the mesh in %, 0 to 10 (1 to 2 where the mesh
    is of the model or the wax). Faces that are there twice and closed bodies inside others (the
    inner side of a shell, forgotten parts) are left out and named.
    Raises BadMesh for a missing unit, an unreadable or empty file; NotFound where there is no file.
    Source: [CALC]; spreads [PRACTICE].
    """
    scale_mm = _unit_mm(unit)
    positive(enlarge, "The enlargement", "times", most=1000, field_name="enlarge")
    if not 0 <= shrinkage_pct <= 10:
        raise BadQuantity(
            f"A shrinkage of {shrinkage_pct:g} % is not between 0 and 10 %.",
            "Give the shrinkage in length: bronze shrinks 1 to 2 %.",
            field="shrinkage",
        )
    facts = look_at(Path(path))
    length = scale_mm / 1000 * enlarge * (1 - shrinkage_pct / 100)
    factor = length**2
    area = positive(facts.kept_area * factor, "The area of the piece", "m2", most=1e6, field_name="unit")
    doubts = _doubts(facts, shrinkage_pct)
    working = (
        f"{facts.faces} triangles, {facts.area:.6g} {unit}² in the file"
        + (f", {facts.kept_area:.6g} {unit}² kept" if facts.kept_area < facts.area * (1 - 1e-9) else "")
        + (f"; × {enlarge:g}² enlargement" if enlarge != 1 else "")
        + (f"; × (1 − {shrinkage_pct:g} %)² shrinkage" if shrinkage_pct else "")
        + f" = {area:.4g} m²"
        + (f"; {facts.coarse_area * factor:.4g} m² with fine detail levelled" if facts.coarse_area else "")
        + f". Doubt: {doubts_text(doubts)}."
    )
    return AreaEstimate(area, root_sum(doubts), "mesh", working, _notices(facts, length * 1000), doubts)


def _unit_mm(unit: str | None) -> float:
    try:
        return UNITS_MM[(unit or "").strip().lower()]
    except KeyError:
        given = f"'{unit}' is not a unit of length that is known here" if unit else "A mesh file does not say its unit"
        raise BadMesh(f"{given}.", "Name one: mm, cm, m, in or ft; it is never guessed.", field="unit") from None


def _doubts(facts: MeshFacts, shrinkage_pct: float) -> tuple[Doubt, ...]:
    levelled = 0.0
    if facts.coarse_area:
        levelled = 50 * (facts.kept_area - facts.coarse_area) / facts.kept_area
    doubts = [
        Doubt("scan", constant("mesh_spread_pct")),
        Doubt("fine detail or scan noise", round(min(30.0, max(0.0, levelled)), 1)),
    ]
    if shrinkage_pct:
        doubts.append(Doubt("shrinkage", constant("shrinkage_spread_pct")))
    if facts.open_edges:
        doubts.append(Doubt("open edges", 3.0))
    if facts.crossing:
        doubts.append(Doubt("crossing surfaces", 5.0))
    return tuple(doubts)


def _notices(facts: MeshFacts, mm: float) -> tuple[Notice, ...]:
    found = []
    if facts.duplicates:
        found.append(Notice("duplicate_faces", f"{facts.duplicates} triangles are there twice; counted once."))
    if facts.inner:
        found.append(
            Notice(
                "inner_faces",
                f"{facts.inner} triangles belong to closed bodies inside others (the inner side of a shell, "
                "forgotten parts); left out.",
            )
        )
    if facts.open_edges:
        found.append(
            Notice(
                "open_mesh",
                f"The mesh is open: {facts.open_edges} edges have one face only. The area is of what is there.",
            )
        )
    if facts.crossing:
        found.append(
            Notice(
                "self_crossing",
                f"At least {facts.crossing} pairs of triangles cross: hidden surface is counted with the visible.",
            )
        )
    if facts.crossing is None:
        found.append(
            Notice("crossing_unknown", f"With {facts.faces} triangles the mesh was not searched for crossing surfaces.")
        )
    if facts.thickness is not None and _like_a_shell(facts, mm):
        found.append(
            Notice(
                "looks_like_shell",
                f"Volume over half the area is {facts.thickness * mm:.1f} mm: this looks like a shell with its inner "
                "side in the mesh, and the outside would be about half.",
            )
        )
    size_m = facts.extent * mm / 1000
    if size_m > 30 or size_m < 0.02:
        found.append(Notice("size_unusual", f"The piece would be {size_m:.3g} m across: check the unit."))
    return tuple(found)


def _like_a_shell(facts: MeshFacts, mm: float) -> bool:
    """Thin in mm and thin for its size: small solid pieces are not shells."""
    if facts.thickness is None or facts.inner:
        return False
    share = constant("shell_hint_share_pct") / 100
    return facts.thickness * mm < constant("shell_hint_mm") and facts.thickness < share * facts.extent


def look_at(path: Path) -> MeshFacts:
    """What a mesh file holds; raises BadMesh or NotFound. See MeshFacts."""
    import numpy as np

    mesh = _load(path)
    triangles = np.asarray(mesh.triangles, dtype=float)
    if not np.isfinite(triangles).all() or np.abs(triangles).max() > _FARTHEST:
        raise BadMesh(
            f"{path.name} holds corners that are not numbers, or absurdly far away.", "Export the mesh again."
        )
    mesh.merge_vertices()
    keys = np.sort(np.asarray(mesh.faces), axis=1)
    solid = (keys[:, 0] != keys[:, 1]) & (keys[:, 1] != keys[:, 2])
    _, first = np.unique(keys[solid], axis=0, return_index=True)
    index = np.flatnonzero(solid)[np.sort(first)]
    faces = np.asarray(mesh.faces)[index]
    points = np.asarray(mesh.vertices, dtype=float)
    edges = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    _, uses = np.unique(edges, axis=0, return_counts=True)
    inside = _inner_faces(points, faces)
    kept = faces[~inside]
    area = float(_areas(triangles).sum())
    kept_area = float(_areas(points[kept]).sum())
    if not kept_area > 0:
        raise BadMesh(f"{path.name} has no area.", "Export the mesh as triangles.")
    extent = float(np.ptp(points[np.unique(faces)], axis=0).max())
    volume = abs(float(_signed_volumes(points[kept]).sum()))
    open_edges = int((uses == 1).sum())
    return MeshFacts(
        area,
        kept_area,
        _coarse_area(points, kept, extent),
        len(triangles),
        int(solid.sum()) - len(index),
        int(inside.sum()),
        open_edges,
        _crossings(points, kept),
        2 * volume / kept_area if open_edges == 0 else None,
        extent,
    )


def _load(path: Path) -> Any:
    if not path.is_file():
        raise NotFound(f"There is no file {path}.", "Check the name of the mesh file.")
    if path.suffix.lower() not in KINDS:
        raise BadMesh(f"{path.name} is not an STL, OBJ or PLY file.", "Export the mesh in one of these.")
    if path.stat().st_size > MOST_BYTES:
        raise BadMesh(f"{path.name} is larger than 1.5 GB.", "Decimate the mesh before exporting it.")
    import trimesh
    from trimesh.exchange.stl import HeaderError

    try:
        mesh = trimesh.load(path, process=False, force="mesh")
    except MemoryError as trouble:
        raise BadMesh(f"{path.name} does not fit into memory.", "Decimate the mesh before exporting it.") from trouble
    except (*_READER_TROUBLES, HeaderError) as trouble:
        raise BadMesh(f"{path.name} is damaged, cut short or no mesh.", "Export it again.") from trouble
    if not isinstance(mesh, trimesh.Trimesh) or len(mesh.faces) == 0:
        raise BadMesh(f"{path.name} holds no triangles.", "Export the mesh as triangles, not as points or lines.")
    corners, faces = mesh.vertices, mesh.faces
    if corners.ndim != 2 or corners.shape[1] != 3 or faces.min() < 0 or faces.max() >= len(corners):
        raise BadMesh(f"{path.name} has triangles whose corners are not there.", "Export it again.")
    mesh.remove_unreferenced_vertices()
    return mesh


def _areas(triangles: Any) -> Any:
    import numpy as np

    sides = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    return np.linalg.norm(sides, axis=1) / 2


def _signed_volumes(triangles: Any) -> Any:
    import numpy as np

    return np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])) / 6


def _coarse_area(points: Any, faces: Any, extent: float) -> float | None:
    """Area after corners in one cell of 2 % of the size are drawn together to their mean."""
    import numpy as np

    cells = np.floor(points / (extent * 0.02)).astype(np.int64)
    _, group = np.unique(cells, axis=0, return_inverse=True)
    group = group.reshape(-1)
    count = np.bincount(group).astype(float)
    merged = np.stack([np.bincount(group, points[:, i]) / count for i in range(3)], axis=1)
    moved = np.unique(np.sort(group[faces], axis=1), axis=0)
    area = float(_areas(merged[moved]).sum())
    return area if area > 0 else None


def _inner_faces(points: Any, faces: Any) -> Any:
    """Which faces belong to a closed body that lies inside another (winding number above a half)."""
    import numpy as np
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    inside = np.zeros(len(faces), dtype=bool)
    n = len(points)
    ends = faces[:, [0, 1, 1, 2]].reshape(-1, 2)
    graph = coo_matrix((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(n, n))
    _, label = connected_components(graph, directed=False)
    body = label[faces[:, 0]]
    bodies = np.unique(body)
    if len(bodies) == 1 or len(bodies) > 2000:
        return inside
    low, high = _boxes(points, faces, body, bodies)
    for i, b in enumerate(bodies):
        mine = faces[body == b]
        around = np.flatnonzero((low <= low[i]).all(axis=1) & (high >= high[i]).all(axis=1))
        around = around[around != i]
        if len(around) and _closed(mine):
            probes = points[mine[:: max(1, len(mine) // 3), 0]][:3]
            inside[body == b] = any(
                all(abs(_winding(points[faces[body == bodies[j]]], p)) > 0.5 for p in probes) for j in around
            )
    return inside


def _boxes(points: Any, faces: Any, body: Any, bodies: Any) -> tuple[Any, Any]:
    import numpy as np

    corners = [points[faces[body == b]].reshape(-1, 3) for b in bodies]
    return np.array([c.min(axis=0) for c in corners]), np.array([c.max(axis=0) for c in corners])


def _closed(faces: Any) -> bool:
    import numpy as np

    edges = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
    return bool((np.unique(edges, axis=0, return_counts=True)[1] > 1).all())


def _winding(triangles: Any, point: Any) -> float:
    """How often a surface winds round a point: 0 outside, 1 inside. Source: [VANOOSTEROM1983]."""
    import numpy as np

    a, b, c = (triangles[:, i] - point for i in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    dots = (np.einsum("ij,ij->i", x, y) * z for x, y, z in ((a, b, lc), (b, c, la), (c, a, lb)))
    return float(2 * np.arctan2(top, la * lb * lc + sum(dots)).sum() / (4 * np.pi))


def _crossings(points: Any, faces: Any) -> int | None:
    if len(faces) > _CROSSING_MOST_FACES:
        return None
    from patina.surface.crossing import crossing_pairs

    return crossing_pairs(points[faces], faces)
