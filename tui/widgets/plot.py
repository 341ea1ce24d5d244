"""A plot in the terminal, in the colours of the theme."""

from __future__ import annotations

from typing import Any

from textual.color import Color
from textual_plotext import PlotextPlot

from patina.language import shown
from tui import format as show
from tui.plots import Curve, Plot

X_TICKS, Y_TICKS = 5, 7


class PlotView(PlotextPlot):
    """Draws one plot. plot: None draws nothing."""

    DEFAULT_CSS = "PlotView { height: 1fr; }"

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id)
        self.plot_shown: Plot | None = None
        self.auto_theme = False

    def on_mount(self) -> None:
        """Drawn again when the look changes."""
        self.app.theme_changed_signal.subscribe(self, lambda _theme: self._draw())

    def show(self, plot: Plot) -> None:
        """Draw another plot."""
        self.plot_shown = plot
        self._draw()

    def _colours(self) -> dict[str, tuple[int, int, int]]:
        variables = self.app.get_css_variables()
        return {
            name: Color.parse(variables[name]).rgb
            for name in ("background", "foreground", "primary", "secondary", "warning", "text-muted", "error")
        }

    def _draw(self) -> None:
        plot = self.plot_shown
        if plot is None:
            return
        draw, shade = self.plt, self._colours()
        draw.clear_data()
        draw.clear_figure()
        draw.canvas_color(shade["background"])
        draw.axes_color(shade["background"])
        draw.ticks_color(shade["text-muted"])
        for level, _ in plot.across:
            draw.horizontal_line(level, color=shade["text-muted"])
        for place, _ in plot.upright:
            draw.vertical_line(place, color=shade["warning"])
        order = ("primary", "secondary", "warning", "error", "foreground")
        for n, curve in enumerate(plot.curves):
            _curve(draw, curve, shade[order[n % len(order)]], alone=len(plot.curves) == 1)
        if plot.ticks:
            draw.xlim(plot.ticks[0][0] - 0.4, plot.ticks[-1][0] + 0.4)
            draw.xticks([x for x, _ in plot.ticks], [name for _, name in plot.ticks])
        _figures(draw, plot)
        draw.xlabel(shown(plot.x_name))
        draw.title(shown(f"{plot.title}, {plot.y_name}") if plot.y_name not in plot.title else shown(plot.title))
        self.refresh()


def _figures(draw: Any, plot: Plot) -> None:
    """Figures at both axes as the reader writes them."""
    for axis, values, ticks in (
        ("x", [v for curve in plot.curves for v in curve.x], X_TICKS),
        ("y", [*(v for curve in plot.curves for v in curve.y), *(level for level, _ in plot.across)], Y_TICKS),
    ):
        low, high = min(values, default=0.0), max(values, default=0.0)
        if high <= low or (axis == "x" and plot.ticks):
            continue
        places = 0 if high - low >= 20 else 1 if high - low >= 2 else 2
        at = [low + (high - low) * n / (ticks - 1) for n in range(ticks)]
        names = [shown(show.number(value, places)) for value in at]
        draw.xticks(at, names) if axis == "x" else draw.yticks(at, names)


def _curve(draw: Any, curve: Curve, colour: tuple[int, int, int], *, alone: bool) -> None:
    label = None if alone else shown(curve.name)
    if curve.marker:
        draw.scatter(curve.x, curve.y, marker=curve.marker, color=colour, label=label)
        return
    draw.plot(curve.x, curve.y, marker="braille", color=colour)
    if label is not None:  # at the line itself: lines of one kind would be told apart by colour alone
        at = len(curve.x) * 4 // 5
        draw.text(label, curve.x[at], curve.y[at], color=colour, alignment="center")
