"""The order of the house: sizes, broad excepts, words that must not stand in it."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CODE = sorted(p for room in ("patina", "tui", "swatches") for p in (ROOT / room).rglob("*.py"))
DOORS = {"patina/cli.py", "tui/app.py"}


def _tracked() -> list[Path]:
    listing = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listing.returncode != 0:
        pytest.skip("not a git checkout, so the list of files is not known")
    return [ROOT / line for line in listing.stdout.splitlines() if (ROOT / line).is_file()]


def test_no_file_is_over_400_lines() -> None:
    """A file that grows past 400 lines holds more than one thing."""
    long = {
        str(p.relative_to(ROOT)): n
        for p in (*CODE, *(ROOT / "tests").rglob("*.py"))
        if (n := len(p.read_text("utf-8").splitlines())) > 400
    }
    assert not long


def test_only_the_two_doors_catch_everything() -> None:
    """`except Exception` stands in the command line's door and the screens' door, nowhere else."""
    broad = set()
    for path in CODE:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ExceptHandler):
                name = getattr(node.type, "id", None)
                if node.type is None or name in ("Exception", "BaseException"):
                    broad.add(str(path.relative_to(ROOT)))
    assert broad <= DOORS


def test_every_public_thing_has_a_docstring() -> None:
    """Public modules, classes and functions say what they are."""
    missing = []
    for path in CODE:
        tree = ast.parse(path.read_text("utf-8"))
        if not ast.get_docstring(tree) and path.read_text("utf-8").strip():
            missing.append(str(path.relative_to(ROOT)))
        for node in tree.body:
            public = isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_")
            if public and not ast.get_docstring(node):
                missing.append(f"{path.relative_to(ROOT)}:{node.name}")
    assert not missing


def test_top_level_holds_what_belongs_there() -> None:
    """Nothing lies at the top of the repository beside the agreed names."""
    top = {p.relative_to(ROOT).parts[0] for p in _tracked()}
    papers = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", ".ci", ".gitignore"}
    assert top <= papers | {"patina", "tui", "tests", "swatches"}


def test_no_registry_host_and_no_machine_path() -> None:
    """No file names a package registry's host or a folder of somebody's machine."""
    hosts = ["pypi" + ".org", "pythonhosted" + ".org", "deb.debian" + ".org", "npmjs" + ".org"]
    paths = re.compile(r"(?<![\w.])/(?:" + "|".join(["work", "farm", "home/[a-z]+"]) + r")/")
    bad = []
    for path in _tracked():
        if path.suffix in {".jpg", ".png", ".pdf", ".tif"}:
            continue
        text = path.read_text("utf-8", errors="ignore")
        bad += [f"{path.relative_to(ROOT)}: {h}" for h in hosts if h in text]
        bad += [f"{path.relative_to(ROOT)}: {m.group()}" for m in paths.finditer(text)]
    assert not bad
