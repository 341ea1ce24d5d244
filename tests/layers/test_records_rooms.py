"""What the studio keeps lies in rooms of its own; each room knows only those that lie below it, and no two files know
each other."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
RECORDS = ROOT / "patina" / "records"
NAME = "patina.records"
# room -> the rooms that its files may import
BELOW: dict[str, set[str]] = {
    "tables": set(),
    "migrations": {"tables"},
    "photographs": {"tables"},
    "access": {"tables"},
    "finding": {"tables", "access"},
    "log": {"tables", "access"},
    "studio": {"tables", "migrations", "photographs", "access", "finding", "log"},
    "people": {"tables", "log"},
    "readings": {"tables", "photographs", "access", "finding", "log"},
    "recipes": {"tables", "access", "finding", "people", "readings"},
    "shelves": {"tables", "finding", "log", "recipes"},
    "torch": {"tables", "recipes", "shelves"},
    "pieces": {"tables", "photographs", "access", "finding", "log", "readings"},
    "matched": {"tables", "access", "finding", "readings", "torch"},
    "treating": {"tables", "photographs"},
    "history": {"tables", "access", "finding", "log", "recipes"},
    "keeping": {"tables", "photographs", "access", "finding", "log", "studio", "recipes", "torch"},
    "archive": {
        *("tables", "migrations", "photographs", "access", "finding", "log", "studio", "recipes", "keeping"),
    },
}
FILES = sorted(path for path in RECORDS.rglob("*.py") if path != RECORDS / "__init__.py")


def _room(path: Path) -> str:
    return path.relative_to(RECORDS).parts[0]


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def _modules() -> dict[str, Path]:
    return {_module(path): path for path in FILES}


def _imported(path: Path) -> set[str]:
    """Modules of the records that a file imports at its top, inside a function or for the types alone, or names in a
    text, from which it could be imported as well."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            full = {f"{node.module}.{alias.name}" for alias in node.names}
            names |= {name if name in _modules() else node.module or "" for name in full}
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in _modules():
            names.add(node.value)
    return {name for name in names if name == NAME or name.startswith(f"{NAME}.")}


def _circle(knows: dict[str, set[str]]) -> list[str]:
    """What is left when all that knows nothing else any more is taken away, again and again; a circle or nothing."""
    left = dict(knows)
    while free := [name for name, below in left.items() if not below & set(left)]:
        for name in free:
            del left[name]
    return sorted(left)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(RECORDS)))
def test_a_room_of_records_knows_only_those_below_it(path: Path) -> None:
    """Imports at the top of a file, inside a function and for the types alone go to the same room or one below."""
    room = _room(path)
    assert room in BELOW, f"{room} is in no table"
    assert {name.split(".")[2] for name in _imported(path)} <= BELOW[room] | {room}


def test_the_table_of_rooms_has_an_order() -> None:
    """The table itself has no circle, and says nothing that no file needs."""
    assert not _circle(BELOW)
    needed: dict[str, set[str]] = {room: set() for room in BELOW}
    for path in FILES:
        needed[_room(path)] |= {name.split(".")[2] for name in _imported(path)} - {_room(path)}
    assert needed == BELOW


def test_no_two_files_of_records_know_each_other() -> None:
    """No circle between single files, however late an import comes."""
    knows = {name: (_imported(path) & set(_modules())) - {name} for name, path in _modules().items()}
    assert sum(map(len, knows.values())) > 300, "the imports were not found"
    assert not _circle(knows)


def test_a_circle_would_be_found() -> None:
    """Two that know each other are named, and so is whatever rests on them."""
    assert _circle({"a": {"b"}, "b": {"a"}, "c": set(), "d": {"a"}}) == ["a", "b", "d"]


def test_nothing_lies_loose() -> None:
    """Every file lies in a room, and what a room is about stands in its first file as one sentence, alone."""
    assert {path.name for path in RECORDS.glob("*.py")} == {"__init__.py"}
    rooms = {path.name for path in RECORDS.iterdir() if path.is_dir() and path.name != "__pycache__"}
    assert rooms == set(BELOW)
    for room in rooms:
        tree = ast.parse((RECORDS / room / "__init__.py").read_text(encoding="utf-8"))
        said = ast.get_docstring(tree) or ""
        assert len(tree.body) == 1, f"{room} does more than say what it is"
        assert said.endswith(".")
        assert said.count(". ") == 0
