"""How every chart is drawn: the sheets' own typeface, black and white, the same bytes for the same figures."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import cache
from importlib.resources import files
from threading import Lock
from typing import TYPE_CHECKING, Any

from patina.language import Reader, reader, shown

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

FACE = "Source Sans Pro"
INK = "black"
# matplotlib's settings belong to the whole process.
_ONE_AT_A_TIME = Lock()
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "text.parse_math": False,  # a name with dollars in it is a name
    "font.family": FACE,
    "font.size": 9.5,
    "axes.linewidth": 0.8,
    "axes.edgecolor": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.labelsize": 9.5,
    "axes.titlesize": 10.5,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.unicode_minus": True,
    "xtick.direction": "out",
    "lines.linewidth": 1.1,
    "legend.frameon": False,
    "legend.fontsize": 9.0,
    "figure.dpi": 72.0,
    "savefig.transparent": False,
}
MM = 1.0 / 25.4
FULL_MM = 182.0  # between the margins of an A4 sheet


@cache
def _typeface() -> None:
    """Make the sheets' typeface known to matplotlib."""
    from matplotlib import font_manager

    for weight in ("Regular", "Semibold", "Bold"):
        font_manager.fontManager.addfont(
            str(files("patina").joinpath("reports", "fonts", f"SourceSansPro-{weight}.otf"))
        )


def drawn(
    rows: int, draw: Callable[[Figure, list[Axes]], None], *, name: str, high_mm: float, columns: int = 1, **grid: Any
) -> str:
    """A chart as SVG text.

    rows, columns: of axes. draw: fills them, in reading order. name: makes the marks within the drawing its own,
    so that two drawings can stand in one page. grid: as ``Figure.subplots`` takes it.
    """
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    with _ONE_AT_A_TIME:
        _typeface()
        with matplotlib.rc_context({**_STYLE, "svg.hashsalt": name}):
            figure = Figure(figsize=(FULL_MM * MM, high_mm * MM), layout="constrained")
            FigureCanvasSVG(figure)
            axes = figure.subplots(rows, columns, squeeze=False, **grid)
            draw(figure, list(axes.flat))
            _in_readers_words(figure)
            out = io.StringIO()
            figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return _plain(out.getvalue())


def _in_readers_words(figure: Figure) -> None:
    """Titles, names of axes, legends and notes in the reader's language, and figures with the reader's mark."""
    if reader() == Reader():
        return
    from matplotlib.text import Text
    from matplotlib.ticker import ScalarFormatter

    class Said(ScalarFormatter):
        def __call__(self, x: float, pos: int | None = None) -> str:
            return shown(super().__call__(x, pos))

    for axes in figure.axes:
        ticks = {*axes.get_xticklabels(), *axes.get_yticklabels()}
        for words in set(axes.findobj(Text)) - ticks:
            words.set_text(shown(words.get_text()))
        for axis in (axes.xaxis, axes.yaxis):
            if type(axis.get_major_formatter()) is ScalarFormatter:
                axis.set_major_formatter(Said())


def _plain(svg: str) -> str:
    """The drawing without document type and metadata, which name addresses on the network; where a browser lacks the
    typeface, another without serifs stands in."""
    svg = re.sub(r"<metadata>.*?</metadata>\s*", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    return svg.replace(f"'{FACE}'", f"'{FACE}', 'Source Sans 3', sans-serif")
