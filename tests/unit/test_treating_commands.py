"""`patina treatment` and `patina care`: what they print, as words and as JSON, and what they refuse."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

import swatches
from patina.bench.pieces.casts import cast_sheet
from patina.bench.studio import open_studio
from patina.cli import patina
from patina.demo.treatment import add_treatment_record
from patina.errors import PatinaError


@pytest.fixture(scope="module")
def treated_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed studio with the invented treatment; to be copied."""
    folder = tmp_path_factory.mktemp("commands") / "studio"
    with open_studio(folder) as studio:
        add_treatment_record(studio, date(2026, 11, 25))
    return folder


@pytest.fixture
def where(treated_folder: Path, tmp_path: Path) -> Path:
    """A studio of its own with the invented treatment."""
    return Path(shutil.copytree(treated_folder, tmp_path / "studio"))


def run(where: Path, *words: str) -> Result:
    """A command on the studio; what it raises is raised."""
    return CliRunner().invoke(patina, ["--studio", str(where), *words], catch_exceptions=False)


def document(where: Path, *words: str) -> dict:
    """The JSON document of a command."""
    found: dict = json.loads(run(where, *words, "--json").output)
    return found


def test_a_treatment_is_written_from_the_command_line(where: Path) -> None:
    """Begun, written, corrected, taken back and shown; every id that is printed can be used."""
    begun = document(where, "treatment", "begin", "C1", "inspection", "purpose=look at it")
    id = begun["id"]
    part = document(where, "treatment", "write", id, "statement", "sort=observation", "topic=surface", "text=dull")[
        "id"
    ]
    new = document(where, "treatment", "correct", part, "text=dull, dusty", "--reason", "more was seen")["id"]
    assert "dull, dusty" in run(where, "treatment", "show", id).output
    assert "taken back" in run(where, "treatment", "take-back", new, "--reason", "other object").output
    shown = document(where, "treatment", "show", id)
    assert (shown["statements"], len(shown["earlier"])) == ([], 2)
    assert [r["id"] for r in document(where, "treatment", "list")["items"]] == ["CT2", "CT1"]
    assert document(where, "treatment", "set", id, "marks=none")["head"]["marks"] == "none"


def test_zones_are_typed_as_points_and_measured(where: Path) -> None:
    """A zone typed by its corners has its share of the object at once, and stands in the map's change."""
    points = "polygons=0.2,0.6 0.3,0.6 0.3,0.7 0.2,0.7"
    part = document(where, "treatment", "write", "CT1", "zone", "map=CM2", "name=left foot", "term=bloom", points)["id"]
    areas = document(where, "treatment", "zones", "CM2")["areas"]
    assert areas["zones"][part]["pct"] == pytest.approx(100 * 0.01 / 0.3913, rel=0.02)
    change = document(where, "treatment", "zones", "CM1", "CM2")["change"]
    assert {z["what"]: z["verdict"] for z in change["zones"] if z["term"] == "bloom"} == {"left foot": "first drawn"}
    assert change["registered"] is False
    laid = document(where, "treatment", "zones", "CM1", "CM2", "--lay-over")["change"]
    assert laid["registered"] is True
    assert "lie on each other" in laid["doubt"]


def test_a_photograph_may_be_named_by_its_file(where: Path) -> None:
    """A file is put with the cast, once, and the part names it by its hash."""
    file = str(swatches.photograph("whites.jpg"))
    for view in ("back", "left"):
        words = ("write", "CT1", "image", "role=during", f"view={view}", f"photograph={file}")
        shown = document(where, "treatment", *words)["treatment"]
    hashes = {i["value"]["photograph"] for i in shown["images"] if i["value"]["view"] in ("back", "left")}
    assert len(hashes) == 1
    with open_studio(where) as studio:
        photographs = cast_sheet(studio, "C1").photographs
    assert [p.state for p in photographs if p.sha256 in hashes] == ["during"]
    other = f"photograph={swatches.photograph('placard.jpg')}"
    with pytest.raises(PatinaError):
        run(where, "treatment", "write", "CT1", "image", "role=sideways", "view=x", other)
    with open_studio(where) as studio:
        assert len(cast_sheet(studio, "C1").photographs) == len(photographs), "refused, nothing is stored"


def test_the_overlay_is_a_picture_of_its_own(where: Path, tmp_path: Path) -> None:
    """The SVG is as wide as the photograph, names every zone, and the photograph's bytes stay what they were."""
    before = {p: p.read_bytes() for p in (where / "photographs").rglob("*") if p.is_file()}
    to = tmp_path / "map.svg"
    run(where, "treatment", "zones", "CM1", "--to", str(to))
    root = ElementTree.parse(to).getroot()
    assert root.attrib["viewBox"].split()[2] == "1600"
    words = " ".join(root.itertext())
    assert all(word in words for word in ("middle field", "active", "severity 3", "% of the object", "test patch"))
    assert not [e for e in root.iter() if e.tag.endswith("image")]
    run(where, "treatment", "zones", "CM1", "--to", str(to), "--with-photograph")
    assert "data:image/jpeg;base64," in to.read_text("utf-8")
    assert before == {p: p.read_bytes() for p in (where / "photographs").rglob("*") if p.is_file()}


def test_what_is_missing_names_who_asks_for_it(where: Path) -> None:
    """By purpose, with the code's clause and what to do."""
    (report,) = document(where, "treatment", "complete", "CT1", "--for", "report")["items"]
    assert [m["asked_by"] for m in report["missing"]] == [["EN16095"], ["AIC28", "ECCO2"]]
    assert "As a log: complete" in run(where, "treatment", "complete", "CT1").output


def test_images_before_and_after_are_held_against_each_other(where: Path) -> None:
    """The pair of the invented treatment was rendered alike, and is found to lie on itself."""
    (pair,) = document(where, "treatment", "images", "CT1")["items"]
    assert (pair["view"], pair["before"], pair["after"]) == ("front", "CF1", "CF3")
    assert pair["comparable"] == (not pair["cautions"])
    assert "pixels" in pair["words"]


def test_care_that_is_due_is_listed_by_owner(where: Path) -> None:
    """Counted to a day: what acts, what is overdue; with --all also what is in time."""
    due = document(where, "care", "--on", "2026-11-25")["items"]
    assert [(c["trigger"], c["state"]) for c in due] == [("water_bead", "act"), ("months", "overdue")]
    assert len(document(where, "care", "--on", "2026-11-25", "--all")["items"]) == 4
    assert document(where, "care", "--owner", "nobody")["items"] == []
    assert "Town of Saltgate" in run(where, "care", "--on", "2026-11-25").output


def test_care_of_an_earlier_treatment_is_taken_over_or_ended(where: Path) -> None:
    """A later treatment of the object lists what still reminds; "all" names every point, --why what is written down."""
    id = document(where, "treatment", "begin", "C1", "second look", "started_on=2026-11-20")["id"]
    rows = document(where, "treatment", "earlier-care", id)["earlier_care"]
    assert {row["treatment"] for row in rows} == {"CT1"} and len(rows) == 4
    assert "second look came later" in run(where, "care", "--on", "2026-11-25").output
    said = run(where, "treatment", "set", id, "finished_on=2026-11-21").output
    assert "still reminds" in said and f"earlier-care {id}" in said
    with pytest.raises(PatinaError, match="CI99"):
        run(where, "treatment", "earlier-care", id, "--end", "CI99")
    first, *_ = (row["item"] for row in rows)
    after = document(where, "treatment", "earlier-care", id, "--end", first, "--why", "it is off", "--by", "Ida")
    assert [row["item"] for row in after["earlier_care"]] == [row["item"] for row in rows[1:]]
    done = document(where, "treatment", "earlier-care", id, "--take-over", "all", "--by", "Ida")
    assert done["earlier_care"] == [] and len(done["care"]) == 3
    assert {item["reason"] for item in done["care"]} == {
        f"taken over from CT1 {rows[0]['treatment_name']} by {id} second look"
    }
    assert "No care of an earlier" in run(where, "treatment", "earlier-care", id).output


def test_terms_and_fields_can_be_looked_up(where: Path) -> None:
    """The list of terms with its sources, the kinds of part and their fields."""
    assert [t["key"] for t in document(where, "treatment", "terms", "waxy")["items"]] == ["nantokite"]
    assert len(document(where, "treatment", "terms")["scales"]) > 15
    assert {k["kind"] for k in document(where, "treatment", "fields")["items"]} >= {"zone", "patch", "bath-reading"}
    needed = [f["field"] for f in document(where, "treatment", "fields", "action")["items"] if f["needed"]]
    assert needed == ["on", "by", "did"]
    assert document(where, "treatment", "fields", "head")["items"][0]["field"] == "cast"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("show", "CT9"), "no treatment 'CT9'"),
        (("write", "CT1", "sonnet", "a=b"), "no part 'sonnet'"),
        (("write", "CT1", "action", "did"), "no FIELD=VALUE"),
        (("write", "CT1", "action", "on=today", "on=today"), "given twice"),
        (("correct", "CV1", "aim=x", "--reason", "y"), "never corrected"),
        (("correct", "CO1", "text=x", "--reason", " "), "reason is missing"),
        (("take-back", "CM1", "--reason", "x"), "referred to"),
        (("zones", "CM1", "CM1"), "not compared with itself"),
        (("zones", "CM1", "--to", "map.png"), "does not end in .svg"),
        (("zones", "CP1"), "condition map"),
        (("begin", "C9", "x"), "no cast 'C9'"),
    ],
)
def test_bad_words_end_in_a_sentence(where: Path, words: tuple[str, ...], said: str) -> None:
    """What happened and what to do; never a traceback, and the treatment stays what it was."""
    before = document(where, "treatment", "show", "CT1")
    with pytest.raises(PatinaError) as found:
        run(where, "treatment", *words)
    assert said in str(found.value)
    assert found.value.remedy
    assert document(where, "treatment", "show", "CT1") == before
