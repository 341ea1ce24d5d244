"""Plots of a record, one at a time, with the same in words below."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar

from textual.app import ComposeResult
from textual.containers import VerticalScroll

from tui import actions
from tui import format as show
from tui.app import STYLES
from tui.plots import Plot
from tui.screens.base import Base
from tui.widgets.plot import PlotView
from tui.widgets.prose import Prose, ProseView


class Plots(Base):
    """plots: at least one."""

    WHERE = "plots"
    CSS_PATH: ClassVar[Any] = STYLES / "plots.tcss"
    BINDINGS: ClassVar[list[Any]] = actions.bindings("plots")

    def __init__(self, plots: Sequence[Plot]) -> None:
        super().__init__()
        self.plots = tuple(plots)
        self.at = 0

    def body(self) -> ComposeResult:
        """The plot above, its words below."""
        yield PlotView(id="plot")
        with VerticalScroll(id="plot-words"):
            yield ProseView(id="words")

    def on_mount(self) -> None:
        """Draw the first."""
        self.query_one("#plot-words").focus()
        self._turned()

    def said_anew(self) -> None:
        """After everything was said again."""
        self._turned()

    def _turned(self) -> None:
        plot = self.plots[self.at]
        self.query_one(PlotView).show(plot)
        prose = Prose().text(
            plot.title + (f"  ({self.at + 1} of {len(self.plots)})" if len(self.plots) > 1 else ""), "bold"
        )
        prose.text(plot.words)
        prose.bullets(f"{words}" for _, words in plot.upright if words)
        prose.fact("across", ", ".join(f"{name} {show.number(level, 1)}" for level, name in plot.across if name))
        self.query_one("#words", ProseView).show(prose)

    def action_turn(self, way: int) -> None:
        """The next plot, or the one before."""
        self.at = (self.at + way) % len(self.plots)
        self._turned()

    def action_back(self) -> None:
        """Back to where it was opened."""
        self.dismiss(None)


def show_plots(screen: Base, plots: Sequence[Plot], nothing: str) -> None:
    """Open the plots of a record; where there are none, say what would make one."""
    if plots:
        screen.app.push_screen(Plots(plots))
    else:
        screen.said(nothing)


def show_ageing(screen: Base, id: str) -> None:
    """Open the courses of ageing of a tile's or cast's recipe, learnt from the studio's twins."""
    from patina.bench.matched.ageing import foretell
    from tui.plots import of_ageing

    nothing = "No twins have been read twice: make two tiles alike, keep one in the dark, read both again later."
    screen.work(
        "Looking at the twins",
        lambda: foretell(screen.studio, id),
        lambda sheet: show_plots(screen, of_ageing(sheet), nothing),
    )
