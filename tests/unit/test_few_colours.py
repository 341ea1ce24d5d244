"""A terminal of 256 colours: the nearest by eye, mixed blocks that come nearer, text that stays readable."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest
from rich.color import Color, ColorSystem
from rich.segment import Segment
from rich.style import Style
from textual.color import Color as Ground

from patina.colour.values import Lab
from tui.few_colours import MIXES, PALETTE, FewColours, measured, mixed, nearest, readable
from tui.themes import DARK, LIGHT

# A dark red-brown, a chestnut, a liver brown, an olive ground, a verdigris, a black: sRGB of measured patinas.
PATINAS = (
    (0x4F, 0x3B, 0x2E),
    (0x7A, 0x4A, 0x2B),
    (0x45, 0x33, 0x2A),
    (0x5E, 0x58, 0x3A),
    (0x4E, 0x8B, 0x83),
    (0x1D, 0x1B, 0x1A),
)


def _lab(rgb: tuple[int, int, int]) -> Lab:
    """CIELAB of a screen's colour by an independent implementation (colour-science)."""
    import colour
    import numpy as np

    xyz = colour.sRGB_to_XYZ(np.array(rgb) / 255)
    return Lab(
        *(
            float(v)
            for v in colour.XYZ_to_Lab(xyz, colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"])
        )
    )


def _off(one: Lab, other: Lab) -> float:
    """CIE 1976 difference, by its definition."""
    return math.dist((one.L, one.a, one.b), (other.L, other.a, other.b))


def test_the_palette_is_that_of_xterm() -> None:
    """Colours 16 to 255 are what a general library holds for the 256 colours of xterm."""
    for n, rgb in enumerate(PALETTE, 16):
        assert Color.from_ansi(n).get_truecolor() == rgb


@pytest.mark.parametrize("rgb", PATINAS)
def test_the_nearest_is_never_farther_than_by_channels(rgb: tuple[int, int, int]) -> None:
    """The colour chosen lies at least as near in CIELAB as what rounding channel by channel gives."""
    by_channels = Color.from_rgb(*rgb).downgrade(ColorSystem.EIGHT_BIT).get_truecolor()
    wanted = _lab(rgb)

    assert _off(_lab(PALETTE[nearest(rgb) - 16]), wanted) <= _off(_lab(tuple(by_channels)), wanted) + 0.1


@pytest.mark.parametrize("rgb", PATINAS)
def test_a_mixed_block_comes_nearer(rgb: tuple[int, int, int]) -> None:
    """The mean of a mixed block, in linear light, is nearer than the nearest colour, or that one is near enough;
    and a brown stays on the side of brown: its hue is not lost to grey."""
    import colour
    import numpy as np

    one, other, sign = mixed(rgb)
    share = next((s for s, drawn in MIXES if drawn == sign), 1.0)
    parts = [colour.cctf_decoding(np.array(PALETTE[n - 16]) / 255, function="sRGB") for n in (one, other)]
    mean = colour.cctf_encoding(share * parts[0] + (1 - share) * parts[1], function="sRGB")
    shown, wanted = _lab(tuple(mean * 255)), _lab(rgb)
    alone = _lab(PALETTE[nearest(rgb) - 16])
    assert _off(shown, wanted) <= max(_off(alone, wanted), 3.0)
    if math.hypot(wanted.a, wanted.b) > 10:
        assert math.hypot(shown.a, shown.b) > 4


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_text_stays_readable(theme: object) -> None:
    """Every ink on every ground of both looks has 4.5:1 as it is drawn, where it has it in full colour
    (WCAG 2.2, 1.4.3 AA)."""

    def luminance(rgb: tuple[int, int, int]) -> float:
        return float(Ground(*rgb).brightness) and sum(
            w * (c / 255 / 12.92 if c <= 10 else ((c / 255 + 0.055) / 1.055) ** 2.4)
            for w, c in zip((0.2126, 0.7152, 0.0722), rgb, strict=True)
        )

    def ratio(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
        low, high = sorted((luminance(one), luminance(other)))
        return (high + 0.05) / (low + 0.05)

    for ink, ground in _pairs(theme):
        if ratio(ink, ground) >= 4.5:
            drawn = PALETTE[readable(ink, ground) - 16]
            assert ratio(drawn, PALETTE[nearest(ground) - 16]) >= 4.5, (ink, ground)


def _pairs(theme: object) -> Iterator[tuple[tuple[int, int, int], tuple[int, int, int]]]:
    names = ("text-muted", "text-warning", "text-error", "text-success", "block-cursor-foreground")
    inks = [theme.foreground, theme.primary, theme.accent, *(theme.variables[n] for n in names)]  # type: ignore[attr-defined]
    grounds = [theme.background, theme.surface, theme.panel, theme.variables["block-cursor-background"]]  # type: ignore[attr-defined]
    for ink in inks:
        for ground in grounds:
            yield Ground.parse(ink).rgb, Ground.parse(ground).rgb


def test_a_line_is_drawn_in_colours_the_terminal_has() -> None:
    """Text keeps its letters; a block of blanks in a measured colour is mixed, one in another colour is
    not; nothing in true colour is left."""
    ground = Ground.parse(DARK.background)
    brown = measured(Lab(27.0, 7.1, 11.4))
    line = [
        Segment("HM-01 ", Style(color="#e9dfd0", bgcolor=DARK.background)),
        Segment("      ", Style(bgcolor=brown)),
        Segment("   ", Style(bgcolor=DARK.background)),
        Segment("  ", Style(bgcolor=DARK.variables["block-cursor-background"])),
        Segment("plain"),
    ]
    drawn = FewColours().apply(line, ground)
    assert [s.text for s in drawn][0::2] == ["HM-01 ", "   ", "plain"] and drawn[3].text == "  "
    assert set(drawn[1].text) <= {sign for _, sign in MIXES} and len(drawn[1].text) == 6
    styles = [s.style for s in drawn if s.style is not None]
    assert all(c is None or c.triplet is None for style in styles for c in (style.color, style.bgcolor))
