"""The handbook says nothing that the program does not do."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from base64 import b64encode
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

import swatches
from patina.cli import main
from patina.handbook import Topic, plain, topic, topics
from patina.handbook.page import handbook_page
from patina.language import LANGUAGES, read_as, shown
from tui.actions import ACTIONS, key_name

PICTURES = Path(swatches.__file__).parent / "screens"
# what a command of the text needs that no studio holds
GIVEN = {"picture.jpg": "brown-large-chart.jpg"}
CARDS = "old cards.csv"
# commands whose whole point is another place: they are only looked up, not run
ELSEWHERE = re.compile(r"^patina( --studio \S+)?$|^patina (demo|serve|lines)\b|postgresql://|s3://")


OTHERS = [language for language in LANGUAGES if language != "en"]
KEY = re.compile(r"(?<!!)\[([^\]\n]{1,14})\](?!\()")
PICTURE = re.compile(r"\(pictures/([\w.-]+)\)")
# what is typed: commands, options, files, keys of files; a strength may be written with a comma
TYPED = re.compile(r"`([^`\n]+)`")


def _commands(one: Topic) -> list[str]:
    blocks = re.findall(r"^```sh\n(.*?)^```$", one.text, re.DOTALL | re.MULTILINE)
    return [line.strip() for block in blocks for line in block.splitlines() if line.strip()]


def _calls() -> dict[str, list[str]]:
    """Of each topic what is typed, in its order: what one command makes, a later one may ask for."""
    every: dict[str, dict[str, None]] = {}
    for language in LANGUAGES:
        for one in topics(language):
            every.setdefault(one.name, {}).update(dict.fromkeys(_commands(one)))
    return {name: list(calls) for name, calls in every.items() if calls}


def _both(language: str) -> list[tuple[Topic, Topic]]:
    return list(zip(topics(), topics(language), strict=True))


@pytest.fixture
def english_again() -> Iterator[None]:
    """Leave the program in English."""
    yield
    read_as()


@pytest.fixture(scope="module")
def demo(demo_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demo studio, a recipe file and a photograph, as the text speaks of them."""
    folder = tmp_path_factory.mktemp("handbook")
    shutil.copytree(demo_made, folder / "studio")
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
def in_folder(demo: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Stand in that folder, with its studio named."""
    monkeypatch.chdir(demo)
    monkeypatch.setenv("PATINA_STUDIO", str(demo / "studio"))
    yield demo


@pytest.mark.parametrize("where", _calls())
def test_every_command_of_the_handbook_runs(where: str, in_folder: Path) -> None:
    """What the handbook tells a reader to type is answered with exit 0 in the demo studio, topic by topic."""
    for call in _calls()[where]:
        _runs(where, call)


def _runs(where: str, call: str) -> None:
    words = shlex.split(call, comments=True)
    assert words[0] == "patina", where
    if ELSEWHERE.search(call):
        words = ["patina", *[w for w in words[1:] if w in ("demo", "serve", "lines")], "--help"]
    said, trouble = StringIO(), StringIO()
    with redirect_stdout(said), redirect_stderr(trouble), pytest.raises(SystemExit) as left:
        main(words[1:])
    assert left.value.code in (0, None), f"{where}: {call}\n{trouble.getvalue()}"
    assert said.getvalue().strip()


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_key_of_the_handbook_is_a_key(language: str, english_again: None) -> None:
    """A key in square brackets belongs to some action, and is called as the key bar calls it in that language."""
    read_as(language)
    known = {shown(key_name(key)) for action in ACTIONS for key in action.keys}
    named = {key for one in topics(language) for key in KEY.findall(one.text)}
    assert len(named) > 15
    assert not named - known


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_picture_of_the_handbook_is_there(language: str) -> None:
    """Pictures are those of the screens as they are drawn by the program."""
    named = {p for one in topics(language) for p in PICTURE.findall(one.text)}
    assert named
    assert not {p for p in named if not (PICTURES / p).is_file()}


@pytest.mark.parametrize("language", LANGUAGES)
def test_other_topics_that_are_named_exist(language: str) -> None:
    """`patina help X` in the text leads to a topic."""
    for one in topics(language):
        for name in re.findall(r"`patina help ([\w-]+)`", one.text):
            assert topic(name, language).name == name


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_page_needs_nothing_from_elsewhere(language: str, english_again: None) -> None:
    """The page holds every topic and picture, names its language, and asks for no address but its own."""
    read_as(language)
    page = handbook_page(lambda name: (PICTURES / name).read_bytes(), language)
    assert f'<html lang="{language}">' in page
    assert all(f'id="{one.name}"' in page for one in topics(language))
    assert not re.findall(r"(?:src|href)=\"(?!data:|#)[^\"]*\"", page)
    assert f"<kbd>{shown('Space')}</kbd>" in page
    assert "<script" not in page


@pytest.mark.parametrize("language", LANGUAGES)
def test_plain_text_keeps_every_word(language: str) -> None:
    """In the terminal no word of the text is lost but the marks and pictures."""
    for one in topics(language):
        without = re.sub(r"!\[.*?\]\(.*?\)", "", one.text)
        without = re.sub(r"\]\([^)]+\)", "]", without)
        words = set(re.findall(r"[^\W\d_]{3,}", re.sub(r"```sh|```toml", "", without).casefold()))
        assert words <= set(re.findall(r"[^\W\d_]{3,}", plain(one.text).casefold()))


@pytest.mark.parametrize("language", OTHERS)
def test_every_topic_is_there_in_every_language(language: str) -> None:
    """Each topic is translated: its text is another than the English one, under the same name and in the same order."""
    for english, other in _both(language):
        assert other.name == english.name
        assert other.text != english.text, english.name


@pytest.mark.parametrize("language", OTHERS)
def test_languages_do_not_drift_apart(language: str, english_again: None) -> None:
    """Headings, lists, paragraphs, commands, keys, pictures and what is typed are the same in every language."""
    read_as(language)

    def bones(text: str) -> list[str]:
        return [re.match(r"#* |\d\. |- |!|```|    |", line)[0] for line in text.splitlines() if line.strip()]  # type: ignore[index]

    for english, other in _both(language):
        assert bones(other.text) == bones(english.text), english.name
        assert _commands(other) == _commands(english), english.name
        assert sorted(KEY.findall(other.text)) == sorted(shown(k) for k in KEY.findall(english.text)), english.name
        assert PICTURE.findall(other.text) == PICTURE.findall(english.text), english.name
        typed = {words.replace(",", ".") for words in TYPED.findall(other.text)}
        assert {words.replace(",", ".") for words in TYPED.findall(english.text)} <= typed, english.name


@pytest.mark.parametrize("language", OTHERS)
def test_figures_of_the_handbook_are_the_same_in_every_language(language: str) -> None:
    """A figure in one language stands in the other, be its mark a point or a comma."""
    for english, other in _both(language):
        assert sorted(re.findall(r"\d+", other.text)) == sorted(re.findall(r"\d+", english.text)), english.name


def _said(*words: str) -> str:
    said = StringIO()
    with redirect_stdout(said), pytest.raises(SystemExit):
        main(list(words))
    return said.getvalue()


def test_help_and_page_follow_the_language_of_the_studio(tmp_path: Path, english_again: None) -> None:
    """`patina help` speaks as the studio says, without opening it; JSON is the same for every reader."""
    where = ("--studio", str(tmp_path / "studio"))
    english = _said(*where, "help", "mixing", "--json")
    _said(*where, "setting", "language", "de")
    assert "\nmixing           Ansetzen\n" in _said(*where, "help")
    assert _said(*where, "help", "mixing").startswith("ANSETZEN\n\nDas Rezept in den Oberflächen wählen")
    assert _said(*where, "help", "ansetzen") == _said(*where, "help", "mix")
    assert "0.34 m2" in _said(*where, "help", "mixing")
    assert "Textur 1,1" in _said(*where, "help", "mixing")
    assert _said(*where, "help", "mixing", "--json") == english
    _said(*where, "help", "--html", str(tmp_path / "handbook.html"))
    page = (tmp_path / "handbook.html").read_text("utf-8")
    assert '<html lang="de">' in page
    assert "<title>patina: Handbuch</title>" in page
    assert 'aria-label="Themen"' in page
    for picture in (PICTURES / "de").iterdir():
        assert b64encode(picture.read_bytes()).decode("ascii") in page, picture.name


def test_what_is_not_translated_is_read_in_english() -> None:
    """A language without a topic of its own shows the English one."""
    assert topics("xx") == topics()


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
