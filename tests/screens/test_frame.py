"""The frame of the screens: lists of ten thousand, contrast, the figures' one place, what is loaded."""

from __future__ import annotations

import doctest
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from screens_driver import Running
from textual import constants
from textual.app import App, ComposeResult
from textual.color import Color
from textual.theme import Theme

import tui.action
import tui.format
from tui.few_colours import PALETTE, nearest, readable
from tui.themes import DARK, LIGHT
from tui.widgets.prose import Prose
from tui.widgets.record_list import Line, RecordList

ROOT = Path(__file__).parents[2]
Start = Callable[..., Running]


class Long(App[None]):
    """A list of ten thousand."""

    asked = 0
    opened: list[str]

    def compose(self) -> ComposeResult:
        """The list alone."""
        yield RecordList(id="list")

    def on_record_list_opened(self, message: RecordList.Opened) -> None:
        """Remembers what was opened."""
        self.opened.append(message.id)

    def line(self, n: int) -> Line:
        """Counts how many rows are really drawn."""
        self.asked += 1
        return Line(f"R{n}", f"recipe {n}", "brown", ("#553311",))


async def test_ten_thousand_rows_cost_what_the_screen_shows() -> None:
    """Only rows in sight are drawn; End and Home reach both ends, and a jump takes well under 120 ms."""
    app = Long()
    async with app.run_test(size=(80, 24)) as pilot:
        rows = app.query_one(RecordList)
        rows.focus()
        rows.show(range(10_000), app.line, "empty")
        await pilot.pause(0.1)
        app.asked = 0
        started = time.perf_counter()
        rows.action_jump(-1)
        await pilot.pause()
        passed = time.perf_counter() - started
        assert rows.chosen == "R9999"
        assert app.asked < 200
        assert passed < 1.5  # generous for a busy machine; the benchmark measures the real figure
        await pilot.press("home")
        assert rows.chosen == "R0"


async def test_a_click_chooses_and_a_second_opens() -> None:
    """The mouse does what the arrows and Enter do."""
    app = Long()
    opened = app.opened = []
    async with app.run_test(size=(80, 24)) as pilot:
        app.query_one(RecordList).show(range(50), app.line, "empty")
        await pilot.pause(0.1)
        await pilot.click(RecordList, offset=(20, 5))
        assert app.query_one(RecordList).chosen == "R2"
        assert opened == []
        await pilot.click(RecordList, offset=(20, 4))
        await pilot.pause(0.05)
        assert opened == ["R2"]


def _ratio(one: str, other: str) -> float:
    """Contrast of two colours. Source: WCAG 2.2, definition of contrast ratio."""

    def luminance(colour: str) -> float:
        parts = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in Color.parse(colour).normalized)
        r, g, b = parts
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_ratio_is_the_published_one() -> None:
    """Black on white is 21:1 (WCAG 2.2); #777777 on white is 4.48:1 (a well-known borderline, from memory)."""
    assert _ratio("#000000", "#ffffff") == pytest.approx(21.0)
    assert _ratio("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_text_reaches_aa_on_every_ground(theme: Theme) -> None:
    """Every text colour of both looks has at least 4.5:1 on every ground it stands on (WCAG 2.2, 1.4.3 AA)."""
    grounds = [str(theme.background), str(theme.surface), str(theme.panel)]
    inks = [str(theme.foreground), str(theme.primary), str(theme.accent)]
    inks += [theme.variables[name] for name in ("text-muted", "text-warning", "text-error", "text-success")]
    for ground in grounds:
        for ink in inks:
            assert _ratio(ink, ground) >= 4.5, (ink, ground)
    cursor = theme.variables["block-cursor-background"]
    for ink in (*inks[1:], theme.variables["block-cursor-foreground"]):
        assert _ratio(ink, cursor) >= (4.5 if ink != theme.variables["text-success"] else 3.0), (ink, cursor)


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_text_reaches_aa_on_a_terminal_of_256_colours(theme: Theme) -> None:
    """The same where a terminal only has the 256 colours of xterm, each colour drawn as the program draws it there."""

    def drawn(number: int) -> str:
        return Color(*PALETTE[number - 16]).hex

    more = theme.variables
    names = ("text-muted", "text-warning", "text-error", "text-success", "block-cursor-foreground")
    inks = [theme.foreground, theme.primary, theme.accent, *(more[name] for name in names)]
    for ground in (theme.background, theme.surface, theme.panel, more["block-cursor-background"]):
        behind = Color.parse(str(ground)).rgb
        for ink in inks:
            assert _ratio(drawn(readable(Color.parse(str(ink)).rgb, behind)), drawn(nearest(behind))) >= 4.5, (
                ink,
                ground,
            )


async def test_a_terminal_of_256_colours_is_drawn_for(running: Start, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the terminal says no more than 256 colours, every cell has one of them, and a sheet says that measured
    colours are only come near to."""
    monkeypatch.setattr(constants, "COLOR_SYSTEM", "256")
    async with running((80, 24)) as person:
        await person.press("3", "enter")
        await person.until_words("this screen only comes near")
        strips = person.app.screen._compositor.render_strips()
        colours = [c for strip in strips for s in strip if s.style for c in (s.style.color, s.style.bgcolor)]
        assert any(c is not None for c in colours)
        assert all(c is None or c.triplet is None for c in colours)


def test_ink_on_a_colour_can_be_read() -> None:
    """The ink on a colour block is the better of black and white, and never under 4.5:1."""
    for r in range(0, 256, 51):
        for g in range(0, 256, 51):
            for b in range(0, 256, 51):
                colour = f"#{r:02x}{g:02x}{b:02x}"
                ink = tui.format.ink_on(colour)
                assert _ratio(ink, colour) >= 4.5
                assert _ratio(ink, colour) >= _ratio({"#000000": "#ffffff", "#ffffff": "#000000"}[ink], colour) - 0.05


@pytest.mark.parametrize("module", [tui.format, tui.action])
def test_the_examples_in_the_docstrings_hold(module: object) -> None:
    """What the docstrings show is what comes out."""
    failed, tried = doctest.testmod(module)  # type: ignore[arg-type]
    assert tried > 0
    assert failed == 0


def test_figures_to_text_know_no_terminal() -> None:
    """The command line can use the formats without paying for a screen."""
    code = "import sys, tui.format; print([m for m in ('textual', 'rich', 'numpy') if m in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_the_first_place_loads_nothing_slow() -> None:
    """The screen of Finishes, up to its sheet, needs no numpy, OpenCV, pint, Pillow or image protocol."""
    code = "import sys, tui.app, tui.screens.finishes; print(sorted(m for m in sys.modules if '.' not in m))"
    found = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    slow = {"numpy", "cv2", "pint", "colormath", "PIL", "textual_image", "scipy", "typst"}
    assert not slow & set(eval(found.stdout))


def test_nobody_else_rounds() -> None:
    """Only tui/format.py rounds what is shown; a pixel position is no figure of the trade, nor is what a
    field of a form begins with."""
    allowed = {"format.py", "chart_points.py", "torch.py", "torch_words.py", "release.py"}
    for path in (ROOT / "tui").rglob("*.py"):
        if path.name not in allowed:
            text = path.read_text("utf-8")
            assert ":.1f}" not in text and ":.2f}" not in text and ":g}" not in text, path


def test_hanging_indents_and_widths() -> None:
    """A sheet laid out for a width never runs over it, and a label stands only on its first line."""
    prose = Prose().title("Slipway brown", "R1").fact("preparation", "glass bead 100-170 mesh, 3 bar; " * 4)
    prose.numbered(["Put the water into the pot. " * 6]).caution("Wear gloves. " * 9)
    for width in (30, 44, 76):
        lines = [line.plain for line in prose.lines(width)]
        assert max(len(line) for line in lines) <= width
        assert sum("preparation" in line for line in lines) == 1


def test_what_people_write_is_not_taken_for_markup() -> None:
    """Square brackets in a note are shown as written."""
    lines = Prose().fact("note", "[red]85 °C[/] [b]").lines(60)
    assert "[red]85 °C[/] [b]" in lines[0].plain
