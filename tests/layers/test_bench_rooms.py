"""The deeds lie in rooms of their own; each room knows only those that lie below it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BENCH = ROOT / "patina" / "bench"
# room -> the rooms whose deeds it may call; what lies loose in patina/bench is everybody's and calls none of them
BELOW: dict[str, set[str]] = {
    "": set(),
    "recipes": set(),
    "shelves": set(),
    "readings": set(),
    "pieces": {"readings"},
    "pots": {"recipes", "shelves"},
    "torch": {"pots", "readings"},
    "safe": {"recipes", "shelves", "pots"},
    "matched": {"recipes", "shelves", "readings", "pots"},
    "treating": {"shelves", "readings", "pieces"},
    "bringing": {"recipes", "readings", "pieces"},
    "finding": {"recipes", "treating"},
}
BELOW["paper"] = set(BELOW) - {"bringing"}


def _room(path: Path) -> str:
    return "" if path.parent == BENCH else path.parent.name


def _called(path: Path) -> set[str]:
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    parts = [name.split(".") for name in names if name.startswith("patina.bench.")]
    return {p[2] if p[2] in BELOW else "" for p in parts}


@pytest.mark.parametrize("path", sorted(BENCH.rglob("*.py")), ids=lambda p: str(p.relative_to(BENCH)))
def test_a_room_of_deeds_calls_only_those_below_it(path: Path) -> None:
    """No circle between the rooms of the deeds, in imports at the top of a file or inside a function."""
    room = _room(path)
    assert room in BELOW, f"{path.parent} is in no table"
    assert _called(path) <= BELOW[room] | {room, ""}


def test_every_room_is_below_some_order() -> None:
    """The table itself has no circle."""
    left = dict(BELOW)
    while left:
        free = [room for room, below in left.items() if not below & set(left)]
        assert free, f"a circle among {sorted(left)}"
        for room in free:
            del left[room]
