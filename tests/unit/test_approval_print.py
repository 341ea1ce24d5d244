"""The client's page as a browser prints it: sheets, words, and what it asks the network for."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from chromium_page import Printed, needs_chromium, printed, without_styles
from PIL import Image

import swatches
from patina.bench.matched import agreed
from patina.bench.paper import approving
from patina.bench.pieces import casts
from patina.bench.readings import tiles
from patina.bench.studio import Studio, open_studio
from patina.entries import NewCast, NewMaster, NewPiece, NewReading, NewTile, NewZone

pytestmark = needs_chromium
ORDER = ("Before you judge", "Side by side", "How far apart", "Photographs", "Your answer", "signature")


@pytest.fixture(scope="module")
def studio(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Studio]:
    """A cast with a photograph beside an agreed finish whose colour a printer can show."""
    with open_studio(tmp_path_factory.mktemp("approval") / "studio") as opened:
        said = {"uncertainty_de00": 0.4, "wax_state": "waxed", "warmth": "cold", "n": 5, "sd": (0.3, 0.2, 0.2)}
        for name, L in (("M", 52.0), ("LIGHT", 55.0), ("DARK", 49.0)):
            tile = tiles.start_tile(opened, NewTile(name, "C87300")).row.id
            tiles.add_reading(opened, tile, NewReading(L, -21.0, 8.0, **said))  # type: ignore[arg-type]
        finish = NewMaster(
            "Quay green", (52.0, -21.0, 8.0), 2.0, uncertainty_de00=0.3, wax_state="waxed", warmth="cold"
        )
        casts.agree_master(opened, finish)
        agreed.agree_zone(opened, NewZone("M1", "whole", ("T1",), light="T2", dark="T3"))
        casts.add_piece(opened, NewPiece("Heron"))
        casts.add_cast(opened, NewCast("W1", number="1/9", master="M1"))
        tiles.add_reading(opened, "C1", NewReading(51.8, -21.2, 8.3, **said))  # type: ignore[arg-type]
        tiles.add_photograph(opened, "C1", swatches.photograph("cupric-mottle.jpg"))
        yield opened


@pytest.fixture(scope="module")
def page(studio: Studio, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return approving.write_page(studio, "C1", tmp_path_factory.mktemp("page") / "heron.html")


@pytest.fixture(scope="module")
def sheets(page: Path, tmp_path_factory: pytest.TempPathFactory) -> Printed:
    return printed(page, tmp_path_factory.mktemp("printed"))


def in_order(text: str, words: tuple[str, ...]) -> bool:
    places = [text.find(word) for word in words]
    return -1 not in places and places == sorted(places)


def test_it_prints_on_two_sheets_and_the_answer_is_whole(sheets: Printed) -> None:
    """Two sheets, numbered; the answer stands on one of them whole, and names piece and finish."""
    assert len(sheets.pages) == 2
    assert [f"{n} of 2" in page for n, page in enumerate(sheets.pages, 1)] == [True, True]
    assert in_order(sheets.words, ORDER)
    answer = next(page for page in sheets.pages if "Your answer" in page)
    assert in_order(" ".join(answer.split()), ("On Heron 1/9, against M1", "approved", "Remarks", "signature"))


def test_it_asks_nothing_of_the_network(sheets: Printed, tmp_path: Path) -> None:
    """No address is asked for; a page that does ask for one is seen to."""
    assert sheets.asked == ()
    other = tmp_path / "other.html"
    other.write_text("<p>asks</p><img src='http://elsewhere.test/x.png'>", "utf-8")
    assert any("elsewhere.test" in line for line in printed(other, tmp_path).asked)


def test_it_is_readable_without_styles(page: Path, tmp_path: Path) -> None:
    """With every style taken out all is there in the same order: colours as figures, verdict in words."""
    bare = tmp_path / "bare.html"
    bare.write_text(without_styles(page.read_text("utf-8")), "utf-8")
    assert "style" not in bare.read_text("utf-8").replace("style-src", "")
    said = printed(bare, tmp_path).words
    assert in_order(said, ORDER)
    for words in ("L* 52.0 a* -21.0 b* 8.0", "inside what was agreed", "Screens and printers differ", "light limit"):
        assert words in said, words


def test_the_printed_blocks_have_the_colours_of_their_readings(sheets: Printed, tmp_path: Path) -> None:
    """The sRGB of the agreed colour, by the published transformation (IEC 61966-2-1), is on the printed sheet."""
    from patina.colour.lab import srgb_hex
    from patina.colour.values import Lab

    subprocess.run(["pdftoppm", "-r", "40", "-png", str(sheets.pdf), str(tmp_path / "sheet")], check=True)
    pixels = np.asarray(Image.open(next(iter(sorted(tmp_path.glob("sheet*.png"))))).convert("RGB")).reshape(-1, 3)
    wanted = bytes.fromhex(srgb_hex(Lab(52.0, -21.0, 8.0))[1:])
    near = np.abs(pixels.astype(int) - np.array(list(wanted))).max(axis=1) <= 4
    assert near.sum() > 0.02 * len(pixels)
