"""What is built is used: every function, class and method is named in the program besides its own definition."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CODE = sorted(p for room in ("patina", "tui", "swatches") for p in (ROOT / room).rglob("*.py"))
# called by a library that knows them by their names
HOOKS = re.compile(r"__|_?(action|on|watch|validate|compute|render|compose|check|key|get|visit)_|compose$|render$")
BY_NAME = {
    "readinto": "io.RawIOBase",
    "format_commands": "click.Group",
    "discover": "textual's palette",
    "filter_paths": "textual's tree of files",
}
# what tests and benchmarks need and no person: each with its reason
FOR_TESTS = {
    "count_recipes": "how many there are, without reading them",
    "wait_until_laid_out": "a benchmark measures from then on",
    "own_mapping": "a table that was written is brought in again",
    "go_to": "a section without pressing keys",
    "trial_scenes": "the rendered scenes of the tests",
}


def _defined(path: Path) -> Iterator[str]:
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        inside = node.body if isinstance(node, ast.ClassDef) else []
        for one in (node, *inside):
            if isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) and not _registered(one):
                yield one.name


def _registered(node: ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) -> bool:
    """Whether a decorator hands it to a library: a command, a message handler."""
    own = ("property", "cache", "dataclass", "classmethod", "staticmethod", "total_ordering", "contextmanager")
    return any(not any(word in ast.dump(d) for word in own) for d in node.decorator_list)


def test_what_is_built_is_used() -> None:
    """A function that only its own test calls is a second way of doing something, or a thing half done."""
    words: Counter[str] = Counter()
    for path in CODE:
        words.update(re.findall(r"[A-Za-z_]\w*", path.read_text(encoding="utf-8")))
    idle = {
        f"{path.relative_to(ROOT)}: {name}"
        for path in CODE
        for name in _defined(path)
        if words[name] == 1 and not HOOKS.match(name) and name not in BY_NAME and name not in FOR_TESTS
    }
    assert not idle
    assert not {name for name in FOR_TESTS if words[name] != 1}, "these are used now and need no reason any more"
