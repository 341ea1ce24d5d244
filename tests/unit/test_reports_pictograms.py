"""The drawings of the nine pictograms: form and colours as the rules say, each its own picture."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ElementTree
from functools import cache

import numpy as np
import pytest
from PIL import Image

from patina.datafile import data_path
from patina.errors import NotFound
from patina.reports.pictograms import SHOWS, pictogram_path

RED, BLACK, WHITE = "#d8141c", "#000000", "#ffffff"


@cache
def picture(code: str, dots: int = 400) -> np.ndarray:
    """The drawing as (dots, dots, 3) colours, 0 to 255."""
    import typst

    source = f'#set page(width: {dots}pt, height: {dots}pt, margin: 0pt)\n#image("{code}.svg", width: 100%)'
    drawn = typst.compile(
        {"main.typ": source.encode(), f"{code}.svg": pictogram_path(code).read_bytes()}, format="png", ppi=72
    )
    assert isinstance(drawn, bytes)
    with Image.open(io.BytesIO(drawn)) as image:
        return np.asarray(image.convert("RGB")).astype(int)


def black(code: str) -> np.ndarray:
    dots: np.ndarray = picture(code).max(axis=2) < 90
    return dots


def red(code: str) -> np.ndarray:
    dots = picture(code)
    is_red: np.ndarray = (dots[..., 0] > 150) & (dots[..., 1] < 110) & (dots[..., 2] < 110)
    return is_red


def test_there_are_nine_and_the_data_know_the_same() -> None:
    """GHS01 to GHS09, the same codes as in the table of pictograms' names."""
    listed = data_path("pictogram_names.csv").read_text("utf-8")
    assert list(SHOWS) == [f"GHS0{n}" for n in range(1, 10)]
    assert all(f"\n{code}," in listed for code in SHOWS)


@pytest.mark.parametrize("code", SHOWS)
def test_black_on_white_in_a_red_square_on_its_point(code: str) -> None:
    """CLP Annex I 1.2.1.1 and 1.2.1.2: a square set on a point, black symbol, white ground, red frame."""
    dots = picture(code)
    height, width = dots.shape[:2]
    y, x = np.mgrid[0:height, 0:width]
    from_middle = (abs(x - width / 2) + abs(y - height / 2)) / (width / 2)
    assert red(code)[from_middle > 0.90].any()
    assert not red(code)[from_middle < 0.84].any(), "no red inside"
    assert dots[from_middle > 1.03].min() > 240, "nothing outside the frame"
    for tip in (red(code)[:, :4], red(code)[:, -4:], red(code)[:4], red(code)[-4:]):
        assert tip.any(), "the frame reaches all four sides of its square"
    assert not black(code)[from_middle > 0.86].any(), "the symbol keeps clear of the frame"


@pytest.mark.parametrize("code", SHOWS)
def test_the_symbol_fills_its_frame_and_stands_in_the_middle(code: str) -> None:
    """Readable from afar: enough black, and its middle within a tenth of the frame's middle."""
    symbol = black(code)
    share = symbol.sum() / (symbol.shape[0] * symbol.shape[1] / 2)
    assert 0.05 < share < 0.45
    rows, columns = np.nonzero(symbol)
    middle = ((columns.min() + columns.max()) / 2, (rows.min() + rows.max()) / 2)
    assert abs(middle[0] - 200) < 40 and abs(middle[1] - 200) < 40
    assert max(columns.max() - columns.min(), rows.max() - rows.min()) > 140


def test_no_two_look_alike() -> None:
    """Any two differ in at least a twentieth of the ground."""
    codes = list(SHOWS)
    for i, one in enumerate(codes):
        for other in codes[i + 1 :]:
            assert (black(one) != black(other)).mean() > 0.025, f"{one} and {other}"


@pytest.mark.parametrize("code", SHOWS)
def test_each_still_shows_at_one_centimetre(code: str) -> None:
    """At the least size, 10 mm printed with 300 dots per inch, black and white are still apart."""
    small = Image.fromarray(picture(code).astype("uint8")).resize((118, 118), Image.Resampling.BOX)
    grey = np.asarray(small.convert("L")).astype(int)[30:88, 30:88]
    assert grey.min() < 60 and grey.max() > 225


@pytest.mark.parametrize("code", SHOWS)
def test_the_file_is_a_plain_drawing(code: str) -> None:
    """No text, no script, no picture, no link in it; three colours; a title for who cannot see it."""
    root = ElementTree.fromstring(pictogram_path(code).read_text("utf-8"))
    names = {element.tag.rpartition("}")[2] for element in root.iter()}
    assert names <= {"svg", "title", "polygon", "g", "path", "circle", "rect", "ellipse"}
    colours = {e.get(key) for e in root.iter() for key in ("fill", "stroke")} - {None, "none"}
    assert colours <= {RED, BLACK, WHITE}
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None and title.text


def test_an_unknown_code_is_named() -> None:
    """A code that the standard does not know is refused with those it knows."""
    with pytest.raises(NotFound, match="GHS09"):
        pictogram_path("GHS10")
