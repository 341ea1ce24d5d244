"""`patina print` and the deeds behind it: every report from the demo as PDF and page, photographs at print size."""

from __future__ import annotations

import io
import json
import math
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdf
import pytest
from chromium_page import needs_chromium, printed
from photographs_profile import display_p3
from PIL import Image

from patina.bench.paper.print_pictures import DOTS_PER_INCH, ToPrint, pictures
from patina.bench.readings.tiles import add_photograph, tile_sheet
from patina.bench.studio import open_studio
from patina.cli import main
from patina.colour.print_copy import print_copy
from patina.errors import BadPhotograph
from swatches.scene import Chart

SWATCHES = Path(__file__).parents[2] / "swatches"
# kind, id in the demo, words that stand in its report
REPORTS = {
    "cast": ("C1", ("Finish record", "Heron, turning", "agreed", "Readings")),
    "owner": ("C1", ("Owner's sheet", "Care", "next check", "received by the owner")),
    "tile": ("T1", ("Test tile", "How it was really done", "chart in the picture")),
    "master": ("M1", ("Agreed finish", "Heron, turning", "Who holds which tile", "limit of tones", "Zone: whole")),
    "series": ("Heron, turning", ("Series report", "Charts by cast order", "moving range", "Ageing")),
    "safety": ("R5", ("Safety sheet", "because", "In the air", "Release")),
    "batch": ("B1", ("Batch sheet", "really weighed", "Before you open anything")),
    "treatment": ("CT1", ("Treatment report", "Condition", "Log of the treatment", "who asks for it")),
}


@pytest.fixture(scope="module")
def demo(demo_made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(demo_made, tmp_path_factory.mktemp("prints") / "studio"))


Ran = tuple[int, str, str]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], demo: Path) -> Callable[..., Ran]:
    def _run(*words: str | Path) -> Ran:
        with pytest.raises(SystemExit) as leaving:
            main(["--studio", str(demo), "print", *(str(w) for w in words)])
        out, err = capsys.readouterr()
        return int(leaving.value.code or 0), out, err

    return _run


def words_of(path: Path) -> str:
    """Text of a PDF or of a page."""
    if path.suffix == ".pdf":
        text = " ".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    else:
        text = re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", " ", path.read_text("utf-8"), flags=re.DOTALL))
        text = text.replace("&#x27;", "'")
    return " ".join(text.replace("\u202f", " ").split())


@pytest.mark.parametrize("kind", REPORTS)
def test_every_report_on_paper_and_as_a_page(kind: str, run: Callable[..., Ran], tmp_path: Path) -> None:
    """--pdf and --html write both at once; what is in one is in the other; the PDF says it is PDF/A-2b and has every
    font inside (ISO 19005-2, checked with pypdf); the page names nothing outside itself."""
    id, expected = REPORTS[kind]
    pdf, html = tmp_path / "a.pdf", tmp_path / "a.html"
    code, out, _ = run(kind, id, "--pdf", pdf, "--html", html, "--json")
    assert code == 0 and json.loads(out) == {"files": [str(pdf), str(html)]}
    for path in (pdf, html):
        words = words_of(path).casefold()
        for wanted in expected:
            assert wanted.casefold() in words, (path.suffix, wanted)
    reader = pypdf.PdfReader(pdf)
    catalog = reader.trailer["/Root"]
    xmp = catalog["/Metadata"].get_object().get_data().decode("utf-8")  # type: ignore[index]
    assert "<pdfaid:part>2</pdfaid:part>" in xmp and "<pdfaid:conformance>B</pdfaid:conformance>" in xmp
    assert "/OutputIntents" in catalog  # type: ignore[operator]
    for page in reader.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            descriptor = font.get_object()["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    text = html.read_text("utf-8")
    assert not re.findall(r"(?:src|href)=[\"'](?!data:)", text)
    assert "default-src 'none'" in text and '<html lang="en">' in text


def test_the_old_way_of_naming_a_file_still_works(run: Callable[..., Ran], tmp_path: Path) -> None:
    """FILE alone, and both options of a cast, as scripts have them."""
    file = tmp_path / "cast.pdf"
    code, out, _ = run("cast", "C1", file, "--care", "Wash yearly.", "--seal-recipes")
    assert code == 0 and f"Written to {file}." in out
    words = words_of(file)
    assert "Care: Wash yearly." in words and "held by the studio" in words and "Torch sulphide brown" not in words


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("cast", "C1"), "where to print to"),
        (("cast", "C1", "--pdf", "x.html"), "does not end in .pdf"),
        (("tile", "T1", "--html", "x.pdf"), "does not end in .html"),
        (("series", "W1", "x.doc"), "does not say how"),
        (("master", "M99", "--pdf", "x.pdf"), "M99"),
        (("treatment", "CT99", "--pdf", "x.pdf"), "CT99"),
        (("safety", "no such recipe", "--pdf", "x.pdf"), "no such recipe"),
        (("batch", "B999", "--pdf", "x.pdf"), "B999"),
    ],
)
def test_what_cannot_be_printed_is_told(
    words: tuple[str, ...], said: str, run: Callable[..., Ran], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trouble ends with 2 and a sentence; nothing is written."""
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words, "--json")
    assert code == 2 and out == ""
    assert said in json.loads(err)["what"]
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("show", ["quantities", "steps", "nothing"])
def test_the_owner_sees_as_much_as_was_said(show: str, run: Callable[..., Ran], tmp_path: Path) -> None:
    """Grams per litre only with quantities; the recipe's name not with nothing; safety in any case."""
    file = tmp_path / "owner.html"
    assert run("owner", "C1", "--html", file, "--show", show)[0] == 0
    words = words_of(file)
    assert ("5 g/L" in words) == (show == "quantities")
    assert ("Torch sulphide brown" in words) == (show != "nothing")
    assert "EUH031" in words


def test_a_copy_is_as_large_as_its_place_on_paper(tmp_path: Path) -> None:
    """88 mm at 225 dots per inch are 780 pixels; a smaller photograph is not made larger; 200 to 250 per inch is what
    halftone printing can use (common practice, no source)."""
    assert 200 <= DOTS_PER_INCH <= 250
    wide = round(88 / 25.4 * DOTS_PER_INCH)
    Image.new("RGB", (3000, 2000), (90, 60, 40)).save(tmp_path / "large.jpg")
    Image.new("RGB", (300, 200), (90, 60, 40)).save(tmp_path / "small.png")
    large, small = print_copy(tmp_path / "large.jpg", wide), print_copy(tmp_path / "small.png", wide)
    assert (large.width_px, large.height_px) == (780, 520)
    assert (small.width_px, small.height_px) == (300, 200)
    assert large.original_px == (3000, 2000) and large.px_per_mm is None
    with Image.open(io.BytesIO(large.content)) as copy:
        assert copy.format == "JPEG" and copy.size == (780, 520)


def test_a_copy_is_upright(tmp_path: Path) -> None:
    """EXIF orientation 6, the camera turned by a quarter: what was left below is left above. Source: EXIF 2.32."""
    picture = Image.new("RGB", (1200, 800), (200, 200, 200))
    picture.paste((200, 30, 30), (0, 400, 600, 800))
    exif = Image.Exif()
    exif[0x0112] = 6
    picture.save(tmp_path / "turned.jpg", exif=exif, quality=95)
    copy = print_copy(tmp_path / "turned.jpg", 400)
    assert (copy.width_px, copy.height_px) == (400, 600)
    with Image.open(io.BytesIO(copy.content)) as upright:
        red, _, blue = upright.convert("RGB").getpixel((100, 150))  # type: ignore[misc]
    assert red > 150 and blue < 80


def test_a_copy_is_in_the_colours_of_the_screen(tmp_path: Path) -> None:
    """A photograph in Display P3 is turned into sRGB: P3 (120, 90, 60) is sRGB (126, 88, 55), worked from the
    primaries of SMPTE EG 432-1 and IEC 61966-2-1, which have one curve and one white."""
    Image.new("RGB", (400, 300), (120, 90, 60)).save(tmp_path / "p3.jpg", icc_profile=display_p3(), quality=100)
    with Image.open(io.BytesIO(print_copy(tmp_path / "p3.jpg", 400).content)) as copy:
        seen = copy.convert("RGB").getpixel((200, 150))
    assert isinstance(seen, tuple)
    # two roundings to eight bits and two JPEGs lie between; untouched, red would be 5.6 and blue 5.2 off
    assert all(abs(a - b) <= 3 for a, b in zip(seen, in_srgb((120, 90, 60)), strict=True))
    assert seen[0] >= 123 and seen[2] <= 58


def in_srgb(p3: tuple[int, int, int]) -> tuple[float, ...]:
    """Display P3 codes as sRGB codes; both share white and curve, so one matrix of linear light does it."""
    to_srgb = np.array([[1.2249, -0.2247, 0.0], [-0.0420, 1.0419, 0.0], [-0.0197, -0.0786, 1.0979]])
    code = np.array(p3) / 255
    light = np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)
    out = to_srgb @ light
    return tuple(255 * np.where(out <= 0.0031308, 12.92 * out, 1.055 * out ** (1 / 2.4) - 0.055))


def test_the_scale_comes_from_the_placard() -> None:
    """The demonstration photograph of a placard: by the renderer's own truth, the pocket chart's first and sixth patch
    lie five pitches apart, which says how many pixels a millimetre is there. Perspective within the sheet: 4 %."""
    truth = json.loads((SWATCHES / "truth.json").read_text("utf-8"))["placard.jpg"]["chart"]["corners"]
    first, sixth = truth[0], truth[1]
    pitch_mm = Chart(0.0, 0.0, "pocket").pitch_mm
    per_mm = math.dist(first, sixth) / (5 * pitch_mm) * 780 / 1600
    copy = print_copy(SWATCHES / "placard.jpg", 780)
    assert copy.px_per_mm == pytest.approx(per_mm, rel=0.04)
    again = print_copy(SWATCHES / "placard.jpg", 390)
    assert copy.px_per_mm is not None and again.px_per_mm == pytest.approx(copy.px_per_mm / 2, rel=0.01)
    assert print_copy(SWATCHES / "whites.jpg", 780).px_per_mm is None
    assert print_copy(SWATCHES / "placard.jpg", 780, scale=False).px_per_mm is None


@pytest.mark.parametrize("content", [b"", b"not a picture", b"\xff\xd8\xff\xe0" + b"\0" * 300])
def test_what_is_no_photograph_is_refused(content: bytes, tmp_path: Path) -> None:
    """Broken files are told, and so is one that is cut short."""
    (tmp_path / "broken.jpg").write_bytes(content)
    with pytest.raises(BadPhotograph):
        print_copy(tmp_path / "broken.jpg", 400)
    whole = (SWATCHES / "whites.jpg").read_bytes()
    (tmp_path / "short.jpg").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(BadPhotograph):
        print_copy(tmp_path / "short.jpg", 400)


def test_photographs_come_in_order_and_are_counted(demo: Path) -> None:
    """Made several at once, they stand in the order asked for; each is told of once."""
    told: list[tuple[int, int, str]] = []
    with open_studio(demo) as studio:
        for n, name in enumerate(("whites.jpg", "placard.jpg", "relief-before.jpg", "relief-after.jpg")):
            add_photograph(studio, "T3", SWATCHES / name, state=str(n))
        rows = tile_sheet(studio, "T3").photographs
        wanted = [ToPrint(row.sha256, row.name) for row in rows]
        made = pictures(studio, [*wanted, *reversed(wanted)], lambda *step: told.append(step))
    assert [p.caption for p in made] == [w.caption for w in (*wanted, *reversed(wanted))]
    assert [p.sha256 for p in made] == [w.sha256 for w in (*wanted, *reversed(wanted))]
    assert [done for done, _, _ in told] == list(range(1, len(made) + 1))
    assert {of for _, of, _ in told} == {len(made)}


@needs_chromium
@pytest.mark.parametrize("kind", ["series", "safety", "batch"])
def test_a_browser_prints_the_page(kind: str, run: Callable[..., Ran], tmp_path: Path) -> None:
    """Each on a few numbered pages, whole, with nothing asked of the network."""
    id, expected = REPORTS[kind]
    assert run(kind, id, "--html", tmp_path / "a.html")[0] == 0
    found = printed(tmp_path / "a.html", tmp_path)
    assert found.asked == () and 2 <= len(found.pages) <= 7
    for wanted in expected:
        assert wanted.casefold() in found.words.casefold(), wanted
    for n, page in enumerate(found.pages, 1):
        assert f"page {n} of {len(found.pages)}" in " ".join(page.split())


def test_a_pot_of_one_substance_takes_two_pages(run: Callable[..., Ran], tmp_path: Path) -> None:
    """What is weighed stands on the first page of the demo's batch, all of what to wear and waste on the second;
    nothing is set smaller than 8 pt."""
    path = tmp_path / "batch.pdf"
    assert run("batch", "B1", "--pdf", path)[0] == 0
    sizes: set[float] = set()

    def note(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            sizes.add(abs(size * tm[3] * cm[3]))

    pages = [page.extract_text(visitor_text=note) for page in pypdf.PdfReader(path).pages]
    assert len(pages) == 2
    assert "really weighed" in pages[0]
    assert "Wear" in pages[1] and "Wax and lacquer rags" in pages[1]
    assert min(sizes) >= 8.0
