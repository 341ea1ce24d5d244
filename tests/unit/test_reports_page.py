"""Reports as a page: one file that asks nothing of the network, prints, and reads well without its styles; the same
document on paper. Nothing typed becomes markup in either."""

from __future__ import annotations

import base64
import io
import itertools
import re
from dataclasses import replace
from datetime import UTC
from html.parser import HTMLParser
from pathlib import Path

import pypdf
import pytest
from chromium_page import needs_chromium, printed, without_styles
from PIL import Image
from report_samples import DAY, batch_sheet, cast_sheet, master_sheet, mix_sheet, safety

from patina.colour.lab import srgb_hex
from patina.errors import Refused
from patina.reports import document as d
from patina.reports.batch_sheet import batch_document
from patina.reports.colour_words import Picture
from patina.reports.finish_record import write_finish_record
from patina.reports.page import POLICY, html_of
from patina.reports.publish import publish
from patina.reports.safety_sheet import safety_document

HOSTILE = '</td><script>alert(1)</script> #panic("x") $x^2$ *b* " onerror="y" \' <img src=x> &amp; \\ `a` @ref'


def jpeg(size: tuple[int, int] = (240, 160), blue: int = 40) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (90, 60, blue)).save(out, "JPEG")
    return out.getvalue()


def photo(words: str = "front") -> d.Photo:
    """A photograph with scale, notes and two zones."""
    zones = (
        d.Outline(((0.1, 0.1), (0.5, 0.1), (0.4, 0.6)), "A", "#d55e00"),
        d.Outline(((0.6, 0.3), (0.9, 0.3), (0.9, 0.8)), "B", "#0072b2", (0.01, 0.01)),
    )
    return d.Photo(jpeg(), ".jpg", words, words, 240, 160, 180.0, ("chart in the picture",), zones)


def every_block(words: str) -> d.Document:
    """A document with every kind of block, the same words in each place that takes words."""
    columns = (d.Column(words, "30mm"), d.Column("", "1fr", name=words))
    row = (
        d.Cell(words, words, (words,), words, words, True, 20.0, "#402030", ("GHS05",)),
        d.Cell(swatch="", pictograms=(words,)),
    )
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 5"><rect width="10" height="5"/></svg>'
    tones = (d.Tone("#402030", 0.7, words), d.Tone("#204030", 0.3, words))
    blocks: tuple[d.Block, ...] = (
        d.Heading(words),
        d.Heading(words, 3),
        d.Paragraph(words, words, "small"),
        d.Paragraph(words, strong=True, size="large"),
        *(d.Caution(words, words, words, level) for level in ("note", "mind", "caution", "serious", "critical")),  # type: ignore[arg-type]
        d.Facts(((words, words),)),
        d.Items((words,)),
        d.Items((words,), "ticks"),
        d.Items((words,), "numbered"),
        d.Table(columns, (row,), words),
        d.Table(columns, (row,), words, large=True),
        d.Swatches((d.Swatch(words, "#402030", words, tones, words, False), d.Swatch(words, None, words))),
        d.Photographs((photo(words), photo(words), photo(words)), 2),
        d.Chart(svg, words, words),
        d.Band(words, words),
        d.Marks(("GHS05", "GHS09"), words, words, words, words),
        d.Marks((), words, "", words, words, 10.0),
        d.Blanks(((words, 20.0),)),
        d.Signatures(((words, words, words), (words, "", ""))),
        d.PageBreak(),
        d.Group((d.Paragraph(words),)),
        d.Beside(((d.Paragraph(words),), (d.Photographs((photo(words),), 1),)), (2.0, 1.0)),
    )
    facts = ((words, words),)
    return d.Document(words, words, words, words, DAY, facts, blocks, (words,), words, "en", large_facts=False)


class Reader(HTMLParser):
    """Tags with their attributes, and text in order; what would run or fetch stands out."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self._quiet = 0
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._quiet += tag in ("style", "script")

    def handle_endtag(self, tag: str) -> None:
        self._quiet -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self._quiet:
            self.text.append(data)

    @property
    def words(self) -> str:
        """All text with single blanks."""
        return " ".join("".join(self.text).split())


def text_of(path: Path) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


def test_no_word_becomes_markup_on_the_page() -> None:
    """Words that are HTML are shown letter by letter in every block; no tag and no attribute comes of them."""
    plain, hostile = Reader(html_of(every_block("plain words"))), Reader(html_of(every_block(HOSTILE)))
    assert [tag for tag, _ in hostile.tags] == [tag for tag, _ in plain.tags]
    assert [sorted(a) for _, a in hostile.tags] == [sorted(a) for _, a in plain.tags]
    assert " ".join(HOSTILE.split()) in hostile.words
    assert hostile.words.count("alert(1)") >= plain.words.count("plain words") - 2


def test_no_word_becomes_markup_on_paper(tmp_path: Path) -> None:
    """Words that are a typesetter's program are printed letter by letter in every block."""
    publish(every_block(HOSTILE), tmp_path / "odd.pdf")
    text = "".join(text_of(tmp_path / "odd.pdf").split())
    wanted = "".join(['#panic("x")', "$x^2$", "*b*"])
    assert text.count(wanted) >= 30


def test_every_kind_of_block_is_in_both_writers(tmp_path: Path) -> None:
    """The same words stand on paper and on the page, as often as each block says them."""
    words = "Zinnober"
    publish(every_block(words), tmp_path / "all.pdf")
    on_page = Reader(html_of(every_block(words))).words.count(words)
    on_paper = text_of(tmp_path / "all.pdf").casefold().count(words.casefold())
    assert on_page > 50
    pages = len(pypdf.PdfReader(tmp_path / "all.pdf").pages)
    # paper says them again in the foot of each page (twice) and in heads of tables; the words of a QR code are drawn
    assert abs(on_paper - 2 * (pages - 1) - on_page) <= 4


@pytest.mark.parametrize("make", ["batch", "safety", "all"])
def test_the_page_refers_to_nothing_outside_itself(make: str) -> None:
    """Every src is data, nothing is linked, no script runs, styles fetch nothing, and the policy forbids the rest."""
    documents = {
        "batch": batch_document(mix_sheet(), batch=batch_sheet(), made_on=DAY, zone=UTC),
        "safety": safety_document(safety(), recipe="Green over brown", record="R12, revision 3", made_on=DAY),
        "all": every_block("words"),
    }
    html = html_of(documents[make])
    reader = Reader(html)
    assert {tag for tag, _ in reader.tags}.isdisjoint(
        {"script", "link", "iframe", "object", "embed", "a", "form", "base"}
    )
    for tag, attributes in reader.tags:
        assert "href" not in attributes and "srcset" not in attributes, tag
        assert (attributes.get("src") or "data:").startswith("data:"), tag
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None and "url(" not in style[1] and "@import" not in style[1]
    policy = [a["content"] for tag, a in reader.tags if a.get("http-equiv") == "Content-Security-Policy"]
    assert policy == [POLICY] and POLICY.startswith("default-src 'none'")
    for drawing in re.findall(r"data:image/svg\+xml;base64,([^\"]+)", html):
        svg = base64.b64decode(drawing).decode("utf-8")
        assert not re.findall(r"(?:href|src)=\"https?:", svg) and "<script" not in svg


def test_it_reads_well_without_its_styles() -> None:
    """With no style the order is the order of reading; headings step by one, columns have heads, pictures have words,
    colour blocks have figures, and the language is said."""
    html = without_styles(html_of(every_block("words")))
    reader = Reader(html)
    assert ("html", {"lang": "en"}) in reader.tags
    levels = [int(tag[1]) for tag, _ in reader.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(later - earlier <= 1 for earlier, later in itertools.pairwise(levels))
    heads = [a for tag, a in reader.tags if tag == "th"]
    assert heads and all(a["scope"] == "col" for a in heads)
    assert all(a.get("alt") for tag, a in reader.tags if tag == "img")
    assert "no reading" in reader.words and "scale: 50 mm" in reader.words.replace("\u202f", " ")
    sheet = Reader(without_styles(html_of(batch_document(mix_sheet(), made_on=DAY)))).words.replace("\u202f", " ")
    order = (
        "Green over brown",
        "critical",
        "sulphide wash",
        "8.8 g",
        "Water into a wide jug.",
        "Causes serious eye damage.",
    )
    places = [sheet.index(words) for words in order]
    assert places == sorted(places)


def test_another_language_is_said(tmp_path: Path) -> None:
    """The document's language stands on the page and in the PDF, where a reader's voice looks for it."""
    document = replace(every_block("mots"), language="fr")
    assert '<html lang="fr">' in html_of(document)
    publish(document, tmp_path / "fr.pdf")
    assert str(pypdf.PdfReader(tmp_path / "fr.pdf").trailer["/Root"]["/Lang"]).startswith("fr")


def test_the_scale_bar_is_as_long_as_it_says(tmp_path: Path) -> None:
    """A picture of 180 mm gets a bar of 50 mm, 27.8 % of its width: measured in black and white on the sheet."""
    alone = d.Photographs((replace(photo(), outlines=()),), 1)
    document = d.Document("Test", "Scale", "", "T1", DAY, (), (alone,))
    publish(document, tmp_path / "scale.png")
    with Image.open(tmp_path / "scale.png") as page:
        grey = page.convert("L")
    wide, high = grey.size
    rows = [[grey.getpixel((x, y)) for x in range(wide)] for y in range(high)]
    brown = [x for x in range(wide) if 40 < rows[high // 4][x] < 90]  # type: ignore[operator]
    photo_px = max(brown) - min(brown) + 1
    foot = max(y for y in range(high * 3 // 4) if sum(40 < v < 90 for v in rows[y]) > photo_px * 0.9)  # type: ignore[operator]
    # the bar's frame is the longest unbroken dark line right below the photograph
    runs = [
        len(r)
        for y in range(foot + 5, foot + 40)
        for r in re.findall("1+", "".join("1" if v < 90 else "0" for v in rows[y]))
    ]  # type: ignore[operator]
    assert max(runs) / photo_px == pytest.approx(50 / 180, rel=0.02)


def test_the_zones_lie_where_they_were_drawn(tmp_path: Path) -> None:
    """The line of a zone is found in the picture of the sheet at its share of width and height, in its own hue."""
    zone = d.Outline(((0.2, 0.25), (0.8, 0.25), (0.8, 0.75), (0.2, 0.75)), "A", "#0072b2")
    alone = d.Photographs((replace(photo(), outlines=(zone,), mm_across=None),), 1)
    publish(d.Document("Test", "Zones", "", "T1", DAY, (), (alone,)), tmp_path / "zones.png")
    with Image.open(tmp_path / "zones.png") as page:
        picture = page.convert("RGB")
    wide, high = picture.size

    def near(x: int, y: int, wanted: tuple[int, int, int]) -> bool:
        seen = picture.getpixel((x, y))
        assert isinstance(seen, tuple)
        return all(abs(a - b) < 24 for a, b in zip(seen, wanted, strict=True))

    brown = [(x, y) for x in range(0, wide, 3) for y in range(0, high, 3) if near(x, y, (90, 60, 40))]
    left, right = min(x for x, _ in brown), max(x for x, _ in brown)
    top, low = min(y for _, y in brown), max(y for _, y in brown)
    blue = [(x, y) for x in range(left, right) for y in range(top, low) if near(x, y, (0, 0x72, 0xB2))]
    assert (min(x for x, _ in blue) - left) / (right - left) == pytest.approx(0.2, abs=0.012)
    assert (max(x for x, _ in blue) - left) / (right - left) == pytest.approx(0.8, abs=0.012)
    assert (min(y for _, y in blue) - top) / (low - top) == pytest.approx(0.25, abs=0.016)


def test_a_picture_without_scale_says_so() -> None:
    """No bar is drawn and nothing is assumed where the picture holds no scale."""
    alone = d.Photographs((replace(photo(), mm_across=None),), 1)
    html = html_of(d.Document("Test", "None", "", "T1", DAY, (), (alone,)))
    assert "no scale in the picture" in html and 'class="scale"' not in html


def test_a_colour_that_is_no_colour_is_not_written_into_a_style() -> None:
    """Only #rrggbb becomes a colour block; anything else is shown as not read."""
    swatches = d.Swatches((d.Swatch("one", "red;background:url(x)", "L* 1"),))
    html = html_of(d.Document("Test", "Odd", "", "T1", DAY, (), (swatches,)))
    assert "url(" not in html and "no reading" in html


def test_nothing_long_is_cut_off(tmp_path: Path) -> None:
    """A note of many pages and a word longer than any line are printed whole, in cells too; all of it within the
    margins of the sheet (14 mm)."""
    word, note = "abcdefghij" * 60, "A long sentence that goes on. " * 400
    table = d.Table((d.Column("one", "20mm"), d.Column("two", "1fr")), ((d.Cell(word), d.Cell(note, small=(word,))),))
    blocks = (d.Paragraph(f"{word} {note}"), table, d.Caution(word))
    publish(d.Document("Test", "Long", "", "T1", DAY, (("name", word),), blocks), tmp_path / "long.pdf")
    text = text_of(tmp_path / "long.pdf")
    assert text.count("sentence") == 800
    assert "".join(text.split()).replace("\u200b", "").count(word) == 5
    publish(d.Document("Test", "Long", "", "T1", DAY, (("name", word),), blocks), tmp_path / "long.png")
    with Image.open(tmp_path / "long.png") as page:
        margin = page.convert("L").crop((page.width - round(12 / 25.4 * 150), 0, page.width, page.height))
    assert margin.getextrema() == (255, 255)


def test_a_row_of_another_length_is_refused_at_once() -> None:
    """A builder that forgets a cell fails where it stands, not on paper."""
    with pytest.raises(ValueError, match="cells"):
        d.Table((d.Column("one"), d.Column("two")), ((d.Cell("x"),),))


def test_an_ending_that_is_no_form_is_refused(tmp_path: Path) -> None:
    """The refusal names all the forms there are, and nothing is written."""
    with pytest.raises(Refused, match=r"\.html"):
        publish(every_block("words"), tmp_path / "report.docx")
    assert not list(tmp_path.iterdir())


def test_same_document_same_bytes(tmp_path: Path) -> None:
    """PDF and page hold no date but the document's own."""
    for ending in ("pdf", "html"):
        one, two = tmp_path / f"one.{ending}", tmp_path / f"two.{ending}"
        publish(every_block("words"), one)
        publish(every_block("words"), two)
        assert one.read_bytes() == two.read_bytes()


def test_progress_is_told(tmp_path: Path) -> None:
    """Setting and written, in that order."""
    told: list[tuple[int, int, str]] = []
    publish(every_block("words"), tmp_path / "a.html", progress=lambda *step: told.append(step))
    assert [(done, of) for done, of, _ in told] == [(0, 1), (1, 1)]


@needs_chromium
def test_a_browser_prints_it_on_numbered_pages_and_asks_nothing(tmp_path: Path) -> None:
    """A headless Chromium lays the finish record and the batch sheet out on A4 with page numbers, and the network is
    never asked for anything."""
    pictures = tuple(Picture(jpeg((600, 400), 10 * n), ".jpg", f"side {n}", 600, 400, 180.0) for n in range(6))
    write_finish_record(
        cast_sheet(), tmp_path / "cast.html", made_on=DAY, colour_of=srgb_hex, master=master_sheet(), pictures=pictures
    )
    found = printed(tmp_path / "cast.html", tmp_path)
    assert found.asked == ()
    assert 2 <= len(found.pages) <= 4
    for words in ("Harbour Figure", "3/9", "96 kg", "2.30 m²", "four passes", "side 5", "the figures count"):
        assert words in found.words.replace("\u202f", " "), words
    assert f"page 1 of {len(found.pages)}" in " ".join(found.pages[0].split())
    box = pypdf.PdfReader(found.pdf).pages[0].mediabox
    # A4: 210 × 297 mm. Source: ISO 216
    assert float(box.width) / 72 * 25.4 == pytest.approx(210, abs=1)
    assert float(box.height) / 72 * 25.4 == pytest.approx(297, abs=1)
    images = sum(len(page.images) for page in pypdf.PdfReader(found.pdf).pages)
    assert images >= len(pictures)
