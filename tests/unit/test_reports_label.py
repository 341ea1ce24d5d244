"""The bottle label: the elements the rules ask for, in sizes not under the least."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pypdf
import pytest
from report_samples import DAY, batch_sheet, mix_sheet, wash_safety

from patina.errors import NotFound, Refused
from patina.reports.label import label_size, label_sizes, write_label
from patina.reports.precautions import foremost, precaution
from patina.sheets import MixSheet

POINTS_PER_MM = 72.0 / 25.4


def text_of(path: Path) -> str:
    return " ".join(pypdf.PdfReader(path).pages[0].extract_text().replace("\u202f", " ").split())


def size_mm(path: Path) -> tuple[float, float]:
    box = pypdf.PdfReader(path).pages[0].mediabox
    return float(box.width) / POINTS_PER_MM, float(box.height) / POINTS_PER_MM


def with_safety(**changes: object) -> MixSheet:
    sheet = mix_sheet()
    solution = replace(wash_safety(), **changes)  # type: ignore[arg-type]
    return replace(sheet, safety=replace(sheet.safety, solutions=(solution, sheet.safety.solutions[1])))


def test_the_elements_of_article_17_are_there(tmp_path: Path) -> None:
    """CLP article 17: who, how much, what, pictograms, signal word, hazard and precautionary statements,
    supplemental information; with them the dates a studio needs."""
    path = tmp_path / "label.pdf"
    write_label(
        mix_sheet(),
        "sulphide wash",
        path,
        made_on=DAY,
        batch=batch_sheet(),
        zone=UTC,
        studio="Quay Foundry, tel. 555 0100",
    )
    text = text_of(path)
    for expected in (
        "Quay Foundry, tel. 555 0100",
        "1768 mL",
        "sulphide wash",
        "liver of sulphur 4.98 g/L",
        "Danger",
        "Causes serious eye damage.",
        "Contact with acids liberates toxic gas.",
        "IF IN EYES: Rinse cautiously",
        "Wear protective gloves",
        "mixed 2026-03-14 08:15 UTC",
        "use until 2026-03-14 20:15 UTC",
        "B7",
        "Not everything is decided",
    ):
        assert expected in text, expected


def test_at_most_six_precautions_and_the_weightiest_of_them() -> None:
    """CLP article 28(3) (from memory): not more than six; eyes and skin before storage and waste."""
    codes = wash_safety().p_statements
    kept = foremost(codes, 6)
    assert len(codes) > 6 and len(kept) == 6
    assert kept[:2] == ["P280", "P305+P351+P338"] and "P264" not in kept


def test_more_than_six_is_said(tmp_path: Path) -> None:
    """What the label leaves out it says it leaves out."""
    path = tmp_path / "label.pdf"
    write_label(mix_sheet(), "sulphide wash", path, made_on=DAY)
    assert "More precautions: see the batch sheet." in text_of(path)


def test_a_statement_that_is_no_code_is_kept() -> None:
    """An added substance's own sentence is printed as it is, not dropped."""
    assert precaution("Store under oil.").text == "Store under oil."


# Least label in mm (width × height, lying) and least side of a pictogram, CLP Annex I table 1.3.
TABLE_1_3 = [
    (1.0, 74, 52, 16),
    (3000.0, 74, 52, 16),
    (3001.0, 105, 74, 23),
    (50_000.0, 105, 74, 23),
    (50_001.0, 148, 105, 32),
]


@pytest.mark.parametrize(("capacity_ml", "width", "height", "side"), TABLE_1_3)
def test_sizes_are_not_under_table_1_3(capacity_ml: float, width: float, height: float, side: float) -> None:
    """For each row of the published table, just at and just above its edge."""
    size = label_size(capacity_ml)
    assert (size.least_width_mm, size.least_height_mm, size.pictogram_mm) == (width, height, side)
    assert size.width_mm >= width and size.height_mm >= height
    # The frame is drawn 1.5 % over the table's side, since 32 mm squared is a little under a fifteenth of 148 × 105.
    printed_mm = size.pictogram_mm * 1.015
    assert printed_mm**2 >= width * height / 15.0, "1.2.1.3: a fifteenth of the least label"


@pytest.mark.parametrize("capacity_ml", [0.0, -1.0, 500_001.0, float("nan")])
def test_no_container_no_label(capacity_ml: float) -> None:
    """A container of nothing, or larger than the table goes, is refused."""
    with pytest.raises(Refused):
        label_size(capacity_ml)


@pytest.mark.parametrize("capacity_ml", [400.0, 2500.0, 20_000.0, 100_000.0])
def test_printed_sizes_are_what_they_should_be(capacity_ml: float, tmp_path: Path) -> None:
    """Measured on the print: label, letters (x-height by Regulation (EU) 2024/2865, as third parties quote it)."""
    path = tmp_path / "label.pdf"
    write_label(mix_sheet(), "sulphide wash", path, made_on=DAY, container_ml=capacity_ml)
    size = label_size(capacity_ml)
    width, height = size_mm(path)
    assert width >= size.least_width_mm and height >= size.least_height_mm
    sizes: list[float] = []

    def note(text: str, cm: list[float], tm: list[float], font: object, points: float) -> None:
        if text.strip():
            sizes.append(abs(points * tm[3] * cm[3]))

    pypdf.PdfReader(path).pages[0].extract_text(visitor_text=note)
    least_mm = {400.0: 1.2, 2500.0: 1.4, 20_000.0: 1.8, 100_000.0: 2.0}[capacity_ml]
    assert min(sizes) * 0.486 / POINTS_PER_MM >= least_mm - 0.005


@pytest.mark.parametrize("capacity_ml", [400.0, 20_000.0])
def test_the_red_frame_has_the_side_of_the_table(capacity_ml: float, tmp_path: Path) -> None:
    """The frame itself is measured in the picture, not the square around it."""
    import numpy as np
    from PIL import Image

    path = tmp_path / "label.png"
    write_label(with_safety(pictograms=("GHS05",)), "sulphide wash", path, made_on=DAY, container_ml=capacity_ml)
    with Image.open(path) as picture:
        dots = np.asarray(picture.convert("RGB")).astype(int)
    red = (dots[..., 0] > 150) & (dots[..., 1] < 120) & (dots[..., 2] < 120)
    rows, columns = np.nonzero(red)
    diagonals_mm = [(values.max() - values.min() + 1) / 150.0 * 25.4 for values in (rows, columns)]
    side_mm = min(diagonals_mm) / 2.0**0.5
    wanted = label_size(capacity_ml).pictogram_mm
    assert wanted - 0.25 <= side_mm <= wanted * 1.1


def test_a_label_with_much_to_say_grows_and_its_pictograms_do_not(tmp_path: Path) -> None:
    """More words: a larger label, never smaller letters and never a second page."""
    from patina.safety.values import ClassNote

    many = tuple(
        ClassNote("x", f"H{300 + n}", f"Statement number {n} goes on for a while. " * 3, "", "X") for n in range(12)
    )
    small, large = tmp_path / "small.pdf", tmp_path / "large.pdf"
    write_label(with_safety(p_statements=()), "sulphide wash", small, made_on=DAY, container_ml=1000)
    write_label(with_safety(classes=many), "sulphide wash", large, made_on=DAY, container_ml=1000)
    assert size_mm(large)[0] > size_mm(small)[0]
    assert len(pypdf.PdfReader(large).pages) == 1
    assert "Statement number 11" in text_of(large)


def test_a_pot_without_a_class_says_so(tmp_path: Path) -> None:
    """No statement is not silence."""
    path = tmp_path / "label.pdf"
    write_label(mix_sheet(), "veil wash", path, made_on=DAY)
    text = text_of(path)
    assert "No hazard class follows from the data" in text
    assert "use until 2026-04-13" in text, "720 h after 14 March"
    assert "Danger" not in text and "Warning" not in text


def test_unknown_pots_and_missing_safety_are_refused(tmp_path: Path) -> None:
    """No label for a solution that was not mixed, and none without safety notes."""
    with pytest.raises(NotFound, match="sulphide wash"):
        write_label(mix_sheet(), "nothing", tmp_path / "l.pdf", made_on=DAY)
    sheet = mix_sheet()
    bare = replace(sheet, safety=replace(sheet.safety, solutions=()))
    with pytest.raises(NotFound, match="safety notes"):
        write_label(bare, "sulphide wash", tmp_path / "l.pdf", made_on=DAY)
    assert not list(tmp_path.iterdir())


def test_sizes_cover_every_container_once() -> None:
    """Capacities rise, and so does everything printed."""
    sizes = label_sizes()
    assert [s.up_to_ml for s in sizes] == sorted({s.up_to_ml for s in sizes})
    assert [s.pictogram_mm for s in sizes] == sorted(s.pictogram_mm for s in sizes)
