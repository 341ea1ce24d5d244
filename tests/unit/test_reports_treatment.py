"""The treatment report: all that was written down, on paper and as a page, from a record made by the deeds."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pypdf
import pytest
from chromium_page import needs_chromium, printed
from report_treatment import FIGURES, treated

from patina.bench.paper.print_reports import salt_chart_of, treatment_report
from patina.bench.studio import Studio, open_studio
from patina.bench.treating.treat import correct_part, treatment_sheet, withdraw_part
from patina.errors import NotFound

# In the order they are read: what was seen stands apart from and before what is concluded from it.
PARTS = (
    "The object",
    "People",
    "Authority and consent",
    "Examination: what was seen",
    "Interpretation: what is concluded from it",
    "Condition",
    "Proposal",
    "Test patches",
    "Log of the treatment",
    "Materials added",
    "Materials removed",
    "Samples taken",
    "Salts drawn out",
    "Protection",
    "Images",
    "State after treatment",
    "Result against the aim",
    "Known limits and retreatability",
    "Recommendations",
    "Care schedule",
    "Copies of this record",
    "What the record lacks, and who asks for it",
    "Signatures",
)


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Studio, str]]:
    with open_studio(tmp_path_factory.mktemp("treatment") / "studio") as studio:
        studio.set_setting("studio_name", "Quay Studio (invented)")
        yield studio, treated(studio)


@pytest.fixture(scope="module")
def files(job: tuple[Studio, str], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, list[str]]:
    """The report on paper, as a page, and what was told on the way."""
    folder, told = tmp_path_factory.mktemp("printed"), []
    studio, id = job
    treatment_report(studio, id, folder / "report.pdf", lambda _done, _of, words: told.append(words))
    treatment_report(studio, id, folder / "report.html")
    return folder / "report.pdf", folder / "report.html", told


def text_of(path: Path) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


def page_words(path: Path) -> str:
    """Text of a page without tags and styles."""
    html = re.sub(r"<style>.*?</style>", " ", path.read_text("utf-8"), flags=re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", " ", html).replace("\u202f", " ").split())


def test_every_part_of_the_record_is_there_in_order(files: tuple[Path, Path, list[str]]) -> None:
    """Headings as they follow each other in the work, on paper and on the page."""
    for words in (text_of(files[0]), page_words(files[1])):
        places = [words.index(part) for part in PARTS]
        assert places == sorted(places)


@pytest.mark.parametrize("which", [0, 1], ids=["paper", "page"])
def test_what_was_written_is_said(files: tuple[Path, Path, list[str]], which: int) -> None:
    """Object, authority, examination, zones, proposal with alternatives, patches, log with names, materials with CAS
    and lot, protection, state after, care."""
    words = text_of(files[0]) if which == 0 else page_words(files[1])
    for expected in (
        "EX 1974.12",
        "Petra Ostling (invented)",
        "C83600",
        "H 1840, W 620, D 540 mm",
        "letter",
        "Pale green powder in folds, 2 to 4 mm spots.",
        "Active chloride corrosion under the old lacquer.",
        "bronze disease",
        "3 of 4",
        "strip to metal: patina is original",
        "24 h to 36 h, 3 visits",
        "Version 1 signed by",
        "50 % v/v",
        "chosen",
        "ΔE00",
        "lacquer taken off",
        "B. Invented",
        "toned wax instead of clear",
        "new consent: not needed",
        "CAS 95-14-7",
        "B-2291",
        "jar EX-7",
        "EX-S1",
        "polyethylene wax 15 %",
        "15.7 g/m² in all",
        "above the dew point",
        "before: front",
        "during: front",
        "after: front",
        "Even dark green; wax closed",
        "2027-03-20",
        "Not to be compared without this:",
        "100 mm",
    ):
        assert expected in words, expected


def test_what_is_missing_names_who_asks_for_it(files: tuple[Path, Path, list[str]]) -> None:
    """By purpose, with the code that asks; and no standard is claimed for what it does not cover. The clauses are
    those of the record's own table (AIC commentaries, ECCO guidelines)."""
    lacks = text_of(files[0]).partition("What the record lacks")[2]
    assert "As a report" in lacks and "Nobody signed the report, and the record is not signed off." in lacks
    assert "AIC commentary 28" in lacks and "ECCO II article 10" in lacks
    assert "1 of two copies are on record." in lacks
    assert "EN 15886 is for porous inorganic material" in text_of(files[0])
    assert text_of(files[0]).index("Not complete.") < text_of(files[0]).index("The object")


def test_photographs_and_drawings_are_in_it(files: tuple[Path, Path, list[str]]) -> None:
    """Two maps beside their photographs and three images; on the page two overlays name their zones: by the numbers
    and letters that the map on the screen and its overlay picture have, too."""
    images = [i for page in pypdf.PdfReader(files[0]).pages for i in page.images]
    # the same photograph stands in the file once however often it is shown on a page
    assert len(images) >= 3
    html = files[1].read_text("utf-8")
    assert html.count('src="data:image/jpeg') == 2 * 2 + 3
    overlays = re.findall(r'class="over" alt="([^"]*)" src="data:image/svg\+xml;base64,([^"]*)"', html)
    assert len(overlays) == 2
    assert overlays[0][0].endswith("zones 1, 2, a")
    drawn = base64.b64decode(overlays[0][1]).decode("utf-8")
    # the outline, two zones and a patch, each on a white line of its own; the active zone's line is whole
    assert drawn.count("<polygon") == 2 * 4
    assert ">1</text>" in drawn and ">2</text>" in drawn and ">a</text>" in drawn
    assert "a on CM1" in page_words(files[1])
    active = next(line for line in drawn.splitlines() if "#d55e00" in line and "<polygon" in line)
    assert "stroke-dasharray" not in active


def test_the_curve_ends_where_the_record_says(job: tuple[Studio, str]) -> None:
    """The chart's plateau is the fit's own, its interval holds it, and the points are mg drawn out: a bath of 2 L that
    reads 51.9 mg/L, 0.4 of them its own, holds 103 mg (worked by hand)."""
    sheet = treatment_sheet(job[0], job[1])
    extraction = sheet.extractions[0]
    chart = salt_chart_of(sheet, extraction)
    assert chart is not None and len(extraction.points) == len(FIGURES)
    told = re.search(r"Plateau ([\d.]+), ([\d.]+) to ([\d.]+) \(95 %\)", chart.alt)
    assert told is not None
    plateau, low, high = (float(w) for w in told.groups())
    assert low <= plateau <= high
    assert plateau == pytest.approx(extraction.all_out, abs=0.06)
    assert f"{(51.9 - 0.4) * 2:.0f}" in chart.alt
    assert extraction.verdict in chart.caption


def test_progress_counts_photographs_then_the_pages(files: tuple[Path, Path, list[str]]) -> None:
    """Each photograph of the report once, then the setting."""
    assert files[2][:3] == [f"photograph {n} of 3" for n in (1, 2, 3)]
    assert files[2][-2:] == ["setting treatment report", "Treatment report written"]


def test_what_was_corrected_is_told(tmp_path: Path) -> None:
    """A corrected part stands as corrected, and what it was and why is told; one that was taken back is not shown."""
    with open_studio(tmp_path / "studio") as studio:
        id = treated(studio)
        sheet = treatment_sheet(studio, id)
        action, sample = sheet.record.actions[0].id, sheet.record.samples[0].id
        correct_part(studio, action, {"hours": "8"}, "two hours were forgotten", by="A. Invented")
        withdraw_part(studio, sample, "the jar was lost", by="A. Invented")
        treatment_report(studio, id, tmp_path / "report.pdf")
    words = text_of(tmp_path / "report.pdf")
    assert "Corrected or taken back" in words and "two hours were forgotten" in words
    assert "time: 8 h" in words and "time: 6 h" not in words
    assert "EX-S1" not in words


def test_a_photograph_that_is_gone_is_said(tmp_path: Path) -> None:
    """Where the file of a photograph is gone, the report is printed all the same and says which image is missing."""
    with open_studio(tmp_path / "studio") as studio:
        id = treated(studio)
        sha256 = treatment_sheet(studio, id).record.maps[0].value.photograph
        for path in (tmp_path / "studio").rglob(f"*{sha256[8:]}*"):
            path.chmod(0o644)
            path.unlink()
        treatment_report(studio, id, tmp_path / "report.html")
    words = page_words(tmp_path / "report.html")
    assert "is not in the store" in words and "Not in the store of photographs" in words


def test_another_treatment_is_refused(job: tuple[Studio, str], tmp_path: Path) -> None:
    """An id that is none is told; nothing is written."""
    with pytest.raises(NotFound):
        treatment_report(job[0], "CT99", tmp_path / "x.pdf")
    assert not list(tmp_path.iterdir())


def test_it_is_for_the_archive(files: tuple[Path, Path, list[str]]) -> None:
    """The mark of ISO 19005-2, an output intent with a profile, every font inside, no transparency group that a
    viewer may show in another way; checked with pypdf, clauses from memory. It is tagged, so a voice can read it."""
    reader = pypdf.PdfReader(files[0])
    catalog = reader.trailer["/Root"]
    assert isinstance(catalog, pypdf.generic.DictionaryObject)
    xmp = catalog["/Metadata"].get_object().get_data().decode("utf-8")  # type: ignore[union-attr,attr-defined]
    assert "<pdfaid:part>2</pdfaid:part>" in xmp and "<pdfaid:conformance>B</pdfaid:conformance>" in xmp
    assert "/OutputIntents" in catalog and not reader.is_encrypted and "/ID" in reader.trailer
    assert "/StructTreeRoot" in catalog and str(catalog["/Lang"]).startswith("en")
    assert [str(item["/Title"]) for item in reader.outline if not isinstance(item, list)] == ["Tide Walker"]
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():  # type: ignore[union-attr,attr-defined]
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def test_it_carries_the_day_it_was_made(files: tuple[Path, Path, list[str]]) -> None:
    """The day of printing stands in the head, as in every foot."""
    assert date.today().isoformat() in text_of(files[0])


@needs_chromium
def test_a_browser_prints_it(files: tuple[Path, Path, list[str]], tmp_path: Path) -> None:
    """Maps, curve and images come out of a browser on numbered pages, with nothing asked of the network."""
    found = printed(files[1], tmp_path)
    assert found.asked == () and 5 <= len(found.pages) <= 12
    words = found.words.replace("\u202f", " ")
    for expected in ("Tide Walker", "bronze disease", "AIC commentary 28", "Care schedule"):
        assert expected in words, expected
    assert f"page 2 of {len(found.pages)}" in " ".join(found.pages[1].split())
