"""The studio line by line: everything can be read and done without a screen, and nothing is drawn."""

from __future__ import annotations

import subprocess
import sys

import pytest

from patina.bench.studio import Studio
from patina.bench.torch import work
from patina.entries import NewWork
from tui.lines.plain import DRAWN
from tui.lines.talk import Talk


@pytest.fixture
def talk(studio: Studio) -> Talk:
    """A talk with the studio of the screens' tests; commands are only repeated."""
    return Talk(studio, lambda words: f"would run {' '.join(words)}")


def _said(talk: Talk, line: str) -> str:
    lines = talk.answer(line)
    assert not any(DRAWN.search(text) for text in lines), lines
    return "\n".join(lines)


@pytest.mark.parametrize("name", ["finishes", "bench", "tiles", "casts", "pieces", "agreed", "shelf", "works"])
def test_every_list_is_read_out(talk: Talk, name: str) -> None:
    """Each list answers with numbered lines, or says that it is empty."""
    told = _said(talk, name)
    assert told.startswith("1. ") or "empty" in told


def test_a_line_of_a_list_is_opened_by_its_number(talk: Talk) -> None:
    """From the list of tiles 1 opens the newest; with names its recipe; back returns."""
    assert "QT-2" in _said(talk, "tiles")
    assert "QT-2" in _said(talk, "1")
    assert "recipe" in _said(talk, "with")
    assert "Slipway brown" in _said(talk, "R1")
    assert "QT-2" in _said(talk, "back")


def test_a_recipe_is_read_with_its_dangers_in_words(talk: Talk) -> None:
    """What a screen tells by a sign or a colour is told by a word."""
    told = _said(talk, "R1")
    assert "Safety, as mixed" in told
    assert "Danger:" in told or "Caution:" in told


def test_the_torch_is_worked_line_by_line(talk: Talk, studio: Studio) -> None:
    """A pass, a temperature and a note are on record; b takes the newest back; x leaves the work open."""
    sheet = work.start_work(studio, NewWork("T1", "R1"))
    assert "zone" in _said(talk, f"work {sheet.row.id}")
    assert "On disk" in _said(talk, "p")
    assert "88" in _said(talk, "t 88")
    assert "thin" in _said(talk, "n thin and even")
    _said(talk, "b")
    assert "no word at the torch" in _said(talk, "dance")
    assert "stays open" in _said(talk, "x")
    kinds = [e.kind for e in work.work_sheet(studio, sheet.row.id).events if not e.cancelled]
    assert "pass" in kinds and "temperature" in kinds
    assert "note" not in kinds


@pytest.mark.parametrize("line", ["'open", "R999", "99", "find zzzz", "back", "work W999", "with"])
def test_what_cannot_be_done_is_told(talk: Talk, line: str) -> None:
    """A slip is answered with a sentence, and the talk goes on."""
    assert len(_said(talk, line)) > 10
    assert "1. " in _said(talk, "tiles")


def test_other_words_are_commands(talk: Talk) -> None:
    """What is no word of the talk is a command of patina."""
    assert _said(talk, "mix R1 --area '1 m2'") == "would run mix R1 --area 1 m2"


def test_it_runs_from_the_command_line(studio: Studio) -> None:
    """Lines come in, plain lines go out; a command with a slip does not end it."""
    where = studio.where
    studio.close()
    asked = "tiles\nmix\nmix R1 --area '1 m2'\nmix R9999 --area 1\nshelf\nquit\n"
    ran = subprocess.run(
        [sys.executable, "-m", "patina.cli", "--studio", where, "lines"],
        input=asked,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert "QT-2" in ran.stdout
    assert "not understood" in ran.stdout
    assert "made up to" in ran.stdout or "Make up to" in ran.stdout
    assert "liver of sulphur" in ran.stdout
    assert "Traceback" not in ran.stdout + ran.stderr
