"""Colours on a terminal that has only the 256 of xterm: the nearest by eye, and blocks of measured colour mixed of two.

Over ssh and in tmux a terminal often says no more than that. Rounded channel by channel, a dark red-brown comes
out olive there and a chestnut grey. Here the nearest in CIELAB is taken; and a block of blanks, which is how a
measured colour is shown, is mixed of two colours where one alone would be too far off.

Source: [CIELAB], [SRGB]; the 256 colours are those of xterm: 6 × 6 × 6 levels 0, 95 … 255, and 24 greys 8, 18 … 238.
"""

from __future__ import annotations

import itertools
import math
from functools import cache, lru_cache

from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual._context import active_app
from textual.color import Color as Ground
from textual.filter import LineFilter

from patina.bench.readings.showing import screen_colour
from patina.sheets import Lab

Rgb = tuple[int, int, int]
Triple = tuple[float, float, float]
LEVELS = (0, 95, 135, 175, 215, 255)
FIRST = 16  # the sixteen below it are whatever the terminal's owner chose
PALETTE: tuple[Rgb, ...] = (
    *((r, g, b) for r, g, b in itertools.product(LEVELS, repeat=3)),
    *((8 + 10 * n, 8 + 10 * n, 8 + 10 * n) for n in range(24)),
)
# Share of the first colour in a cell, and the shading that gives it; terminals draw it as fine dots.
MIXES = ((0.25, "░"), (0.5, "▒"), (0.75, "▓"))
_measured: set[Rgb] = set()  # what was asked to be shown
NEAR_ENOUGH = 3.0  # CIELAB difference below which one colour is as good
PARTNERS = 56  # of the palette's nearest, tried in pairs
APART = 30.0  # difference of lightness above which a mixture falls apart into dots
AA = 4.5  # least contrast of text. Source: WCAG 2.2, 1.4.3
COARSE = 0.06  # what a unit of difference between the two costs against a unit of the mean's


def nearest(rgb: Rgb) -> int:
    """Number of the nearest of the 256 colours.

    >>> nearest((255, 255, 255)), nearest((0, 0, 0)), nearest((62, 62, 62))
    (231, 16, 237)
    """
    return _nearest(rgb)[0] + FIRST


def mixed(rgb: Rgb) -> tuple[int, int, str]:
    """Two of the 256 colours and the sign that mixes them, the first in front; a blank where one is near enough.

    >>> mixed((255, 255, 255))
    (231, 231, ' ')
    """
    return _mixed(rgb)


@lru_cache(65536)
def _nearest(rgb: Rgb) -> tuple[int, ...]:
    """Places in the palette, the nearest first."""
    wanted = _lab(_linear(rgb))
    labs = _palette()[1]
    return tuple(sorted(range(len(labs)), key=lambda n: math.dist(wanted, labs[n]))[:PARTNERS])


@lru_cache(4096)
def _mixed(rgb: Rgb) -> tuple[int, int, str]:
    wanted = _lab(_linear(rgb))
    linear, labs = _palette()
    close = _nearest(rgb)
    best = (math.dist(wanted, labs[close[0]]), close[0], close[0], " ")
    if best[0] > NEAR_ENOUGH:
        for one, other in itertools.combinations(close, 2):
            if abs(labs[one][0] - labs[other][0]) > APART:
                continue
            cost = COARSE * math.dist(labs[one], labs[other])
            for share, sign in MIXES:
                mean = [share * a + (1 - share) * b for a, b in zip(linear[one], linear[other], strict=True)]
                off = math.dist(wanted, _lab((mean[0], mean[1], mean[2]))) + cost
                if off < best[0]:
                    best = (off, one, other, sign)
    return best[1] + FIRST, best[2] + FIRST, best[3]


@cache
def _palette() -> tuple[tuple[Triple, ...], tuple[Triple, ...]]:
    """The 240 fixed colours, in linear light and in CIELAB."""
    linear = tuple(_linear(rgb) for rgb in PALETTE)
    return linear, tuple(_lab(one) for one in linear)


def _linear(rgb: Rgb) -> Triple:
    """sRGB, 0 to 255, as linear light, 0 to 1. Source: [SRGB]"""
    r, g, b = (c / 255 / 12.92 if c <= 10 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb)
    return r, g, b


def _lab(linear: Triple) -> Triple:
    """CIELAB under D65, the white of the screen. Source: [CIELAB], [SRGB]"""
    r, g, b = linear
    x = _root((0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505)
    y = _root(0.2126 * r + 0.7152 * g + 0.0722 * b)
    z = _root((0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _root(t: float) -> float:
    return math.cbrt(t) if t > 216 / 24389 else (24389 / 27 * t + 16) / 116


def in_use() -> bool:
    """Whether the app that is running draws with the 256 colours."""
    app = active_app.get(None)
    return app is not None and any(isinstance(one, FewColours) for one in app.get_line_filters())


def measured(lab: Lab) -> str:
    """The nearest colour a screen can show to a measured one, as "#rrggbb"; a block of it may be mixed."""
    shade = screen_colour(lab)
    r, g, b = bytes.fromhex(shade[1:])
    _measured.add((r, g, b))
    return shade


class FewColours(LineFilter):
    """Draws every line with the 256 colours; only blocks of measured colours are mixed."""

    def apply(self, segments: list[Segment], background: Ground) -> list[Segment]:
        """A line with colours that the terminal has."""
        return [segment if segment.style is None else self._drawn(segment) for segment in segments]

    def _drawn(self, segment: Segment) -> Segment:
        text, style, control = segment
        assert style is not None
        behind = style.bgcolor.triplet if style.bgcolor is not None else None
        if behind is not None and tuple(behind) in _measured and text and not text.strip(" "):
            one, other, sign = mixed((behind.red, behind.green, behind.blue))
            return Segment(sign * len(text), style + _pair(one, other), control)
        return Segment(text, _few(style), control)


@lru_cache(1024)
def _pair(front: int, behind: int) -> Style:
    return Style(color=Color.from_ansi(front), bgcolor=Color.from_ansi(behind))


@lru_cache(16384)
def _few(style: Style) -> Style:
    """A style with both colours among the 256."""
    front, behind = (
        (c.triplet.red, c.triplet.green, c.triplet.blue) if c is not None and c.triplet is not None else None
        for c in (style.color, style.bgcolor)
    )
    ground = None if behind is None else nearest(behind)
    ink = None if front is None else nearest(front) if behind is None else readable(front, behind)
    return style + Style(
        color=None if ink is None else Color.from_ansi(ink), bgcolor=None if ground is None else Color.from_ansi(ground)
    )


def readable(ink: Rgb, ground: Rgb) -> int:
    """The colour nearest to an ink that can be read on the colour nearest to its ground, where the two could be read.

    >>> readable((0x70, 0x43, 0x0F), (0xE3, 0xCB, 0xA6)) == nearest((0x70, 0x43, 0x0F))
    False
    """
    linear = _palette()[0]
    below = _luminance(linear[_nearest(ground)[0]])
    if ratio(_luminance(_linear(ink)), _luminance(_linear(ground))) >= AA:
        for n in _nearest(ink):
            if ratio(_luminance(linear[n]), below) >= AA:
                return n + FIRST
    return nearest(ink)


def ratio(one: float, other: float) -> float:
    """Contrast of two luminances, 1 to 21. Source: WCAG 2.2, definition of contrast ratio."""
    high, low = max(one, other), min(one, other)
    return (high + 0.05) / (low + 0.05)


def _luminance(linear: Triple) -> float:
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
