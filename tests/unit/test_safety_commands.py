"""The commands of the safety record: release, air, dangers, thresholds, substance, exposure."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from patina.cli import main

Run = Callable[..., Any]
TWO = """\
patina_recipe = 1
name = "Sulphide then ferric"
finish = "brown"
alloys = ["C87300"]
provenance = "own tiles"
[[solution]]
name = "sulphide"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "liver of sulphur"
strength = "5 g/L"
[[solution]]
name = "ferric"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "ferric nitrate"
strength = "20 g/L"
[[step]]
do = "apply"
solution = "sulphide"
method = "cold brush"
coverage = "40 mL/m2"
[[step]]
do = "apply"
solution = "ferric"
method = "cold brush"
coverage = "40 mL/m2"
"""


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One studio for all commands, with one recipe."""
    folder = tmp_path_factory.mktemp("commands")
    (folder / "two.toml").write_text(TWO, encoding="utf-8")
    with pytest.raises(SystemExit):
        main(["--studio", str(folder / "studio"), "import", str(folder / "two.toml")])
    return folder / "studio"


@pytest.fixture
def run(studio: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs one command with --json; gives its document, or with ``fails`` its trouble."""

    def _run(*words: str, fails: bool = False) -> Any:
        with pytest.raises(SystemExit) as leaving:
            main([*words, "--json", "--studio", str(studio)])
        captured = capsys.readouterr()
        assert (leaving.value.code == 2) is fails, captured.err or captured.out
        return json.loads(captured.err if fails else captured.out)

    return _run


def test_a_recipe_goes_from_draft_to_released(run: Run) -> None:
    """Refused without answers, kept with them, taken back with a reason; the document says what stands against it."""
    shown = run("release", "show", "R1")
    assert shown["state"] == "draft" and shown["blocks"] and shown["caution"]
    assert "hydrogen sulphide" in run("release", "give", "R1", "--by", "Ada Ness", fails=True)["what"]
    reason = "the sulphide is rinsed off before the ferric is opened"
    answered = run("release", "answer", "R1", "1", reason, "--by", "Ada Ness")
    assert answered["dangers"][0]["answers"][0]["by"] == "Ada Ness"
    rest = [w for d in shown["dangers"][1:] for w in ("--answer", f"{d['number']}={reason}")]
    assert run("release", "give", "R1", "--by", "Ada Ness", *rest)["state"] == "released"
    assert run("release", "withdraw", "R1", "a tile went green", "--by", "Ben Orr")["state"] == "withdrawn"
    assert "names no danger" in run("release", "give", "R1", "--answer", "fine", fails=True)["what"]


def test_the_air_of_a_recipe(run: Run) -> None:
    """Grams per step, against limits, with the flow; a room without a unit is refused."""
    words = ("air", "R1", "--area", "1.8 m2", "--room", "60 m3", "--changes", "6", "--fraction", "5 %")
    document = run(*words)
    gas = next(g for g in document["steps"][0]["gases"] if g["gas"] == "hydrogen sulphide")
    assert gas["grams_at_most"] > 0 and {x["who"] for x in gas["limits"]} >= {"NIOSH REL", "OSHA PEL"}
    assert document["flow_m3_per_h"] == 360.0
    assert "room" in run(*words[:4], "--room", "60", fails=True)["what"]
    assert run(*words, "--hood", "0.5 m3/s")["flow_m3_per_h"] == 2160.0


def test_thresholds_of_a_recipe_file(studio: Path, run: Run) -> None:
    """A file does as well as a name; each turn has its statement."""
    document = run("thresholds", str(studio.parent / "two.toml"), "ferric", "ferric nitrate", "--strength", "40 % w/w")
    assert document["turns"] and all(t["words"] for t in document["turns"])
    assert any(t["passed"] for t in document["turns"])
    assert "has no" in run("thresholds", "R1", "ferric", "silver nitrate", fails=True)["what"]


def test_the_example_of_a_substance_is_one(run: Run, tmp_path: Path) -> None:
    """What `patina substance format` prints can be added as it stands, and is then in every list."""
    path = tmp_path / "substance.toml"
    path.write_text(run("substance", "format")["example"], encoding="utf-8")
    added = run("substance", "add", str(path), "--by", "Ada Ness")
    assert added["own"] and added["classes"] and added["sheets"][0]["by"] == "Ada Ness"
    assert run("substance", "show", added["name"])["key"] == added["key"]
    listed = {item["id"]: item for item in run("list", "substances")["items"]}
    assert listed[added["key"]]["sheet_dated"] == added["sheets"][0]["dated"]
    assert "already the name" in run("substance", "add", str(path), fails=True)["what"]
    assert run("substance", "stale", "--years", "1")["items"][0]["name"] == added["name"]
    run("substance", "checked", added["name"], "--dated", "2024-06-01", "--supplier", "Marsh Lane Chemicals")
    assert run("substance", "show", "kryptonite", fails=True)["title"] == "Unknown substance"


def test_the_exposure_log(run: Run, tmp_path: Path) -> None:
    """Logged, listed, written out; a wrong row is refused with everything that is wrong."""
    row = run("exposure", "add", "--person", "=Ben", "--minutes", "45", "--recipe", "R1", "--flow", "600 m3/h")
    assert row["minutes"] == 45.0 and row["keep_until"] > row["date"]
    assert run("exposure", "list", "--person", "=ben")["exposures"][0]["id"] == row["id"]
    assert run("list", "exposures")["items"][0]["name"] == "=Ben"
    written = run("exposure", "export", str(tmp_path / "log.csv"))
    assert written["rows"] == 1 and ",'=Ben," in (tmp_path / "log.csv").read_text("utf-8-sig")
    assert run("exposure", "keep", "45")["years"] == 45
    trouble = run("exposure", "add", "--person", "Ben", "--minutes", "soon", fails=True)
    assert "minutes" in trouble["what"].casefold() or "soon" in trouble["what"]


def test_what_stands_together(run: Run) -> None:
    """An empty bench, shelf and waste room have no dangers, and the caution stands all the same."""
    document = run("dangers")
    assert (document["bench"], document["shelf"], document["waste"]) == ([], [], [])
    assert document["caution"]
