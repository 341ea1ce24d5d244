"""The batch sheet on paper: what it says, how it is set, and that nothing typed becomes markup."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pypdf
import pytest
from report_samples import DAY, batch_sheet, mix_sheet

from patina.errors import Refused, StudioTrouble
from patina.reports.batch_sheet import write_batch_sheet
from patina.sheets import MixSheet

NAMESPACE = {"pdfaid": "http://www.aiim.org/pdfa/ns/id/"}


def text_of(path: Path) -> str:
    """All text of a PDF; runs of white space, thin spaces too, as one space."""
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


@pytest.fixture(scope="module")
def pdf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheet") / "batch.pdf"
    assert write_batch_sheet(mix_sheet(), path, batch=batch_sheet(), made_on=DAY, zone=UTC) == (path,)
    return path


def test_it_says_what_to_weigh_and_what_it_came_from(pdf: Path) -> None:
    """Amount, substance, CAS, strength, lot, volume, area and use-within stand on the sheet."""
    text = text_of(pdf)
    for expected in (
        "Green over brown",
        "2.30 m²",
        "1768 mL",
        "8.8 g",
        "liver of sulphur",
        "CAS 39365-88-3",
        "5 g/L asked",
        "lot L3",
        "95 g",
        "950 mL",
        "Use until 2026-03-14 20:15 UTC",
        "Use within 30 days of mixing",
        "Stir the liver of sulphur in.",
        "B7",
    ):
        assert expected in text, expected


def test_it_says_what_to_fear(pdf: Path) -> None:
    """Signal word, statements, dangers, gases, equipment, waste, the open question and the caution."""
    text = text_of(pdf)
    for expected in (
        "DANGER",
        "H318",
        "Causes serious eye damage.",
        "EUH031",
        "CRITICAL",
        "Rinse to no smell.",
        "SERIOUS",
        "NIOSH REL C 10 ppm",
        "Smell is no alarm.",
        "Splash goggles",
        "Fire watch for an hour",
        "If it goes wrong P310: Call.",
        "its own drum",
        "Not decided",
        "measure it",
        "safety data sheet",
        "not the same as harmless",
    ):
        assert expected in text, expected


def test_critical_dangers_come_before_the_first_thing_to_weigh(pdf: Path) -> None:
    """Who reads only the top of the first page has read what can kill."""
    first = pypdf.PdfReader(pdf).pages[0].extract_text()
    assert first.index("CRITICAL") < first.index(
        "liver of sulphur\n" if "liver of sulphur\n" in first else "39365-88-3"
    )


def test_the_amounts_are_the_largest_words_on_the_sheet(pdf: Path) -> None:
    """What is weighed is set in more than 30 points (10 mm), to be read at arm's length."""
    sizes: dict[str, float] = {}

    def note(text: str, cm: list[float], tm: list[float], font: object, size: float) -> None:
        if text.strip():
            sizes[text.strip()] = max(sizes.get(text.strip(), 0.0), abs(size * tm[3] * cm[3]))

    for page in pypdf.PdfReader(pdf).pages:
        page.extract_text(visitor_text=note)
    amount = next(size for text, size in sizes.items() if text.startswith("8.8"))
    assert amount > 30.0
    assert amount == max(sizes.values())
    assert min(sizes.values()) >= 9.0, "nothing in small print"


def test_it_is_marked_as_pdf_a_2b_with_all_fonts_inside(pdf: Path) -> None:
    """ISO 19005-2 asks for the mark in the XMP packet, an output intent with a profile, embedded fonts and
    a file identifier, and forbids encryption and scripts; checked with pypdf, clauses from memory."""
    reader = pypdf.PdfReader(pdf)
    catalog = reader.trailer["/Root"]
    xmp = catalog["/Metadata"].get_object().get_data().decode("utf-8")
    assert "<pdfaid:part>2</pdfaid:part>" in xmp and "<pdfaid:conformance>B</pdfaid:conformance>" in xmp
    intent = catalog["/OutputIntents"][0].get_object()
    assert intent["/S"] == "/GTS_PDFA1" and intent["/DestOutputProfile"].get_object().get_data()[36:40] == b"acsp"
    assert not reader.is_encrypted and "/ID" in reader.trailer
    assert "/Names" not in catalog or "/JavaScript" not in catalog["/Names"]
    fonts = [f.get_object() for page in reader.pages for f in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
        assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def test_only_black_white_and_the_red_of_the_pictograms(pdf: Path) -> None:
    """Nothing in grey on grey: every colour set on a page is black, white or the frames' red."""
    found: set[tuple[float, ...]] = set()
    reader = pypdf.PdfReader(pdf)
    streams = [(page.get_contents(), page["/Resources"]) for page in reader.pages]
    while streams:
        content, resources = streams.pop()
        for operands, operator in pypdf.generic.ContentStream(content, reader).operations:
            if operator in (b"g", b"G", b"rg", b"RG", b"sc", b"SC", b"scn", b"SCN"):
                found.add(tuple(round(float(v), 2) for v in operands if isinstance(v, int | float)))
        for form in (resources.get("/XObject") or {}).values():
            stream = form.get_object()
            if stream.get("/Subtype") == "/Form":
                streams.append((stream, stream.get("/Resources", {})))
    assert found, "no colour operator was read"
    greys = {c for c in found if len(set(c)) == 1 and c[0] not in (0.0, 1.0)}
    assert not greys
    assert {c for c in found if len(set(c)) > 1} <= {(0.85, 0.08, 0.11)}


def test_text_of_a_person_is_never_markup(tmp_path: Path) -> None:
    """A recipe called like a program of the typesetter is printed letter by letter."""
    name = '#panic("gone") $x^2$ *no* _no_ @ref <here> [x] \\ = // `a`'
    path = tmp_path / "odd.pdf"
    write_batch_sheet(mix_sheet(name), path, made_on=DAY)
    assert "".join(name.split()) in "".join(text_of(path).split())


@pytest.mark.parametrize("name", ["Grün-braun № 5, ½ ΔE", "棕色", "brown \U0001f642", "bell \x07 and half \ud800 pair"])
def test_any_name_can_be_printed(name: str, tmp_path: Path) -> None:
    """A character without a drawing becomes one of the machine's, or a box; the sheet is printed all the same."""
    path = tmp_path / "name.pdf"
    write_batch_sheet(mix_sheet(name), path, made_on=DAY)
    assert "8.8 g" in text_of(path)


def test_same_sheet_same_bytes(tmp_path: Path) -> None:
    """The date given is the only date in the file: printing again gives the same bytes."""
    one, two, later = (tmp_path / n for n in ("one.pdf", "two.pdf", "later.pdf"))
    write_batch_sheet(mix_sheet(), one, made_on=DAY)
    write_batch_sheet(mix_sheet(), two, made_on=DAY)
    write_batch_sheet(mix_sheet(), later, made_on=DAY.replace(day=15))
    assert one.read_bytes() == two.read_bytes()
    assert later.read_bytes() != one.read_bytes()


def test_pictures_are_one_per_page(tmp_path: Path) -> None:
    """SVG and PNG give one file per page, the second with -2 in its name."""
    from PIL import Image

    drawn = write_batch_sheet(mix_sheet(), tmp_path / "sheet.svg", made_on=DAY)
    assert [p.name for p in drawn] == ["sheet.svg", "sheet-2.svg"]
    assert drawn[0].read_text("utf-8").startswith("<svg")
    dots = write_batch_sheet(mix_sheet(), tmp_path / "sheet.png", made_on=DAY)
    with Image.open(dots[0]) as picture:
        assert picture.size == (1240, 1754), "A4, 210 × 297 mm, at 150 dots per inch"


def test_the_code_is_read_back_by_another_reader(tmp_path: Path) -> None:
    """OpenCV's QR reader finds batch, recipe, revision and solution in the printed code."""
    import cv2

    path = tmp_path / "sheet.png"
    write_batch_sheet(mix_sheet(), path, batch=batch_sheet(), made_on=DAY, zone=UTC)
    text, *_ = cv2.QRCodeDetector().detectAndDecode(cv2.imread(str(path)))
    assert text.split("\n")[:4] == ["!batch B7", "Green over brown", "revision 3", "sulphide wash"]


def test_a_sheet_without_area_or_solutions(tmp_path: Path) -> None:
    """A mix by volume says so; a recipe with nothing to mix still prints its safety."""
    sheet: MixSheet = replace(mix_sheet(), area_m2=None, solutions=(), recipe_id=None, revision=0)
    path = tmp_path / "by-volume.pdf"
    write_batch_sheet(sheet, path, made_on=DAY)
    text = text_of(path)
    assert "by volume" in text and "recipe file" in text and "H318" in text


def test_other_endings_and_places_are_refused_in_words(tmp_path: Path) -> None:
    """An ending that names no format, and a folder that cannot be, are told; nothing is left behind."""
    with pytest.raises(Refused, match=r"\.pdf"):
        write_batch_sheet(mix_sheet(), tmp_path / "sheet.docx", made_on=DAY)
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(StudioTrouble, match="cannot be written"):
        write_batch_sheet(mix_sheet(), tmp_path / "file" / "sheet.pdf", made_on=DAY)
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_a_long_mix_runs_over_pages_with_numbers(tmp_path: Path) -> None:
    """Twelve pots print on as many pages as they need, each page numbered."""
    sheet = mix_sheet()
    many = tuple(replace(sheet.solutions[0], name=f"pot {n}") for n in range(12))
    path = tmp_path / "long.pdf"
    write_batch_sheet(replace(sheet, solutions=many), path, made_on=DAY)
    reader = pypdf.PdfReader(io.BytesIO(path.read_bytes()))
    assert len(reader.pages) >= 4
    assert f"page 1 of {len(reader.pages)}" in reader.pages[0].extract_text()
