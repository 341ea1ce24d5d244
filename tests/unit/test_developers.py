"""DEVELOPERS.md names what is there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def test_every_benchmark_is_listed() -> None:
    """The table of benchmarks holds every script of the folder, and no other."""
    listed = set(re.findall(r"^\| `([a-z_]+\.py)", TEXT, re.MULTILINE))
    assert listed == {path.name for path in (ROOT / "tests" / "benchmarks").glob("*.py")}


def test_every_room_is_on_the_map() -> None:
    """Every file and folder of code that lies directly in the package stands in the table of rooms."""
    rooms = TEXT[TEXT.index("| room |") : TEXT.index("## Two walks")]
    for path in (ROOT / "patina").iterdir():
        if path.name.startswith("__") or (path.is_dir() and not any(path.glob("*"))):
            continue
        assert path.name in rooms, path.name


def test_files_that_are_named_exist() -> None:
    """A path in the text leads to a file or folder of the repository."""
    named = set(re.findall(r"`((?:patina|tui|tests|swatches)(?:/[\w.]+)+)`", TEXT))
    assert len(named) > 15
    for name in named:
        assert (ROOT / name).exists(), name
