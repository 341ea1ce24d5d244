"""Pictures of the screens need no network, keep their indents, and draw a photograph as plain shapes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import make_pictures
from PIL import Image
from screens_driver import Running

from patina.bench.readings import tiles
from patina.bench.studio import Studio
from tui.screens.photograph import Photograph

Start = Callable[..., Running]


def test_blanks_become_places() -> None:
    """Two blanks before a word move it by two cells and shorten it by as much."""
    svg = '<text class="r1" x="12.2" y="20" textLength="61" clip-path="url(#l)">&#160;&#160;tin</text>'
    assert make_pictures.indented(svg) == (
        '<text class="r1" x="36.6" y="20" textLength="36.6" clip-path="url(#l)">tin</text>'
    )
    assert make_pictures.indented(svg.replace("tin", "160 g")).endswith(">160 g</text>")


def test_fonts_and_comments_go() -> None:
    """Fonts that would be fetched, and the remark of the program that drew it, are not in the picture."""
    svg = "<!-- drawn by https://a.example --><style>@font-face { src: url('https://b.example/f') }\n.x{}</style>"
    assert make_pictures.without_addresses(svg) == "<style>.x{}</style>"


async def test_a_photograph_is_drawn_in_its_colours(running: Start, studio: Studio, tmp_path: Path) -> None:
    """A half brown, half green photograph comes out as two colours over as many cells as it had on the screen."""
    picture = Image.new("RGB", (400, 300), (100, 65, 40))
    picture.paste((70, 110, 85), (0, 0, 200, 300))
    picture.save(tmp_path / "two.png")
    photo = tiles.add_photograph(studio, "T2", tmp_path / "two.png")
    async with running() as person:
        person.app.push_screen(Photograph("T2", photo.sha256))
        await person.until(lambda: getattr(person.app.screen, "picture", None) and person.app.screen.picture.frames)
        await person.until_text("No chart in the photograph", 8.0)
        svg = make_pictures.without_addresses(person.app.export_screenshot())
    flat = make_pictures.flat(svg)
    ElementTree.fromstring(flat)
    assert "▀" in svg and "▀" not in flat
    assert len(flat) < len(svg) / 2
    for fill in ("#644128", "#466e55"):
        assert f'<path fill="{fill}" d="M' in flat
