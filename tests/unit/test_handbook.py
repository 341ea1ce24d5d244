"""The handbook says nothing that the program does not do."""

from __future__ import annotations

import re
import shlex
import subprocess
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

import swatches
from patina.cli import main
from patina.demo.studio import make_demo
from patina.handbook import plain, topic, topics
from patina.handbook.page import handbook_page
from tui.actions import ACTIONS, key_name

PICTURES = Path(swatches.__file__).parent / "screens"
# what a command of the text needs that no studio holds
GIVEN = {"picture.jpg": "brown-large-chart.jpg"}
CARDS = "old cards.csv"
# commands whose whole point is another place: they are only looked up, not run
ELSEWHERE = re.compile(r"^patina( --studio \S+)?$|^patina (demo|serve|lines)\b|postgresql://|s3://")


def _calls() -> list[tuple[str, str]]:
    found = []
    for one in topics():
        for block in re.findall(r"^```sh\n(.*?)^```$", one.text, re.DOTALL | re.MULTILINE):
            found += [(one.name, line.strip()) for line in block.splitlines() if line.strip()]
    return found


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demo studio, a recipe file and a photograph, as the text speaks of them."""
    folder = tmp_path_factory.mktemp("handbook")
    make_demo(folder / "studio")
    for name, picture in GIVEN.items():
        (folder / name).write_bytes(swatches.photograph(picture).read_bytes())
    (folder / "cards.csv").write_bytes((folder / "studio" / CARDS).read_bytes())
    told = StringIO()
    with redirect_stdout(told), pytest.raises(SystemExit):
        main(["--studio", str(folder / "studio"), "export", "recipe", "Torch sulphide brown"])
    (folder / "brown.toml").write_text(
        told.getvalue().replace("Torch sulphide brown", "Brown of the handbook"), "utf-8"
    )
    return folder


@pytest.fixture
def in_folder(shown: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Stand in that folder, with its studio named."""
    monkeypatch.chdir(shown)
    monkeypatch.setenv("PATINA_STUDIO", str(shown / "studio"))
    yield shown


@pytest.mark.parametrize(("where", "call"), _calls(), ids=[f"{t}: {c}" for t, c in _calls()])
def test_every_command_of_the_handbook_runs(where: str, call: str, in_folder: Path) -> None:
    """What the handbook tells a reader to type is answered with exit 0 in the demo studio."""
    words = shlex.split(call, comments=True)
    assert words[0] == "patina", where
    if ELSEWHERE.search(call):
        words = ["patina", *[w for w in words[1:] if w in ("demo", "serve", "lines")], "--help"]
    said, trouble = StringIO(), StringIO()
    with redirect_stdout(said), redirect_stderr(trouble), pytest.raises(SystemExit) as left:
        main(words[1:])
    assert left.value.code in (0, None), f"{where}: {call}\n{trouble.getvalue()}"
    assert said.getvalue().strip()


def test_every_key_of_the_handbook_is_a_key() -> None:
    """A key in square brackets belongs to some action."""
    known = {key_name(key) for action in ACTIONS for key in action.keys}
    named = {k for one in topics() for k in re.findall(r"(?<!!)\[([^\]\n]{1,14})\](?!\()", one.text)}
    assert len(named) > 15
    assert not named - known


def test_every_picture_of_the_handbook_is_there() -> None:
    """Pictures are those of the screens as they are drawn by the program."""
    named = {p for one in topics() for p in re.findall(r"\(pictures/([\w.-]+)\)", one.text)}
    assert named
    assert not {p for p in named if not (PICTURES / p).is_file()}


def test_other_topics_that_are_named_exist() -> None:
    """`patina help X` in the text leads to a topic."""
    for one in topics():
        for name in re.findall(r"`patina help ([\w-]+)`", one.text):
            assert topic(name).name == name


def test_the_page_needs_nothing_from_elsewhere() -> None:
    """The page holds every topic and picture, and asks for no address but its own."""
    page = handbook_page(lambda name: (PICTURES / name).read_bytes())
    assert all(f'id="{one.name}"' in page for one in topics())
    assert not re.findall(r"(?:src|href)=\"(?!data:|#)[^\"]*\"", page)
    assert "<kbd>Space</kbd>" in page
    assert "<script" not in page


def test_plain_text_keeps_every_word() -> None:
    """In the terminal no word of the text is lost but the marks and pictures."""
    for one in topics():
        without = re.sub(r"!\[.*?\]\(.*?\)", "", one.text)
        without = re.sub(r"\]\([^)]+\)", "]", without)
        words = set(re.findall(r"[A-Za-z]{3,}", re.sub(r"```sh|```toml", "", without).casefold()))
        assert words <= set(re.findall(r"[A-Za-z]{3,}", plain(one.text).casefold()))


def test_the_man_page_names_every_command(tmp_path: Path) -> None:
    """The man page is well-formed for the macros it uses and names every command."""
    from patina.cli import COMMANDS

    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit):
        main(["help", "--man"])
    text = said.getvalue()
    assert text.startswith(".TH PATINA 1")
    for name in COMMANDS:
        assert f".SS {name}".replace("-", r"\-") in text
    bad = [line for line in text.splitlines() if line.startswith("'")]
    assert not bad


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_printed_for_each_shell(shell: str) -> None:
    """The completion names the variable that the program answers."""
    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit):
        main(["help", "--completion", shell])
    assert "_PATINA_COMPLETE" in said.getvalue()


def test_the_shell_completes_commands() -> None:
    """Asked as bash asks, the program offers its commands and no other."""
    import os
    import sys

    asked = {**os.environ, "_PATINA_COMPLETE": "bash_complete", "COMP_WORDS": "patina re", "COMP_CWORD": "1"}
    answer = subprocess.run(
        [sys.executable, "-c", "from patina.cli import main; main([])"],
        env=asked,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert {"plain,read", "plain,release", "plain,restore"} <= set(answer.stdout.split())
    assert all(word.startswith("plain,re") for word in answer.stdout.split())
