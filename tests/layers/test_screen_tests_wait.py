"""Tests of the screens wait for what they assert: on a busy machine a key is answered late."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SCREENS = Path(__file__).parents[1] / "screens"
KEYS = {"press", "write", "hold", "hold_keys", "fill", "click"}
READ = {"text", "sheet", "all_words"}


def _called(node: ast.AST) -> list[str]:
    calls = [n for n in ast.walk(node) if isinstance(n, ast.Call)]
    calls.sort(key=lambda n: (n.end_lineno or 0, n.end_col_offset or 0))
    return [getattr(n.func, "attr", getattr(n.func, "id", "")) for n in calls]


def _too_soon(body: list[ast.stmt], key_was_last: bool = False) -> Iterator[int]:
    """Lines that assert what is in sight, where the last thing awaited before was a key."""
    for statement in body:
        if isinstance(statement, ast.Assert):
            if key_was_last and READ & set(_called(statement.test)):
                yield statement.lineno
            continue
        parts = [getattr(statement, name, []) for name in ("body", "orelse", "finalbody")]
        for part in parts:
            yield from _too_soon(part, key_was_last)
        awaited = [n for n in ast.walk(statement) if isinstance(n, ast.Await)]
        if awaited:
            last = max(awaited, key=lambda n: n.lineno)
            key_was_last = bool(KEYS & set(_called(last)[-1:]))


def _functions(path: Path) -> list[ast.AsyncFunctionDef]:
    tree = ast.parse(path.read_text("utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.AsyncFunctionDef)]


@pytest.mark.parametrize("path", sorted(SCREENS.glob("*.py")), ids=lambda path: path.stem)
def test_what_is_in_sight_is_waited_for_after_a_key(path: Path) -> None:
    """No test asserts on the text of a screen straight after a key: it waits (until_text, until_words, until)."""
    lines = [line for function in _functions(path) for line in _too_soon(function.body)]
    assert not lines, f"{path.name}: lines {lines} assert on a text right after a key"


def test_the_rule_sees_what_it_is_for() -> None:
    """An assertion right after a key is seen, also within a block; after a wait it is none."""
    soon = "async def t():\n  async with x as p:\n    await p.press('a')\n    assert 'b' in p.text()\n"
    wait = soon.replace("    assert", "    await p.until_text('b')\n    assert")
    assert [list(_too_soon(f.body)) for code in (soon, wait) for f in ast.parse(code).body] == [[4], []]  # type: ignore[attr-defined]
