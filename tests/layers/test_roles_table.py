"""Every deed and every table has its row in the tables of roles, so that nothing is allowed or hidden by accident."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from patina.records.access.roles import ROLES, access_of_table, deed_allowed, deeds, row_of, tables
from patina.records.tables.base import Base
from patina.records.tables.kinds import record_kinds

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "patina").rglob("*.py"))


def _names(node: ast.expr, tree: ast.Module) -> list[str]:
    """What a deed may be called where ``unit`` is given this: the words, the beginning of an f-string with a star, or
    all that a variable of the file is ever set to or handed."""
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.JoinedStr):
        first = node.values[0]
        return [f"{first.value!s}*" if isinstance(first, ast.Constant) else "*"]
    if isinstance(node, ast.IfExp):
        return _names(node.body, tree) + _names(node.orelse, tree)
    if isinstance(node, ast.Name):
        found: list[str] = []
        for one in ast.walk(tree):
            if isinstance(one, ast.keyword) and one.arg == node.id:
                found += _names(one.value, tree) if not isinstance(one.value, ast.Name) else []
            if isinstance(one, ast.Assign) and any(isinstance(t, ast.Name) and t.id == node.id for t in one.targets):
                found += _names(one.value, tree)
            if isinstance(one, ast.FunctionDef):
                found += _defaults(one, node.id)
        return found or [f"? {node.id}"]
    return ["? " + ast.dump(node)[:60]]


def _defaults(function: ast.FunctionDef, name: str) -> list[str]:
    pairs = zip(function.args.kwonlyargs, function.args.kw_defaults, strict=True)
    return [str(d.value) for a, d in pairs if a.arg == name and isinstance(d, ast.Constant)]


def _deeds() -> dict[str, str]:
    found: dict[str, str] = {}
    for path in FILES:
        tree = ast.parse(path.read_text("utf-8"))
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or len(node.args) < 2:
                continue
            if getattr(node.func, "id", getattr(node.func, "attr", "")) == "unit":
                for name in _names(node.args[1], tree):
                    found[name] = str(path.relative_to(ROOT))
    return found


DEEDS = _deeds()


def test_the_deeds_were_found() -> None:
    """The collection finds the deeds that everybody knows, and reads every name there is."""
    assert {"save recipe", "mix batch", "work: *", "answer danger", "hand over"} <= set(DEEDS)
    assert not [name for name in DEEDS if name.startswith("?")]


@pytest.mark.parametrize("deed", sorted(DEEDS))
def test_every_deed_has_its_row(deed: str) -> None:
    """Who may do it is said, not left to what an unknown deed gets."""
    assert (deed in deeds()) or row_of(deed) is not None, f"{deed} ({DEEDS[deed]}) is not in roles.csv"


def test_no_row_is_of_a_deed_that_is_not_there() -> None:
    """A row without its deed would seem to protect something."""
    asked = {"read withheld", "read all"}
    assert not [name for name in deeds() if name not in DEEDS and name not in asked]


def test_clients_write_nothing_and_heads_do_everything() -> None:
    """No deed is a client's; every deed is the head's; an unknown deed is the head's alone."""
    assert not [deed for deed, row in deeds().items() if row["client"]]
    assert not [deed for deed, row in deeds().items() if not row["head"]]
    assert [role for role in ROLES if deed_allowed(role, "a deed of tomorrow")] == ["head"]
    assert not deed_allowed("", "save recipe")


def test_every_table_has_its_row_once() -> None:
    """What each role reads and writes of a table is said for every table, and none is there twice."""
    record_kinds()
    lines = (ROOT / "patina" / "data" / "role_tables.csv").read_text("utf-8").splitlines()
    named = [line.split(",")[0] for line in lines if not line.startswith("#")][1:]
    assert len(named) == len(set(named))
    assert set(named) == set(tables()) == set(Base.metadata.tables)
    assert not [name for name in tables() if "w" in access_of_table("client", name)]
    assert {name for name in tables() if access_of_table("head", name) != "rw"} == set()
    assert access_of_table("client", "a table of tomorrow") == "-"
