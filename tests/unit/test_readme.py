"""The README says nothing that the program does not do."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from patina.bench.pots.mixing import mix
from patina.chemistry.substances import catalogue
from patina.cli import COMMANDS, patina
from patina.recipe_file import read_recipe_text
from tui.actions import ACTIONS, key_name

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
MOST_BYTES_OF_A_PICTURE = 120_000


def _blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def _commands_in_blocks() -> list[list[str]]:
    lines = [line for block in _blocks("sh") for line in block.splitlines()]
    calls = [call for line in lines for call in line.split("&&") if ".venv/bin/patina" in call]
    return [shlex.split(call, comments=True)[1:] for call in calls]


def _rows() -> list[tuple[str, str]]:
    rows = re.findall(r"^\| (.+?) \| (.+) \|$", README, re.MULTILINE)
    return [row for row in rows if "`patina" in row[0]]


def _commands_of_row(cell: str) -> list[list[str]]:
    """The commands of a table's first cell: after the first, other words of the same group may stand alone."""
    found: list[list[str]] = []
    group: list[str] = []
    for span in re.findall(r"`([^`]+)`", cell):
        words = shlex.split(span)
        if words[0] == "patina":
            words = words[1:]
            group = [w for w in words[:1] if isinstance(patina.get_command(_context(), w), click.Group)]
        elif words[0] not in COMMANDS:
            words = [*group, *words]
        found.append(words)
    return found


def _context() -> click.Context:
    return click.Context(patina, info_name="patina")


def _resolve(words: list[str]) -> click.Command:
    """The command that words call, groups walked through. Fails where a group lacks the name."""
    command: click.Command = patina
    context = _context()
    rest = list(words)
    while isinstance(command, click.Group):
        while rest and rest[0].startswith("--"):
            rest = rest[2:] if rest[0] == "--studio" else rest[1:]
        if not rest:
            break
        name = rest.pop(0)
        found = command.get_command(context, name)
        assert found is not None, f"'patina {' '.join(words)}': there is no {name}"
        command, context = found, click.Context(found, info_name=name, parent=context)
    return command


def _options(command: click.Command) -> set[str]:
    parameters = [*command.params, *patina.params]
    return {o for p in parameters if isinstance(p, click.Option) for o in (*p.opts, *p.secondary_opts)}


def test_the_two_setup_commands_stand_there_once() -> None:
    """One command runs it and one tests it, each complete from a fresh clone."""
    run = "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/patina demo\n"
    test = "python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/python -m pytest\n"
    assert README.count(run) == 1
    assert README.count(test) == 1
    assert README.count("python3 -m venv") == 2


@pytest.mark.parametrize("words", _commands_in_blocks(), ids=" ".join)
def test_a_command_to_type_exists(words: list[str]) -> None:
    """Every command of a block to be typed exists, with its options."""
    unknown = {w for w in words if w.startswith("--")} - _options(_resolve(words))
    assert not unknown


@pytest.mark.parametrize(("cell", "words"), _rows(), ids=[cell for cell, _ in _rows()])
def test_a_row_of_the_tables_exists(cell: str, words: str) -> None:
    """Every command of the tables exists, with each option that its row names."""
    options: set[str] = set()
    for command in _commands_of_row(cell):
        options |= _options(_resolve(command))
    named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", f"{cell} {words}"))
    assert not named - options


def test_every_command_is_in_the_tables() -> None:
    """No command is left for the reader to find by chance."""
    told = {words[0] for cell, _ in _rows() for words in _commands_of_row(cell) if words}
    assert set(COMMANDS) - told == set()


def test_values_that_can_be_chosen_are_told_right() -> None:
    """The kinds of `list`, the formulas of `compare` and the editions of `read` are those of the program."""
    for command, option in (("list", "kind"), ("compare", "formula"), ("read", "edition"), ("safety", "regime")):
        parameter = next(p for p in _resolve([command]).params if p.name == option)
        assert isinstance(parameter.type, click.Choice)
        row = next(f"{cell} {words}" for cell, words in _rows() if f"`patina {command}" in cell)
        for choice in parameter.type.choices:
            assert choice in row or choice == "unknown", f"{command}: {choice}"


def test_the_recipe_example_can_be_mixed(tmp_path: Path) -> None:
    """The example is a recipe file: 1.8 m² × 1.1 × 40 mL/m² × 4 passes ÷ 50 %, + 25 %, + 100 mL is 892 mL."""
    (example,) = _blocks("toml")
    file = tmp_path / "harbour.toml"
    file.write_text(example, "utf-8")
    sheet = mix(None, str(file), area="1.8 m2")
    assert sheet.solutions[0].volume_ml == pytest.approx(1.8 * 1.1 * 40 * 4 / 0.5 * 1.25 + 100)


def test_defaults_of_a_recipe_file_are_those_told() -> None:
    """What the example says of a key that is left out is what the program takes."""
    (example,) = _blocks("toml")
    told = dict(re.findall(r"^(\w+) = .*default (?:own )?([\d.]+(?: %)?)", example, re.MULTILINE))
    bare = "\n".join(line for line in example.splitlines() if line.split(" = ")[0] not in told)
    recipe = read_recipe_text(bare, catalogue())
    taken = {"texture": recipe.texture, "reserve": recipe.reserve, "dead_volume": recipe.dead_volume_ml}
    taken["transfer"] = recipe.steps[0].transfer
    assert set(told) == set(taken)
    for key, words in told.items():
        assert taken[key] == (float(words[:-2]) / 100 if words.endswith("%") else float(words)), key


def test_keys_are_those_of_the_screens() -> None:
    """Every key named is a key of some action."""
    named = set(re.findall(r"<kbd>(.+?)</kbd>", README))
    known = {key_name(key) for action in ACTIONS for key in action.keys}
    assert len(named) > 5
    assert not named - known


def test_pictures_exist_and_need_no_network() -> None:
    """Every picture is in the repository, small, and fetches nothing."""
    shown = re.findall(r"!\[.+?\]\((.+?)\)", README)
    assert len(shown) >= 3
    for name in shown:
        svg = (ROOT / name).read_text("utf-8")
        assert len(svg.encode()) < MOST_BYTES_OF_A_PICTURE
        addresses = set(re.findall(r"\w+://[^\s\"')]+", svg))
        assert addresses <= {"http://www.w3.org/2000/svg"}  # the name of the language, never fetched


def test_links_lead_somewhere() -> None:
    """Files that are linked exist; no marker of an unwritten part is left."""
    for name in re.findall(r"(?<!!)\[.+?\]\((.+?)\)", README):
        assert (ROOT / name).exists()
    assert "<!--" not in README
