"""Wall sheet, first-aid card, finish record and tile sheet on paper."""

from __future__ import annotations

import io
from pathlib import Path

import pypdf
import pytest
from PIL import Image
from report_samples import DAY, cast_sheet, lot, master_sheet, tile_sheet, wash_safety

from patina.colour.lab import srgb_hex
from patina.errors import BadPhotograph
from patina.reports import figures
from patina.reports.colour_words import Picture
from patina.reports.finish_record import SEALED, write_finish_record, write_tile_sheet
from patina.reports.precautions import known_precautions, precaution
from patina.reports.shelf_cards import NO_CLASS, NOT_KNOWN, ROUTES, write_first_aid_card, write_wall_sheet
from patina.safety.values import Danger, SolutionSafety

LOTS = (
    lot("L1", "liver of sulphur", "liver_of_sulphur", 420.0, place="low cupboard", state="opened"),
    lot("L2", "liver of sulphur", "liver_of_sulphur", 60.0, place="bench", state="expired"),
    lot("L3", "mystery powder", "own_1", 100.0),
    lot("L4", "sodium bicarbonate", "sodium_bicarbonate", 1000.0, place="shelf 2"),
    lot("L5", "gone for good", "gone", 0.0, state="spent"),
)
SAFETY = {
    "liver_of_sulphur": wash_safety("liver of sulphur"),
    "sodium_bicarbonate": SolutionSafety("sodium bicarbonate", None, (), (), (), (), (), None, ""),
}


def text_of(path: Path) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(page.extract_text().replace("\u202f", " ").split()) for page in pages)


def test_the_wall_sheet_tells_what_where_and_what_it_does(tmp_path: Path) -> None:
    """Each substance once, with all its lots; spent lots are gone; expired ones are marked."""
    path = tmp_path / "wall.pdf"
    danger = Danger(
        ("liver of sulphur", "nitric acid"), "Hydrogen sulphide.", "critical", "Apart.", "X", "on the shelf"
    )
    write_wall_sheet(LOTS, SAFETY, path, made_on=DAY, studio="Quay Foundry", dangers=(danger,))
    text = text_of(path)
    for expected in (
        "low cupboard",
        "L1: 420 g",
        "L2: 60 g (expired)",
        "DANGER",
        "H318",
        "CRITICAL",
        "Apart.",
        "Quay Foundry",
    ):
        assert expected in text, expected
    assert text.count("Causes serious eye damage.") == 1
    assert "gone for good" not in text


def test_unknown_is_printed_as_unknown(tmp_path: Path) -> None:
    """A substance without data is never printed as harmless, on either sheet."""
    wall, card = tmp_path / "wall.pdf", tmp_path / "card.pdf"
    write_wall_sheet(LOTS, SAFETY, wall, made_on=DAY)
    write_first_aid_card(LOTS, SAFETY, card, made_on=DAY)
    assert NOT_KNOWN in text_of(wall) and NO_CLASS in text_of(wall)
    after = text_of(card).partition("Not known here")[2]
    assert "mystery powder" in after and "sodium bicarbonate" not in after


def test_the_first_aid_card_sorts_by_route_and_names_the_substances(tmp_path: Path) -> None:
    """Eyes first; each piece of advice with the substances it is for; numbers to call on top."""
    path = tmp_path / "card.pdf"
    write_first_aid_card(LOTS, SAFETY, path, made_on=DAY, emergency="112")
    text = text_of(path)
    assert text.index("112") < text.index("In the eyes") < text.index("On the skin") < text.index("Get medical help")
    eyes = text.partition("In the eyes")[2].partition("On the skin")[0]
    assert "Rinse cautiously with water for several minutes." in eyes and "liver of sulphur" in eyes
    assert "Swallowed" not in text, "no statement on the shelf asks for it"


def test_every_response_statement_has_a_place_on_the_card() -> None:
    """No response statement of the table falls between the card's headings."""
    responses = [p.code for p in known_precautions().values() if p.kind == "response"]
    assert len(responses) >= 15
    for code in responses:
        assert any(code.startswith(codes) for _, codes in ROUTES), code
        assert precaution(code).text


def test_an_empty_shelf_can_be_printed(tmp_path: Path) -> None:
    """A studio that has just begun gets a sheet that says so."""
    write_wall_sheet((), {}, tmp_path / "wall.pdf", made_on=DAY)
    assert "Nothing stands on the shelf." in text_of(tmp_path / "wall.pdf")
    write_first_aid_card((), {}, tmp_path / "card.pdf", made_on=DAY)
    assert "First aid" in text_of(tmp_path / "card.pdf")


def jpeg(colour: tuple[int, int, int]) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (240, 160), colour).save(out, "JPEG")
    return out.getvalue()


def test_the_finish_record_shows_colour_figures_and_history(tmp_path: Path) -> None:
    """Agreed colour and measured colour with figures, doubt, treatments, photographs and care."""
    path = tmp_path / "record.pdf"
    pictures = (Picture(jpeg((90, 60, 40)), ".jpg", "front, under D50"),)
    write_finish_record(
        cast_sheet(),
        path,
        made_on=DAY,
        colour_of=srgb_hex,
        master=master_sheet(),
        pictures=pictures,
        care="Wash yearly.",
    )
    text = text_of(path)
    for expected in (
        "Harbour Figure",
        "3/9",
        "96 kg",
        "2.30 m²",
        "L* 28.5 a* 6.0 b* 9.0",
        "L* 28.1 a* 6.2 b* 9.4",
        "limit ΔE 2 (CIEDE2000)",
        "± 0.9 ΔE00 (95 %)",
        "uncertainty not known",
        "70 %",
        "Green over brown, revision 3",
        "four passes",
        "front, under D50",
        "Care: Wash yearly.",
        "the figures count",
    ):
        assert expected in text, expected
    assert len(pypdf.PdfReader(path).pages[-1].images) + len(pypdf.PdfReader(path).pages[0].images) >= 1


def test_the_blocks_have_the_measured_colour(tmp_path: Path) -> None:
    """The picture of the sheet holds an area of the very colour that the figures mean on screen."""
    path = tmp_path / "tile.png"
    tile = tile_sheet()
    write_tile_sheet(tile, path, made_on=DAY, colour_of=srgb_hex)
    assert tile.row.lab is not None
    wanted = tuple(int(srgb_hex(tile.row.lab)[i : i + 2], 16) for i in (1, 3, 5))
    with Image.open(path) as picture:
        colours = {colour: count for count, colour in picture.convert("RGB").getcolors(maxcolors=1 << 24) or []}
    assert colours.get(wanted, 0) > 50_000


def test_a_sealed_recipe_is_not_on_the_record(tmp_path: Path) -> None:
    """Where the recipe is the studio's own, the reader sees that there is one, not which."""
    path = tmp_path / "record.pdf"
    write_finish_record(cast_sheet(), path, made_on=DAY, colour_of=srgb_hex, show_recipes=False)
    text = text_of(path)
    assert SEALED in text
    assert "Green over brown" not in text and "four passes" not in text and "B7" not in text


def test_the_tile_sheet_tells_how_it_was_really_done(tmp_path: Path) -> None:
    """Steps in order, alloy, wall, preparation, batch and the reading."""
    path = tmp_path / "tile.pdf"
    write_tile_sheet(tile_sheet(), path, made_on=DAY, colour_of=srgb_hex)
    text = text_of(path)
    assert text.index("Two cold coats") < text.index("Scrubbed back") < text.index("Six stipple passes")
    for expected in ("HB-04", "C87300", "5 mm", "glass bead", "100 × 100 mm", "B7", "L* 28.1 a* 6.2 b* 9.4"):
        assert expected in text, expected


def test_a_damaged_photograph_is_named(tmp_path: Path) -> None:
    """A file that is no picture stops the sheet with a sentence, and no half sheet is left."""
    broken = (Picture(b"not a picture", ".jpg", "front"),)
    with pytest.raises(BadPhotograph, match="photograph"):
        write_tile_sheet(tile_sheet(), tmp_path / "tile.pdf", made_on=DAY, colour_of=srgb_hex, pictures=broken)
    assert not list(tmp_path.iterdir())


def test_same_record_same_bytes(tmp_path: Path) -> None:
    """Printing again gives the same bytes, photographs and all."""
    pictures = (Picture(jpeg((90, 60, 40)), ".jpg", "front"),)
    for name in ("one.pdf", "two.pdf"):
        write_tile_sheet(tile_sheet(), tmp_path / name, made_on=DAY, colour_of=srgb_hex, pictures=pictures)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (8.8, "g", "8.8 g"),
        (12.0, "g", "12 g"),
        (0.25, "g", "0.25 g"),
        (250.0, "mL", "250 mL"),
        (0.0005, "g", "0.0005 g"),
    ],
)
def test_amounts_lose_nothing(value: float, unit: str, shown: str) -> None:
    """What the balance shall show is printed to its last figure."""
    assert figures.amount(value, unit).replace(figures.THIN, " ") == shown
