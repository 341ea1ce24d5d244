"""The command line: what scripts may rely on."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from patina.cli import main


class Ran(NamedTuple):
    """How a command ended."""

    code: int
    out: str
    err: str

    def json(self) -> Any:
        """The one document on stdout."""
        return json.loads(self.out)

    def trouble(self) -> dict[str, str]:
        """The trouble on stderr, checked for its three texts."""
        said = json.loads(self.err)
        assert set(said) == {"title", "what", "remedy"}
        assert all(said.values())
        return said


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs one command on a studio of its own."""
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "studio"))

    def _run(*words: str | Path) -> Ran:
        with pytest.raises(SystemExit) as leaving:
            main([str(w) for w in words])
        captured = capsys.readouterr()
        return Ran(int(leaving.value.code or 0), captured.out, captured.err)

    return _run


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    """The recipe of the volume check: 40 mL/m2, 6 passes, transfer 50 %, reserve 25 %, 250 mL dead."""
    file = tmp_path / "harbour.toml"
    file.write_text(
        """patina_recipe = 1
name = "Harbour brown"
finish = "even dark brown, satin"
alloys = ["C87300"]
provenance = "own tiles"
texture = 1.1
reserve = "25 %"
dead_volume = "250 mL"
[[solution]]
name = "green wash"
solvent = "distilled water"
volume_is = "made up to"
[[solution.ingredient]]
substance = "cupric nitrate trihydrate"
strength = "100 g/L"
[[step]]
do = "apply"
solution = "green wash"
method = "torch"
tool = "brush"
passes = 6
coverage = "40 mL/m2"
transfer = "50 %"
surface_temperature = ["80 degC", "95 degC"]
""",
        encoding="utf-8",
    )
    return file


def test_compare_two_triples(run: Run) -> None:
    """The first published CIEDE2000 pair gives 2.0425 (Sharma, Wu, Dalal 2005, table 1)."""
    ran = run("compare", "50,2.6772,-79.7751", "50,0,-82.7485", "--json")
    assert ran.code == 0
    assert round(ran.json()["delta_e"], 4) == 2.0425
    assert {"formula", "delta_e", "dL", "da", "db", "dC", "dH", "words"} <= set(ran.json())


def test_compare_a_file_of_pairs(run: Run, tmp_path: Path) -> None:
    """A CSV of pairs gives one difference a row (Sharma, Wu, Dalal 2005, pairs 1 and 2)."""
    file = tmp_path / "pairs.csv"
    file.write_text("L1,a1,b1,L2,a2,b2\n50,2.6772,-79.7751,50,0,-82.7485\n50,3.1571,-77.2803,50,0,-82.7485\n")
    assert [round(d, 4) for d in run("compare", "--pairs", file, "--json").json()["delta_e"]] == [2.0425, 2.8615]


def test_mix_gives_the_volume_and_the_hydrate_on_the_shelf(run: Run, recipe: Path) -> None:
    """2.3 m2 gives 1768 mL; the 2.5-hydrate stands for the trihydrate at 96.27 g/L."""
    have = "cupric nitrate hemipentahydrate"
    ran = run("mix", recipe, "--area", "2.3 m2", "--have", have, "--json")
    assert ran.code == 0, ran.err
    [solution] = ran.json()["solutions"]
    assert round(solution["volume_mL"]) == 1768
    [line] = solution["weigh"]
    assert line["unit"] == "g"
    assert line["amount"] / solution["volume_mL"] * 1000 == pytest.approx(96.27, abs=0.005)
    assert {"recipe", "revision", "area_m2", "solutions", "warnings", "safety"} <= set(ran.json())
    keys = {"substance", "cas", "asked", "asked_g_per_L", "amount", "unit", "rounded", "error_pct", "working"}
    assert keys <= set(line)


def test_mix_honours_assay_passes_texture_and_volume(run: Run, recipe: Path) -> None:
    """Half the assay doubles the mass; a volume asked for is the volume made."""
    half = run("mix", recipe, "--volume", "2 L", "--have", "cupric nitrate trihydrate,assay=50%", "--json").json()
    assert half["solutions"][0]["volume_mL"] == 2000
    assert half["solutions"][0]["weigh"][0]["amount"] == pytest.approx(400.0)
    more = run("mix", recipe, "--area", "2.3 m2", "--passes", "12", "--texture", "1.0", "--json").json()
    assert more["solutions"][0]["volume_mL"] == pytest.approx(2.3 * 40 * 12 / 0.5 * 1.25 + 250)


@pytest.mark.parametrize(
    "words",
    [
        ("--area", "0 m2"),
        ("--area", "-1 m2"),
        ("--area", "2.3"),
        ("--area", "2.3 kg"),
        ("--area", "2 m2 3 ft2"),
        ("--area", "1,234 m2"),
        ("--area", "lots"),
        (),
        ("--volume", "0 L"),
        ("--volume", "red wash=2 L"),
        ("--area", "1 m2", "--texture", "0.2"),
        ("--area", "1 m2", "--passes", "0"),
        ("--area", "1 m2", "--passes", "many"),
        ("--area", "1 m2", "--have", "silver nitrate"),
        ("--area", "1 m2", "--have", "unobtainium"),
        ("--area", "1 m2", "--have", "cupric nitrate trihydrate,assay=0%"),
        ("--area", "1 m2", "--balance", "0 g"),
    ],
)
def test_mix_refuses_what_cannot_be(run: Run, recipe: Path, words: tuple[str, ...]) -> None:
    """Each absurd or ambiguous amount has its sentence, and exit 2."""
    ran = run("mix", recipe, *words, "--json")
    assert ran.code == 2
    assert ran.out == ""
    ran.trouble()


def test_a_decimal_comma_is_taken_where_it_is_plain(run: Run, recipe: Path) -> None:
    """2,3 m² is 2.3 m²."""
    assert run("mix", recipe, "--area", "2,3 m²", "--json").json()["area_m2"] == pytest.approx(2.3)


def test_import_export_list_and_mix_by_name(run: Run, recipe: Path) -> None:
    """A recipe taken in is listed, exported and mixed by its name."""
    assert run("import", recipe, "--json").code == 0
    items = run("list", "recipes", "--json").json()["items"]
    assert [i["name"] for i in items] == ["Harbour brown"]
    assert items[0]["id"]
    assert 'strength = "100 g/L"' in run("export", "recipe", "Harbour brown").out
    mixed = run("mix", "Harbour brown", "--area", "2.3 m2", "--json").json()
    assert mixed["revision"] == 1
    assert round(mixed["solutions"][0]["volume_mL"]) == 1768


def test_a_bad_file_among_good_ones_takes_in_nothing(run: Run, recipe: Path, tmp_path: Path) -> None:
    """Two files, one of them bad: neither is kept."""
    bad = tmp_path / "bad.toml"
    bad.write_text(recipe.read_text(encoding="utf-8").replace('"100 g/L"', '"100 %"'), encoding="utf-8")
    ran = run("import", recipe, bad, "--json")
    assert ran.code == 2
    assert "strength" in ran.trouble()["what"]
    assert run("list", "recipes", "--json").json()["items"] == []


def test_safety_document_has_its_parts(run: Run, recipe: Path) -> None:
    """The safety document holds every part that scripts rely on."""
    safety = run("safety", recipe, "--json").json()
    assert {"solutions", "dangers", "emits", "ppe", "waste", "caution"} <= set(safety)
    assert {"name", "signal_word", "classes", "euh", "pictograms", "undecided"} <= set(safety["solutions"][0])
    assert run("safety", recipe, "--ph", "green wash=1.0", "--json").code == 0
    assert run("safety", recipe, "--ph", "blue wash=1.0", "--json").code == 2
    assert run("safety", recipe, "--ph", "green wash=acid", "--json").code == 2
    assert run("safety", recipe, "--density", "green wash=99", "--json").code == 2


def test_area_three_ways(run: Run) -> None:
    """Weight, enlargement and missing unit of a mesh."""
    weight = run("area", "weight", "--mass", "96 kg", "--wall", "5 mm", "--alloy", "C87300", "--json").json()
    assert weight["area_m2"] == pytest.approx(2.297, abs=0.001)
    larger = run("area", "enlarge", "--area", "0.062 m2", "--from", "450 mm", "--to", "1800 mm", "--json").json()
    assert larger["area_m2"] == pytest.approx(0.992)
    assert {"area_m2", "uncertainty_pct", "method", "working"} <= set(larger)


def test_check_backup_and_restore(run: Run, recipe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A studio is proved sound, written to one file, and put back elsewhere."""
    run("import", recipe)
    sound = run("check", "--json").json()
    assert sound["ok"] is True
    saved = run("backup", tmp_path / "studio.backup", "--json").json()
    assert Path(saved["file"]).is_file()
    assert len(saved["sha256"]) == 64
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "second"))
    restored = run("restore", tmp_path / "studio.backup", "--json").json()
    assert restored["records"] == sound["records"]
    assert [i["name"] for i in run("list", "recipes", "--json").json()["items"]] == ["Harbour brown"]


def test_a_command_not_understood_is_told_like_any_trouble(run: Run) -> None:
    """A slip on the command line gives a sentence, JSON where asked, and exit 2."""
    assert run("polish").code == 2
    assert run("mix").code == 2
    run("compare", "50,1,1", "--json").trouble()
    assert run("compare", "50,1,1", "T99", "--json").code == 2
    run("mix", "no such recipe", "--area", "1 m2", "--json").trouble()
    run("read", "no-such-photo.jpg", "--json").trouble()
    run("match", "soon", "--json").trouble()


def test_names_that_no_file_can_have(run: Run) -> None:
    """A name longer than any file's is a named trouble for every command that takes one."""
    long = "x" * 5000
    for words in (("read", long), ("mix", f"a/{long}"), ("change", long, long), ("import", long), ("restore", long)):
        ran = run(*words, "--json")
        assert ran.code == 2, ran.err
        assert ran.trouble()


def test_an_option_in_place_of_the_studio(run: Run) -> None:
    """--studio with its folder left out does not make a studio of the next option's name."""
    ran = run("--studio", "--json", "list", "recipes")
    assert ran.code == 2
    assert "--json" in ran.trouble()["what"]


def test_the_screens_need_a_terminal(run: Run) -> None:
    """Without a terminal, patina alone says so and ends."""
    ran = run()
    assert ran.code == 2
    assert "terminal" in ran.err


@pytest.fixture
def closed(tmp_path: Path, run: Run) -> Iterator[Path]:
    """A file in a folder that may not be entered; the superuser becomes somebody else meanwhile."""
    folder = tmp_path / "closed"
    folder.mkdir()
    (folder / "file").write_bytes(b"x")
    for words in (("read", folder / "file"), ("area", "mesh", folder / "file")):
        run(*words)  # so that all modules are there before permissions are given up
    folder.chmod(0)
    superuser = os.geteuid() == 0
    if superuser:
        os.seteuid(65534)
    try:
        yield folder / "file"
    finally:
        if superuser:
            os.seteuid(0)
        folder.chmod(0o700)


def test_a_folder_that_may_not_be_entered(run: Run, closed: Path) -> None:
    """A person without permission is told so, for photographs, recipes, tables and meshes."""
    for words in (
        ("read", closed),
        ("mix", f"{closed}.toml", "--area", "1 m2"),
        ("compare", "--pairs", closed),
        ("area", "mesh", closed, "--unit", "mm"),
    ):
        ran = run(*words, "--json")
        assert ran.code == 2, ran.err
        assert ran.trouble()
        assert ran.out == ""


def test_pairs_as_a_spreadsheet_with_decimal_commas_writes_them(run: Run, tmp_path: Path) -> None:
    """Semicolons between cells and decimal commas in them give the same as commas and full stops; columns may
    stand in any order."""
    file = tmp_path / "pairs.csv"
    file.write_bytes("\ufeffa1;L1;b1;L2;a2;b2\r\n2,6772;50;-79,7751;50;0;-82,7485\r\n".encode())
    assert [round(d, 4) for d in run("compare", "--pairs", file, "--json").json()["delta_e"]] == [2.0425]
    file.write_text("L1,a1,b1,L2,a2,b2\n50,2,6772,-79,7751,50,0,-82,7485\n")
    assert "row 2" in run("compare", "--pairs", file, "--json").trouble()["what"]
