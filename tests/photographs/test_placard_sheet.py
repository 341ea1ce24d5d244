"""The printed placard: what is on it, where it is, and that it can be read back."""

from __future__ import annotations

import io
import itertools
from typing import Any

import cv2
import numpy as np
import pytest
from pypdf import PdfReader

from patina.colour.placard import (
    FIDUCIAL_MM,
    LAYOUTS,
    Placard,
    PlacardName,
    code_cells,
    layout_of,
    marker_cells,
    name_in_code,
    placard_pdf,
    placard_png,
)
from patina.errors import BadPhotograph, NotFound, Refused

UID = "0123456789abcdef" * 2
DOTS = 6.0


def placard(paper: str) -> Placard:
    fields = (("Alloy", "C87300"), ("Recipe", "Quayside green, revision 3"), ("Passes", ""), ("Date", ""))
    return Placard(PlacardName("T12", UID, paper), "Cupric mottle #2 *second* try", fields, "Invented studio")


def picture(paper: str) -> Any:
    made = placard_png(placard(paper), DOTS)
    return cv2.imdecode(np.frombuffer(made, np.uint8), cv2.IMREAD_GRAYSCALE)


# Sheet sizes from ISO 216: A4 is 210 mm x 297 mm, A3 297 mm x 420 mm; ANSI A (letter) is 8.5 in x 11 in.
@pytest.mark.parametrize(("paper", "size_mm"), [("a4", (297, 210)), ("a3", (420, 297)), ("letter", (279.4, 215.9))])
def test_the_pdf_is_one_sheet_of_the_size_it_says(paper: str, size_mm: tuple[int, int]) -> None:
    """One page of the standard's size, turned on its side, that names the record in words too."""
    reader = PdfReader(io.BytesIO(placard_pdf(placard(paper))))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    assert (float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4) == pytest.approx(size_mm, abs=0.1)
    text = reader.pages[0].extract_text()
    for words in ("T12", "Cupric mottle #2 *second* try", "Quayside green, revision 3", UID, "100 mm"):
        assert words in text


def test_long_words_are_made_smaller_and_stay_in_their_place() -> None:
    """A long heading and long fields are printed whole on one sheet, and leave marks and code readable."""
    name = PlacardName("T123456789", UID)
    words = "A long value that goes on and on, revision 3 #strong[x] $x$ _"
    long = Placard(name, 3 * words, tuple((f"Label {n}", words) for n in range(6)), 2 * words)
    reader = PdfReader(io.BytesIO(placard_pdf(long)))
    assert len(reader.pages) == 1
    assert reader.pages[0].extract_text().count("goes on and on") == 3 + 6 + 2
    shown = cv2.imdecode(np.frombuffer(placard_png(long, DOTS), np.uint8), cv2.IMREAD_GRAYSCALE)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(shown)
    assert name_in_code(text) == name
    layout = layout_of("a4")
    for x, y, wide, high in (layout.chart, layout.tile):
        inside = shown[
            round((y + 1) * DOTS) : round((y + high - 1) * DOTS), round((x + 1) * DOTS) : round((x + wide - 1) * DOTS)
        ]
        assert inside.min() == 255


def test_the_same_placard_prints_the_same_file() -> None:
    """Printing twice gives the same bytes."""
    assert placard_pdf(placard("a4")) == placard_pdf(placard("a4"))


@pytest.mark.parametrize("paper", LAYOUTS)
def test_nothing_on_the_sheet_overlaps_or_leaves_it(paper: str) -> None:
    """Marks, code, windows and fields are apart and at least 5 mm from the edge, where printers do not reach."""
    layout = layout_of(paper)
    boxes = [layout.chart, layout.tile, layout.code, layout.fields]
    boxes += [(x, y, FIDUCIAL_MM, FIDUCIAL_MM) for x, y in layout.fiducials]
    for x, y, wide, high in boxes:
        assert x >= 5
        assert y >= 5
        assert x + wide <= layout.width_mm - 5
        assert y + high <= layout.height_mm - 5
    for (ax, ay, aw, ah), (bx, by, bw, bh) in itertools.combinations(boxes, 2):
        assert ax + aw <= bx or bx + bw <= ax or ay + ah <= by or by + bh <= ay


@pytest.mark.parametrize("paper", LAYOUTS)
def test_marks_are_printed_where_the_layout_says(paper: str) -> None:
    """OpenCV's own detector finds the four marks within 0.2 mm of their place in the layout."""
    layout = layout_of(paper)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    corners, numbers, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(picture(paper))
    found = dict(zip(numbers.ravel().tolist(), corners, strict=True))
    assert set(found) == set(layout.markers)
    for (x, y), number in zip(layout.fiducials, layout.markers, strict=True):
        upper_left = (found[number][0, 0] + 0.5) / DOTS
        assert upper_left == pytest.approx((x, y), abs=0.2)


def test_marks_tell_the_sizes_of_sheet_apart() -> None:
    """No mark stands on two sizes of sheet."""
    numbers = [number for layout in LAYOUTS.values() for number in layout.markers]
    assert len(set(numbers)) == len(numbers)


def test_no_mark_is_another_in_a_mirror() -> None:
    """Mirrored and turned any way, each mark differs in at least 3 of its 16 cells from every mark of ours;
    the detector forgives one."""
    numbers = [number for layout in LAYOUTS.values() for number in layout.markers]
    cells = [np.array([[int(mark) for mark in row] for row in marker_cells(number)])[1:5, 1:5] for number in numbers]
    for one, other in itertools.product(cells, cells):
        assert min(int((np.rot90(one[:, ::-1], turn) != other).sum()) for turn in range(4)) >= 3


@pytest.mark.parametrize("paper", LAYOUTS)
def test_the_printed_code_names_the_record(paper: str) -> None:
    """OpenCV's reader gets from the print what segno put into the code."""
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(picture(paper))
    assert name_in_code(text) == PlacardName("T12", UID, paper)


@pytest.mark.parametrize("paper", LAYOUTS)
def test_the_scale_measures_its_hundred_millimetres(paper: str) -> None:
    """There is a stroke at every millimetre from 0 to 100 of the scale, and none beyond."""
    x, y, length = layout_of(paper).scale
    row = picture(paper)[round((y - 1.0) * DOTS)]
    for mm in range(int(length) + 1):
        stroke = row[round((x + mm) * DOTS) - 2 : round((x + mm) * DOTS) + 2]
        assert stroke.min() < 140, mm
        between = row[round((x + mm + 0.5) * DOTS)]
        assert between > 200, mm


def test_a_quarter_of_the_code_may_be_spoiled() -> None:
    """Level Q of ISO/IEC 18004 restores about 25 % of the code words: a stain of a tenth is no trouble."""
    cells = code_cells(PlacardName("C3", UID).code())
    pattern = np.array([[0 if mark == "1" else 255 for mark in row] for row in cells], np.uint8)
    spoiled = pattern.copy()
    side = len(cells)
    spoiled[side // 2 : side // 2 + side // 3, side // 2 : side // 2 + side // 3] = 128
    shown = cv2.resize(np.pad(spoiled, 4, constant_values=255), None, fx=8, fy=8, interpolation=cv2.INTER_NEAREST)
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(shown)
    assert name_in_code(text).record == "C3"


@pytest.mark.parametrize("record", ["", "t12", "12", "T0", "T12; x", "T1234567890"])
def test_a_placard_is_only_printed_for_a_record(record: str) -> None:
    """What is not a record's name is refused before anything is printed."""
    with pytest.raises(Refused):
        PlacardName(record, UID)


def test_a_uid_that_is_none_is_refused() -> None:
    """The lasting name must be 32 hexadecimal digits."""
    with pytest.raises(Refused):
        PlacardName("T1", "xyz")


def test_unknown_paper_is_refused_with_the_sizes_there_are() -> None:
    """The remedy names the sizes."""
    with pytest.raises(NotFound, match="a4"):
        layout_of("b5")


@pytest.mark.parametrize("text", ["", "https://example.org", "PATINA:1:A4", f"PATINA:2:A4:T1:{UID}"])
def test_a_foreign_code_is_not_taken_for_a_placard(text: str) -> None:
    """Other QR codes, cut codes and codes of later versions are refused."""
    with pytest.raises(BadPhotograph):
        name_in_code(text)
