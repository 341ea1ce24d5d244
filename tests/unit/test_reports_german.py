"""What hangs on a bottle, on the wall and beside the telephone is read in the reader's language: all of it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from report_samples import DAY, batch_sheet, lot, mix_sheet, safety, wash_safety

from patina.language import read_as
from patina.reports import document as d
from patina.reports.in_language import in_readers_language
from patina.reports.label import write_label
from patina.reports.page import html_of
from patina.reports.publish import publish
from patina.reports.safety_sheet import safety_document
from patina.reports.shelf_cards import write_first_aid_card, write_wall_sheet
from patina.safety.values import Danger

LOTS = (lot("L1", "liver of sulphur", "liver_of_sulphur", 420.0, state="opened"), lot("L2", "own powder", "own_1", 9.0))
SAFETY = {"liver_of_sulphur": wash_safety("liver of sulphur")}
# Words that stand on the English sheets and on no German one.
ENGLISH = re.compile(
    r"\b(page \d|of \d|mixed|use until|Danger|DANGER|CRITICAL|Keep apart|Emergency|Poison|what it does|substance|marks|"
    r"In the eyes|Swallowed|IF IN|Rinse|Causes|Not known here|Look to|hazards? not known)\b"
)


@pytest.fixture(autouse=True)
def german() -> Iterator[None]:
    """German for a test, English again after it."""
    read_as("de")
    yield
    read_as()


def _text(path: Path) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


def test_the_label_is_german_as_a_whole(tmp_path: Path) -> None:
    """The law asks for the language of the country: signal word, statements, dates and the rest."""
    write_label(mix_sheet(), "sulphide wash", tmp_path / "label.pdf", made_on=DAY, batch=batch_sheet())
    text = _text(tmp_path / "label.pdf")
    for words in ("Gefahr", "Verursacht schwere Augenschäden.", "BEI KONTAKT MIT DEN AUGEN", "gemischt 2026-03-14"):
        assert words in text
    assert not ENGLISH.findall(text)


def test_wall_sheet_and_first_aid_card_are_german_as_a_whole(tmp_path: Path) -> None:
    """Headings, columns, statements and the page's foot; the lead of an advice stands in the heading alone."""
    danger = Danger(("a", "b"), "Hydrogen sulphide.", "critical", "Apart.", "X", "on the shelf")
    write_wall_sheet(LOTS, SAFETY, tmp_path / "wall.pdf", made_on=DAY, dangers=(danger,))
    write_first_aid_card(LOTS, SAFETY, tmp_path / "card.pdf", made_on=DAY)
    wall, card = _text(tmp_path / "wall.pdf"), _text(tmp_path / "card.pdf")
    for words in ("GEFAHR", "Getrennt halten", "KRITISCH", "Stoff", "Seite 1 von 1"):
        assert words in wall, words
    for words in ("Notruf", "Giftinformationszentrum", "Hier nicht bekannt", "Seite 1 von 1"):
        assert words in card, words
    assert "BEI KONTAKT" not in card
    assert not ENGLISH.findall(wall) and not ENGLISH.findall(card)


def test_foot_gravity_and_scale_are_german_on_paper_and_page(tmp_path: Path) -> None:
    """What templates and pages bring themselves: page numbers, the word of a grave caution, what has no scale."""
    grave = d.Caution("x", level="critical")
    picture = d.Photographs((d.Photo(_jpeg(), ".jpg", "y"),))
    unread = d.Table((d.Column("w"),), ((d.Cell(swatch=""),),))
    report = d.Document("Safety sheet", "z", "", "R1", DAY, (), (grave, picture, unread))
    publish(report, tmp_path / "sheet.pdf")
    text = _text(tmp_path / "sheet.pdf")
    for words in ("Seite 1 von 1", "KRITISCH", "kein Maßstab im Bild", "keine Messung"):
        assert words in text, words
    page = html_of(report)
    assert "kritisch" in page and "kein Maßstab im Bild" in page and "keine Messung" in page


REASONS = (
    (
        "corrosive: cupric nitrate trihydrate 7.63 % (limit 5 %), nitric acid 2 % (specific limit 1 %); shares over "
        "limits add to 3.5 (Table 3.2.3)",
        "ätzend: Kupfer(II)-nitrat-Trihydrat 7,63 % (Grenze 5 %), Salpetersäure 2 % (spezifischer Grenzwert 1 %); "
        "Anteile durch Grenzen ergeben zusammen 3,5 (Tabelle 3.2.3)",
    ),
    (
        "cupric nitrate trihydrate 7.63 % × 10: sum 76.3 at or above 25 (Table 4.1.1)",
        "Kupfer(II)-nitrat-Trihydrat 7,63 % × 10: Summe 76,3, bei oder über 25 (Tabelle 4.1.1)",
    ),
    ("liver of sulphur 0.797 % (no lower limit)", "Schwefelleber 0,797 % (keine untere Grenze)"),
)
SHARES = (("cupric nitrate trihydrate", 7.63), ("nitric acid", 2.0), ("liver of sulphur", 0.797))


@pytest.mark.parametrize(("why", "said"), REASONS, ids=("added", "weighted", "without limit"))
def test_why_a_class_follows_is_german_on_the_safety_sheet(why: str, said: str) -> None:
    """The column "because": substances, limits, sums and tables, also where several are added."""
    pot = wash_safety()
    pot = replace(pot, classes=(replace(pot.classes[0], why=why),), shares=SHARES)
    sheet = replace(safety(), solutions=(pot,))
    page = html_of(in_readers_language(safety_document(sheet, recipe="z", record="R1", made_on=DAY)))
    assert said in re.sub(r"\s+", " ", page)


def _jpeg() -> bytes:
    import io

    from PIL import Image

    out = io.BytesIO()
    Image.new("RGB", (60, 40), (90, 60, 40)).save(out, "JPEG")
    return out.getvalue()
