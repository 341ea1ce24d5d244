"""`patina bring`: what is open is said and nothing kept; mappings by file and by name; refused rows into a file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from patina.cli import main

LOTS = "Chemical;Menge;Lot no.;Opened\nferric nitrate;1,5;A1;3/4/2019\ngreen salt;2 oz;A2;\n"


@pytest.fixture
def where(tmp_path: Path) -> Path:
    """A folder for a studio and its files."""
    folder = tmp_path
    (folder / "lots.csv").write_text(LOTS, encoding="utf-8")
    return folder


def _run(where: Path, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as left:
        main(["--studio", str(where / "studio"), *words])
    out, err = capsys.readouterr()
    return int(left.value.code or 0), out, err


def test_what_is_open_is_said(where: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2, each question with its options, nothing kept; with --dry-run a document of all of it."""
    code, out, err = _run(where, capsys, "bring", str(where / "lots.csv"))
    assert code == 2
    assert "Menge|unit: The figures have no unit. (1,5)" in out
    assert "4 questions" in err
    code, out, _ = _run(where, capsys, "bring", str(where / "lots.csv"), "--dry-run", "--json")
    document = json.loads(out)
    assert code == 0
    assert {q["about"] for q in document["plan"]["questions"]} == {"unit", "word oz", "dates", "value green salt"}
    assert document["brought"] == []
    code, out, err = _run(where, capsys, "bring", str(where / "lots.csv"), "--json")
    assert (code, out) == (2, "")
    assert json.loads(err)["title"] == "Not done"


def test_answers_mappings_and_refused_rows(where: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Answered on the command line, kept under a name, written as TOML; the refused row is mended and comes in."""
    answers = ("Menge|unit=kg", "menge|word oz=oz av", "Opened|dates=month-day", "Chemical|value green salt=refuse")
    said = [word for a in answers for word in ("--answer", a)]
    files = ["--refused", str(where / "refused.csv"), "--save", "lots", "--write-mapping", str(where / "lots.toml")]
    code, out, _ = _run(where, capsys, "bring", str(where / "lots.csv"), *said, *files, "--json")
    document = json.loads(out)
    assert code == 0
    assert [b["id"] for b in document["brought"]] == ["L1"]
    assert document["brought"][0]["values"]["opened on"] == "2019-03-04"
    assert document["refused"][0]["rows"] == [3]
    mended = (where / "refused.csv").read_text("utf-8-sig").replace("green salt", "cupric nitrate")
    (where / "refused.csv").write_text(mended, encoding="utf-8")
    code, out, _ = _run(where, capsys, "bring", str(where / "refused.csv"), "--mapping", str(where / "lots.toml"))
    assert code == 0
    assert "1 of 1 rows brought in as 1 lot" in out
    code, out, _ = _run(where, capsys, "bring", str(where / "lots.csv"), "--mapping", "lots")
    assert "1 of them are here already" in out
    code, out, _ = _run(where, capsys, "bring", "--mappings")
    assert out.strip() == "lots"


def test_fields_are_listed_and_slips_are_named(where: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A column, a field or an answer that is not there."""
    code, out, _ = _run(where, capsys, "bring", "--fields", "tiles", "--json")
    assert {"field": "wall", "label": "wall thickness", "reads": "length", "needed": False} in json.loads(out)["fields"]
    for slip in (["--map", "Nix=amount"], ["--map", "Menge=nix"], ["--every", "nix=1"], ["--answer", "Menge=1"]):
        code, _, err = _run(where, capsys, "bring", str(where / "lots.csv"), *slip)
        assert code == 2
        assert "not taken in" in err
    assert _run(where, capsys, "bring")[0] == 2


def test_a_list_is_written_as_a_table(where: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina list lots --csv FILE` writes what `patina bring` takes in; readings have no other list."""
    (where / "one.csv").write_text("Chemical;Amount;Lot no.\nferric nitrate;1 kg;A1\n", encoding="utf-8")
    code, out, err = _run(where, capsys, "bring", str(where / "one.csv"))
    assert code == 0, out + err
    code, _, _ = _run(where, capsys, "list", "lots", "--csv", str(where / "out.csv"))
    assert code == 0
    assert (where / "out.csv").read_text("utf-8-sig").startswith("substance,amount,lot_number\n")
    code, _, err = _run(where, capsys, "list", "readings")
    assert (code, "--csv" in err) == (2, True)
