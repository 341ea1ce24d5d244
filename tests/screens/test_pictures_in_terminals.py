"""The real program in terminals that know kitty's protocol, sixel, or neither: a photograph opened by keys, what is
written to the terminal decoded again and held against the photograph."""

from __future__ import annotations

import shutil
import time
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat
from terminals import CELL, Terminal, kitty_pictures, placeholders, sixel_pictures

import swatches
from patina.bench.readings import tiles
from patina.bench.settings import change_setting
from patina.bench.studio import open_studio
from patina.errors import Refused
from tui import graphics
from tui.drawing import Drawing, picture_of

TILE = "QT-2"
NAME = "ferric-and-olive.jpg"
TRUTH = swatches.truth()[NAME]
# Of 255, mean of all pixels: the drawing, and 256 colours of a sixel picture, are in it.
NEAR = 12.0
DRAWN_PX = 90  # of 255: what is drawn differs by more from what it is drawn on


@pytest.fixture(scope="module")
def bench(template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small studio whose tile has a photograph of the demonstration."""
    where = tmp_path_factory.mktemp("pictures") / "studio"
    shutil.copytree(template, where)
    with open_studio(where) as studio:
        change_setting(studio, "chart-edition", "before-2014")
        tiles.add_photograph(studio, "T2", swatches.photograph(NAME))
    return where


@pytest.fixture(scope="module")
def photograph() -> Image.Image:
    """The photograph that the keys open, decoded by Pillow."""
    with Image.open(swatches.photograph(NAME)) as opened:
        return opened.convert("RGB")


def _open_photograph(terminal: Terminal) -> int:
    """By keys: Tiles, search, the photograph, its chart found, the photograph alone; bytes written before the last."""
    terminal.until_text("Finishes")
    terminal.rest()
    terminal.press("3")
    terminal.until_text("QT-")
    terminal.press("/")
    terminal.rest()
    terminal.press(TILE)
    terminal.rest()
    terminal.press("\r")
    terminal.rest()
    at = len(terminal.written)
    terminal.press("f")
    terminal.until_text("Measure ", since=at)
    terminal.press("\r")
    terminal.until_text("\N{CHECK MARK}", since=at)
    terminal.rest()
    at = len(terminal.written)
    terminal.press("l")
    return at


def _differs(one: Image.Image, other: Image.Image) -> float:
    return sum(ImageStat.Stat(ImageChops.difference(one, other)).mean) / 3


def _drawn(shown: Image.Image, taken: Image.Image, box: tuple[float, float, float, float]) -> float:
    """Share of a box, in fractions of the picture, that is drawn over."""
    w, h = shown.size
    part = tuple(round(v * s) for v, s in zip(box, (w, h, w, h), strict=True))
    apart = ImageChops.difference(shown.crop(part), taken.crop(part)).convert("L").point(lambda v: 255 * (v > DRAWN_PX))
    return ImageStat.Stat(apart).mean[0] / 255


def _holds(shown: Image.Image, photograph: Image.Image, *, drawn: bool) -> None:
    """The picture is the photograph, as large as there is room, with chart and area drawn on it or without."""
    assert shown.width > 80 * CELL[0] or shown.height > 30 * CELL[1], "as large as there is room"
    assert shown.width / shown.height == pytest.approx(photograph.width / photograph.height, rel=0.01)
    taken = photograph.resize(shown.size, Image.Resampling.BOX)
    assert _differs(shown, taken) < NEAR
    xs, ys = zip(*TRUTH["chart"]["corners"], strict=True)
    w, h = photograph.size
    chart = (min(xs) / w - 0.03, min(ys) / h - 0.03, max(xs) / w + 0.03, max(ys) / h + 0.03)
    area = (0.39, 0.39, 0.61, 0.61)  # the first area is a fifth of the picture, in its middle
    bare = (0.1, 0.65, 0.9, 0.95)
    assert _drawn(shown, taken, bare) < 0.002
    if drawn:
        assert _drawn(shown, taken, chart) > 0.05
        assert _drawn(shown, taken, area) > 0.02
    else:
        assert _drawn(shown, taken, chart) < 0.01
        assert _drawn(shown, taken, area) < 0.002


def test_kitty(bench: Path, photograph: Image.Image) -> None:
    """A terminal that answers kitty's question is sent the photograph, once, with chart and area drawn; every cell of
    it is a placeholder in the colour of its number, also where nothing tells of true colour; v shows it as it was
    taken; it is removed when the screen is left. The terminal is asked once."""
    with Terminal(["--studio", str(bench)], kitty=True, attributes="62", name="kitty(0.35.2)") as terminal:
        at = _open_photograph(terminal)
        terminal.until(lambda: bool(placeholders(terminal.written[at:])))
        terminal.rest()
        assert terminal.written.count(b"\x1b_Ga=T") == 1
        ((number, shown),) = kitty_pictures(terminal.written).items()
        _holds(shown, photograph, drawn=True)
        cells = placeholders(terminal.written[at:])
        assert {n for n, _, _ in cells} == {number}
        assert len(cells) == round(shown.width / CELL[0]) * round(shown.height / CELL[1])
        at = len(terminal.written)
        terminal.press("v")
        terminal.until(lambda: bool(placeholders(terminal.written[at:])))
        terminal.rest()
        ((other, shown),) = kitty_pictures(terminal.written).items()
        assert other != number
        _holds(shown, photograph, drawn=False)
        terminal.press("\x1b")
        terminal.until(lambda: not kitty_pictures(terminal.written))
        assert terminal.asked == ["kitty", "name", "cell", "what"]


def test_sixel(bench: Path, photograph: Image.Image, tmp_path: Path) -> None:
    """A terminal that is said to know sixel is sent the photograph so, with chart and area drawn; libsixel reads it."""
    with Terminal(["--studio", str(bench)], attributes="62;4;22") as terminal:
        at = _open_photograph(terminal)
        terminal.until(lambda: bool(sixel_pictures(terminal.written[at:], tmp_path)))
        terminal.rest()
        _holds(sixel_pictures(terminal.written[at:], tmp_path)[-1], photograph, drawn=True)
        at = len(terminal.written)
        terminal.press("v")
        terminal.until(lambda: bool(sixel_pictures(terminal.written[at:], tmp_path)))
        terminal.rest()
        _holds(sixel_pictures(terminal.written[at:], tmp_path)[-1], photograph, drawn=False)
        assert b"\x1b_Ga=T" not in terminal.written
        assert terminal.asked == ["kitty", "name", "cell", "what"]


def test_a_terminal_that_answers_nothing(bench: Path) -> None:
    """It is shown half blocks, with the area and the chart's points drawn in signs, and is not waited for long."""
    begun = time.monotonic()
    with Terminal(["--studio", str(bench)]) as terminal:
        terminal.until(lambda: len(terminal.asked) == 4)
        asked = time.monotonic()
        terminal.until_text("Finishes")
        assert time.monotonic() - asked < 20.0, f"asked after {asked - begun:.1f} s"
        at = _open_photograph(terminal)
        terminal.until_text("middle", since=at)
        terminal.rest()
        words = terminal.text(at)
        assert words.count("\N{UPPER HALF BLOCK}") > 500
        assert "24" in words
        assert "\N{BOX DRAWINGS DOUBLE DOWN AND RIGHT}middle" in words
        assert not kitty_pictures(terminal.written)
        assert b"\x1bP" not in terminal.written


@pytest.mark.parametrize(
    ("env", "asked"),
    [
        ({"TMUX": "/tmp/tmux-0/default,1,0"}, False),
        ({"TERM": "screen-256color"}, False),
        ({"STY": "1.here"}, False),
        ({"NO_COLOR": "1"}, False),
        ({"PATINA_PICTURES": "blocks"}, False),
        ({"SSH_CONNECTION": "10.0.0.2 50000 10.0.0.1 22"}, True),
        ({"TMUX": "/tmp/tmux-0/default,1,0", "PATINA_PICTURES": "sixel"}, True),
    ],
    ids=["tmux", "tmux over ssh", "screen", "no colour", "blocks", "ssh", "forced"],
)
def test_where_it_is_asked(env: dict[str, str], asked: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Inside tmux and screen, also at the other end of ssh, without colour and where blocks are asked for, nothing is
    sent that somebody might print; over ssh it is asked; a protocol that is asked for counts everywhere."""
    for name in ("TMUX", "STY", "ZELLIJ", "NO_COLOR", "TERM_PROGRAM", "TEXTUAL_DRIVER", graphics.ENVIRONMENT):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    for name, value in env.items():
        monkeypatch.setenv(name, value)
    sent = []
    monkeypatch.setattr(graphics, "_answers", lambda _environ: sent.append(1) or b"\x1b[?62;4c")
    monkeypatch.setattr(graphics, "terminal", graphics.Terminal())
    graphics.ask_terminal()
    assert bool(sent) is asked
    assert graphics.terminal.protocol == ("sixel" if asked else "blocks")


@pytest.mark.parametrize(
    ("answers", "protocol"),
    [
        # kitty, Ghostty: placeholders. Source: kitty's graphics protocol, "Unicode placeholders".
        (b"\x1b_Gi=31;OK\x1b\\\x1bP>|kitty(0.35.2)\x1b\\\x1b[6;20;10t\x1b[?62;c", "kitty"),
        (b"\x1b_Gi=31;OK\x1b\\\x1bP>|ghostty 1.0\x1b\\\x1b[?62;22c", "kitty"),
        # A terminal that knows the pictures, not the placeholders, and sixel besides.
        (b"\x1b_Gi=31;OK\x1b\\\x1bP>|WezTerm 2024\x1b\\\x1b[?65;4;6c", "sixel"),
        (b"\x1b_Gi=31;OK\x1b\\\x1bP>|Konsole 22.04\x1b\\\x1b[?62;1c", "blocks"),
        # It refuses the pixel.
        (b"\x1b_Gi=31;EINVAL:no\x1b\\\x1b[?62c", "blocks"),
        # VT340: sixel is 4. Source: VT340 manual, primary device attributes. 14 and 42 are not.
        (b"\x1b[?63;1;2;3;4;6;7;8;9;15;22;28;29c", "sixel"),
        (b"\x1b[?64;14;42c", "blocks"),
        # tmux that was reached by way of a terminal's name of its own says what it is, and that it knows sixel.
        (b"\x1bP>|tmux 3.4\x1b\\\x1b[?1;2;4c", "blocks"),
        (b"", "blocks"),
    ],
)
def test_what_is_chosen(answers: bytes, protocol: str) -> None:
    """The best protocol that is safe, by the answers alone."""
    assert graphics.protocol_of(answers) == protocol


def test_a_word_that_is_no_protocol_is_refused() -> None:
    """PATINA_PICTURES with a wrong word says which there are."""
    with pytest.raises(Refused, match="PATINA_PICTURES") as refused:
        graphics.wished({"PATINA_PICTURES": "iterm"})
    assert "kitty, sixel, blocks" in refused.value.remedy


def test_nothing_is_drawn_on_a_plain_picture() -> None:
    """Without a drawing the picture is the preview, byte for byte."""
    from patina.bench.readings.showing import Preview

    small = Preview(2, 1, bytes((1, 2, 3, 4, 5, 6)), 20, 10)
    assert picture_of(small, None).tobytes() == small.rgb
    assert picture_of(small, Drawing()).tobytes() == small.rgb
