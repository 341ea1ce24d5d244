"""``--help`` and what the command line says by itself, for somebody who reads German."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from inspect import cleandoc
from pathlib import Path

import click
import pytest

from patina.bench.studio import open_studio
from patina.cli import main, patina
from patina.commands.help_words import Context
from patina.language import HELP_BOOK, read_as
from patina.language.catalogue import book

Say = Callable[..., tuple[str, str]]


@pytest.fixture(autouse=True)
def english_again() -> Iterator[None]:
    """Every test leaves the program in English."""
    yield
    read_as()


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    """Runs a command with a usual place where no studio lies; what it says on standard output and error."""
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "none"))
    monkeypatch.delenv("PATINA_LANGUAGE", raising=False)

    def _say(*words: str) -> tuple[str, str]:
        with pytest.raises(SystemExit):
            main(list(words))
        said = capsys.readouterr()
        return said.out, said.err

    return _say


def _all(command: click.Command, context: click.Context) -> Iterator[tuple[click.Command, click.Context]]:
    yield command, context
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            under = command.get_command(context, name)
            assert under is not None
            yield from _all(under, Context(under, info_name=name, parent=context))


def _every_command() -> list[tuple[click.Command, click.Context]]:
    return list(_all(patina, Context(patina, info_name="patina", obj={"words": []})))


def test_every_text_of_help_is_translated() -> None:
    """What each command, option and argument is for is said in German."""
    known = book("de", HELP_BOOK)
    missing = []
    texts = 0
    for command, context in _every_command():
        helps = [cleandoc(command.help or ""), *(getattr(p, "help", None) for p in command.get_params(context))]
        for text in helps:
            assert text or text is None, context.command_path
            texts += bool(text)
            missing += [f"{context.command_path}: {text}"] if text and text not in known else []
    assert texts > 400
    assert not missing


def test_help_of_every_command_is_german(monkeypatch: pytest.MonkeyPatch) -> None:
    """Usage, headings, the list of commands and the standing sentences are German, whatever is asked for help."""
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    for command, context in _every_command():
        said = command.get_help(context)
        assert said.startswith(f"Aufruf: {context.command_path} "), said
        assert "\nOptionen:\n" in said
        assert "Diese Hilfe zeigen und enden." in said
        english = ("Usage:", "Options:", "Commands:", "Show this", "[default:", "required]")
        assert not [words for words in english if words in said], said
        if isinstance(command, click.Group):
            assert "\nBefehle:\n" in said
            assert all(f"\n  {name} " in said for name in command.list_commands(context))


def test_help_asks_the_studio_that_is_named_without_opening_it(say: Say, tmp_path: Path) -> None:
    """The studio's language counts, wherever --studio stands; a studio that is not there is not made."""
    with open_studio(tmp_path / "bronze") as studio:
        studio.set_setting("language", "de")
    where = str(tmp_path / "bronze")
    for words in (
        ("--studio", where, "mix", "--help"),
        ("mix", "--help", "--studio", where),
        ("mix", f"--studio={where}", "--help"),
    ):
        assert say(*words)[0].startswith("Aufruf: patina mix")
    assert say("--studio", where, "--help")[0].startswith("Aufruf: patina ")
    assert say("mix", "--help")[0].startswith("Usage: patina mix")
    assert not (tmp_path / "none").exists()


def test_the_variable_stands_above_the_studio(say: Say, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PATINA_LANGUAGE decides; a language that nobody knows leaves help in English."""
    with open_studio(tmp_path / "bronze") as studio:
        studio.set_setting("language", "de")
    monkeypatch.setenv("PATINA_LANGUAGE", "en")
    assert say("--studio", str(tmp_path / "bronze"), "--help")[0].startswith("Usage:")
    monkeypatch.setenv("PATINA_LANGUAGE", "xx")
    assert say("--help")[0].startswith("Usage:")


def test_figures_to_be_typed_are_written_as_the_reader_writes_them(say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    """A decimal comma in an example is one the program reads; units, options and placeholders stay."""
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    said = say("mix", "--help")[0]
    assert "Die zu färbende Bronze, mit Einheit: '1,8 m2'." in said
    assert "--have SUBSTANCE[,assay=98%]" in said


@pytest.mark.parametrize(
    ("words", "german"),
    [
        (("mix", "--nope"), "Die Option '--nope' gibt es nicht."),
        (("mix", "--volum"), "Die Option '--volum' gibt es nicht. Gemeint war '--volume'?"),
        (("mix", "--are"), "Die Option '--are' gibt es nicht. (Gemeint war eines von: '--area', "),
        (("mxi",), "Den Befehl 'mxi' gibt es nicht."),
        (("strength",), "Die Angabe 'WORDS' fehlt."),
        (("area", "weight", "--mass", "96 kg"), "Die Option '--wall' fehlt."),
        (("list", "--csv"), "Die Option '--csv' braucht einen Wert."),
        (("list", "forks"), "Ungültiger Wert für '{recipes|"),
        (("history", "--limit", "few"), "'few' ist keine gültige ganze Zahl"),
        (("help", "--man=yes"), "Die Option '--man' nimmt keinen Wert."),
        (("check", "of", "it"), "Angaben zu viel (of it)."),
    ],
)
def test_a_command_that_is_not_understood_is_answered_in_german(
    words: tuple[str, ...], german: str, say: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was typed is quoted as it was typed; JSON speaks English to everybody."""
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    said = say(*words)[1]
    assert said.startswith("Der Befehl wurde nicht verstanden\n  ")
    assert german in said
    assert "\n  Siehe 'patina" in said
    told = json.loads(say(*words, "--json")[1])
    assert told["title"] == "The command was not understood"


def test_a_command_without_a_studio_speaks_german(say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    """Old measures are worked out without a studio, in the reader's language."""
    english = say("strength", "2 tsp per US pint", "cupric nitrate")[0]
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    assert say("strength", "2 tsp per US pint", "cupric nitrate")[0] != english


def test_help_stays_light() -> None:
    """Help in German reads one book: no database library, no screen, no numbers are loaded for it."""
    heavy = ("sqlalchemy", "textual", "numpy", "alembic", "pint", "patina.bench.studio")
    code = (
        "import sys\nfrom patina.cli import main\n"
        "try:\n    main(['mix', '--help'])\n"
        f"except SystemExit:\n    print([m for m in {heavy!r} if m in sys.modules], file=sys.stderr)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PATINA_LANGUAGE": "de"},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert ran.stdout.startswith("Aufruf: patina mix")
    assert ran.stderr.strip() == "[]"


def test_the_man_page_says_that_it_is_english(say: Say, monkeypatch: pytest.MonkeyPatch) -> None:
    """The man page is the same in every language and says so."""
    english = say("help", "--man")[0]
    monkeypatch.setenv("PATINA_LANGUAGE", "de")
    assert say("help", "--man")[0] == english
    assert "This page is in English in every language." in english
