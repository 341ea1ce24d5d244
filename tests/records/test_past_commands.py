"""History, undo, signing off, backups and salvage from the command line: text for people, one document for scripts."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from patina.bench.readings import tiles
from patina.bench.studio import Studio
from patina.cli import main
from patina.entries import NewTile

pytestmark = pytest.mark.one_engine("sqlite", why="the command line is given the folder of a studio")


def run(capsys: pytest.CaptureFixture[str], *words: str, fails: int = 0) -> tuple[str, str]:
    """What a command prints on both streams."""
    with pytest.raises(SystemExit) as left:
        main(words)
    assert left.value.code == fails
    told = capsys.readouterr()
    return told.out, told.err


def document(capsys: pytest.CaptureFixture[str], *words: str) -> Any:
    """The one JSON document that a command prints."""
    return json.loads(run(capsys, *words, "--json")[0])


def test_history_and_undo(full: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    """The change is told with its units; undo says what it took back, and once more that there is nothing."""
    tiles.change_tile(full, "T1", NewTile("A1", "C87300", wall_mm=4.5, made_by="Ida"))
    place = ("--studio", full.where)
    text, _ = run(capsys, "history", "T1", *place)
    assert "wall: 3 mm → 4.5 mm" in text
    told = document(capsys, "history", "T1", *place)
    assert told["deeds"][0]["alterations"][0]["record"] == "T1"
    done = document(capsys, "undo", "--by", told["deeds"][0]["by"], *place)
    assert done["records"] == ["T1"]
    assert "taken back since" in run(capsys, "history", "T1", *place)[0]
    assert tiles.tile_sheet(full, "T1").wall_mm == 3
    assert "Redo" not in run(capsys, "undo", "--redo", "--by", told["deeds"][0]["by"], *place)[0]
    assert tiles.tile_sheet(full, "T1").wall_mm == 4.5


def test_seal_amend_and_withdraw(full: Studio, capsys: pytest.CaptureFixture[str]) -> None:
    """A seal is shown with its amendments; what may not be done ends with 2 and a sentence."""
    place = ("--studio", full.where)
    assert document(capsys, "seal", "M1", "--by", "Ida", *place)["sealed"] is True
    assert "signed off by Ida" in run(capsys, "seal", "M1", "--show", *place)[0]
    assert "amendment 1, Oda" in run(capsys, "amend", "M1", "lamp 4000 K", "--why", "late", "--by", "Oda", *place)[0]
    assert "already" in run(capsys, "seal", "M1", "--by", "Oda", *place, fails=2)[1]
    assert "not said why" in run(capsys, "withdraw", "D1", *place, fails=2)[1]
    assert document(capsys, "withdraw", "D1", "--why", "shade", *place)["withdrawn"] == "D1"
    assert document(capsys, "check", *place)["ok"] is True


def test_backup_when_due_and_salvage(full: Studio, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """--due makes a backup only when one is due, and without a file says so by how it ends; salvage lists."""
    place = ("--studio", full.where)
    assert document(capsys, "backup", "--due", *place)["due"] is False
    run(capsys, "setting", "backup-days", "7", *place)
    assert "A backup is due" in run(capsys, "backup", "--due", *place, fails=2)[1]
    assert "Written to" in run(capsys, "backup", "--due", str(tmp_path / "b"), *place)[0]
    assert "last whole backup" in run(capsys, "backup", "--due", str(tmp_path / "c"), *place)[0]
    assert not (tmp_path / "c").exists()
    restored, _ = run(capsys, "restore", str(tmp_path / "b"), "--studio", str(tmp_path / "again"))
    assert "The check proved every one of them." in restored
    saved = document(capsys, "salvage", full.where, str(tmp_path / "saved"))
    assert (saved["saved"]["tile"], saved["lost"], saved["sound"]) == (1, [], True)
