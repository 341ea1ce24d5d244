"""Who may import whom, as DEVELOPERS.md draws it."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

BOTTOM = {"errors", "own_words", "units", "sources", "datafile"}
VALUES = {"recipe", "entries"}
# room -> rooms of ours that it may import, besides itself and the bottom
ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "own_words": set(),
    "datafile": set(),
    "units": set(),
    "sources": set(),
    "chemistry": set(),
    "surface": set(),
    "colour": set(),
    "safety": {"chemistry", "recipe"},
    "matching": {"colour"},
    "conservation": set(),
    "language": set(),
    "spreadsheet": set(),
    "recipe": {"chemistry", "surface"},
    "recipe_lines": set(),
    "recipe_writing": {"chemistry", "recipe"},
    "recipe_file": {"chemistry", "surface", "recipe", "recipe_lines", "recipe_writing"},
    "entries": set(),
    "sheets": {"chemistry", "colour", "safety", "matching", "surface", "conservation", "recipe", "entries"},
    "records": {
        "chemistry",
        "colour",
        "safety",
        "matching",
        "surface",
        "conservation",
        "recipe",
        "entries",
        "sheets",
        "recipe_file",
    },
    "bench": {
        "chemistry",
        "surface",
        "colour",
        "safety",
        "matching",
        "conservation",
        "spreadsheet",
        "language",
        "recipe",
        "recipe_file",
        "recipe_lines",
        "entries",
        "sheets",
        "records",
        "reports",
    },
    "reports": {"sheets", "language"},
    "handbook": set(),
    "commands": {"bench", "sheets", "entries", "surface", "demo", "tui", "handbook", "language", "swatches"},
    "cli": {"commands", "language"},
    "demo": {"bench", "sheets", "entries", "recipe", "recipe_file", "swatches"},
    "tui": {"bench", "sheets", "entries", "handbook", "language"},
    "swatches": {"colour"},
}
MAY_USE_THE_BOTTOM = set(ALLOWED) - BOTTOM
BOTTOM_ORDER = {
    "errors": set(),
    "own_words": set(),
    "datafile": {"errors"},
    "units": {"errors", "datafile"},
    "sources": {"errors", "datafile"},
}
# heavy part -> the only rooms that may import it
HEAVY = {
    "sqlalchemy": {"records"},
    "alembic": {"records"},
    "textual": {"tui"},
    "textual_image": {"tui"},
    "cv2": {"colour", "swatches"},
    "PIL": {"colour", "tui", "swatches"},
    "tifffile": {"colour"},
    "rawpy": {"colour"},
    "pillow_heif": {"colour"},
    "colormath": {"colour"},
    "pint": {"units", "chemistry"},
    "trimesh": {"surface"},
    "typst": {"reports", "colour", "swatches"},
    "segno": {"reports", "colour", "swatches"},
    "click": {"commands", "cli"},
    "matplotlib": {"reports"},
    "openpyxl": {"spreadsheet"},
    "markdown_it": {"handbook"},
    "polib": {"language"},
    "fsspec": {"records"},
    "s3fs": {"records"},
    "dask": {"bench"},
    "distributed": {"bench"},
    "textual_plotext": {"tui"},
    "textual_serve": {"tui"},
}
# colormath stands behind these files alone
COLORMATH_FILES = {"patina/colour/difference.py", "patina/colour/lab.py", "patina/colour/delta_e.py"}


def _modules() -> list[Path]:
    found = [p for room in ("patina", "tui", "swatches") for p in (ROOT / room).rglob("*.py")]
    assert len(found) > 20, "the rooms were not found"
    return sorted(found)


def _room(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return parts[0] if parts[0] != "patina" or len(parts) == 1 else parts[1]


def _imports(path: Path) -> set[str]:
    """Every module a file imports, anywhere in it; type-checking blocks are left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    hidden = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and "TYPE_CHECKING" in ast.dump(block.test)
        for node in ast.walk(block)
    }
    names: set[str] = set()
    for node in ast.walk(tree):
        if id(node) in hidden:
            continue
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module or ""}
    return names


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_room_imports_only_what_lies_below_it(path: Path) -> None:
    """No arrow upward, no circle: each room imports itself, the bottom and what the table allows."""
    room = _room(path)
    if room == "__init__":
        return
    allowed = ALLOWED[room] | {room, "__init__"} | (BOTTOM if room in MAY_USE_THE_BOTTOM else BOTTOM_ORDER[room])
    for name in _imports(path):
        parts = name.split(".")
        if parts[0] not in ("patina", "tui", "swatches"):
            continue
        target = parts[0] if parts[0] != "patina" else (parts[1] if len(parts) > 1 else "__init__")
        if target == "__version__":
            continue
        assert target in allowed, f"{path.relative_to(ROOT)} ({room}) imports {name}"


@pytest.mark.parametrize("path", _modules(), ids=lambda p: str(p.relative_to(ROOT)))
def test_heavy_parts_stay_in_their_room(path: Path) -> None:
    """Each heavy library is imported by the rooms it belongs to and by no other."""
    room = _room(path)
    for name in _imports(path):
        top = name.split(".")[0]
        assert room in HEAVY.get(top, {room}), f"{path.relative_to(ROOT)} imports {top}"
        if top == "colormath":
            assert str(path.relative_to(ROOT)) in COLORMATH_FILES


def _loaded_after(statement: str) -> set[str]:
    code = f"import sys\n{statement}\nprint('\\n'.join(sys.modules))"
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    return {line.split(".")[0] for line in result.stdout.splitlines()} | set(result.stdout.splitlines())


def test_the_way_to_the_first_screen_is_light() -> None:
    """Opening the app loads Textual and SQLAlchemy, and none of the slow libraries."""
    loaded = _loaded_after("import patina.cli, tui.app, patina.bench.studio, patina.bench.recipes.finishes")
    slow = {"cv2", "numpy", "scipy", "trimesh", "typst", "pint", "colormath", "networkx", "alembic", "tifffile", "PIL"}
    assert not slow & loaded


def test_the_pure_rooms_know_neither_screens_nor_records() -> None:
    """Chemistry, surface, safety, colour values and recipes load without Textual, SQLAlchemy and Click."""
    loaded = _loaded_after(
        "import patina.recipe, patina.chemistry.substances, patina.surface.area, patina.safety.notes, "
        "patina.colour.values, patina.sheets"
    )
    assert not {"textual", "sqlalchemy", "click"} & loaded


def test_the_command_line_alone_loads_no_screen() -> None:
    """A script that asks for a number pays for no terminal screen."""
    assert not {"textual", "sqlalchemy", "numpy"} & _loaded_after("import patina.cli")
