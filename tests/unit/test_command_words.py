"""What the command line says to a person: figures rounded, counts in words, never an empty answer."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from patina.bench.readings import tiles
from patina.bench.shelves import shelf
from patina.bench.studio import open_studio
from patina.cli import main
from patina.entries import NewLot, NewReading, NewTile

Say = Callable[..., str]


@pytest.fixture
def say(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Say:
    """Runs a command that must succeed on a studio with a tile and a lot, and hands back what it says."""
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "studio"))
    with open_studio(tmp_path / "studio") as studio:
        tile = tiles.start_tile(studio, NewTile("Q-1", "C87300"))
        tiles.add_reading(studio, tile.row.id, NewReading(24.123456, 6.98765, -9.04999))
        shelf.add_lot(studio, NewLot("liver of sulphur", 478.90000001, "g"))

    def _say(*words: str) -> str:
        with pytest.raises(SystemExit) as leaving:
            main(list(words))
        assert leaving.value.code == 0
        return capsys.readouterr().out

    return _say


def test_lists_round_their_figures(say: Say) -> None:
    """A colour stands there to one decimal, an amount without needless digits; JSON keeps what was measured."""
    assert "24.1 7.0 -9.0" in say("list", "tiles")
    assert "478.9 " in say("list", "lots")
    assert "24.123456" in say("list", "tiles", "--json")


def test_starters_taken_in_twice_say_so(say: Say) -> None:
    """The second time nothing is new, and that is said."""
    assert say("import", "--starters").count("Taken in: ") >= 12
    assert say("import", "--starters") == "Nothing new: they are all here already.\n"


def test_one_is_not_many(say: Say) -> None:
    """One row is a row, and nothing is said of rows that nobody asked to take out."""
    say("exposure", "add", "--person", "Ada", "--minutes", "20", "--substance", "liver of sulphur")
    assert say("exposure", "keep") == "Kept 40 years.\n"
    assert "0 rows over that time taken out" in say("exposure", "keep", "--take-out")


RECIPE = """\
patina_recipe = 1
name = "Own brown"
finish = "brown"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "wash"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "{substance}"
strength = "5 g/L"
[[step]]
do = "apply"
solution = "wash"
method = "cold brush"
coverage = "40 mL/m2"
"""


def test_a_recipe_file_is_read_with_the_named_studio(say: Say, tmp_path: Path) -> None:
    """A substance that only the studio knows is known wherever --studio stands: before the command or behind it.
    5 g/L × 2 L at its assay of 98 % is 10.2 g."""
    example = json.loads(say("substance", "format", "--json"))["example"]
    (tmp_path / "substance.toml").write_text(example, "utf-8")
    own = json.loads(say("substance", "add", str(tmp_path / "substance.toml"), "--json"))["name"]
    (tmp_path / "own.toml").write_text(RECIPE.format(substance=own), "utf-8")
    mix, where = ["mix", str(tmp_path / "own.toml"), "--volume", "2 L"], ["--studio", str(tmp_path / "studio")]
    assert f"10.2 g  {own}" in say(*where, *mix)
    assert f"10.2 g  {own}" in say(*mix, *where)
